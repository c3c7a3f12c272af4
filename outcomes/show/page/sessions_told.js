import { answerSessions } from "./answers.js";
import { chanceInWords, percent } from "./wording.js";
import { plain } from "./rounding.js";
import { monthInWords } from "./dates.js";
import { notAsked, restsOn } from "./evidence.js";
import { picture, sessionGroups, sessionsCaption, tenFigures } from "./ten.js";
import { table } from "./view.js";
import { enteredFacts, knownFacts } from "./entered_facts.js";

/** The answer about sessions as the page tells it. */

const TOO_RARE = 0.005; // numbers of sessions rarer than this at the far end share a place

/**
 * What the view of sessions says.
 * @param {Object} model
 * @param {Object} question
 * @returns {Object} `Told`, as view.js has it.
 */
export function sessionsTold(model, question) {
  const answer = answerSessions(model, question);
  const isOutside = answer.support === "outside";
  const groups = isOutside ? [] : sessionGroups(answer.said.tens, answer.inputs.limit);
  const drawn = () => picture(tenFigures(groups), sessionsCaption(groups, answer.inputs.limit, Boolean(answer.client)));
  const rows = isOutside ? [] : levelRows(answer.levels, answer.inputs.goal);
  const plan = `Level ${plain(answer.inputs.start)} to ${plain(answer.inputs.goal)}, ${answer.inputs.hair} hair`;
  return {
    sentence: answer.sentence,
    picture: isOutside ? null : drawn(),
    facts: [...(isOutside ? wideBand(answer) : chances(answer)), ...enteredFacts(answer, false), ...(isOutside ? [] : knownFacts(answer))],
    tables: rows.length ? [levelTable(rows)] : [],
    support: answer.support,
    reasons: answer.support_notes,
    isStarter: Boolean(answer.basis.starter),
    basis: [
      ["Rests on", restsOn(answer.basis)],
      ["Visits up to", monthInWords(model.choices.until)],
      ["Not asked", notAsked(answer.inputs.averaged, answer.inputs.hair)],
    ],
    handout: {
      title: "How many sessions",
      plan,
      sentence: answer.sentence,
      picture: isOutside ? null : drawn(),
      facts: enteredFacts(answer, true),
      tables: rows.length ? [levelTable(rows)] : [],
      visits: answer.basis.visits,
    },
  };
}

function chances(answer) {
  const { said, reach_today: today, band } = answer;
  const doubt = "low" in today ? ` (${percent(today.low)} to ${percent(today.high)})` : "";
  return [
    [`${Math.round(100 * band.coverage)} % band`, `${said.band}; it holds for ${said.held} clients`],
    ["Chances", chanceList(answer.sessions)],
    ["Today", `${percent(today.probability)} reach the goal${doubt}`],
  ];
}

function wideBand({ said, band }) {
  return [["Wide band", `${said.band} (${Math.round(100 * band.coverage)} % band and one more)`]];
}

/**
 * The chance of each number of sessions, rare ones at the far end together.
 * @param {Object<string, number>} sessions By "1", "2", ..., "more".
 * @returns {string}
 */
export function chanceList(sessions) {
  const values = Object.values(sessions);
  const total = (from) => values.slice(from).reduce((sum, one) => sum + one, 0);
  let shown = values.length - 1;
  while (shown > 1 && total(shown - 1) < TOO_RARE) shown -= 1;
  const each = values.slice(0, shown).map((one, i) => `${percent(one)} in ${i + 1}`);
  const rest = total(shown);
  return [...each, ...(rest > 0 ? [`${percent(rest)} in ${shown + 1} or more`] : [])].join(", ");
}

/**
 * Levels after each session, until the band lies at the goal.
 * @param {Array<{session: number, median: number, low: number, high: number, holds: number}>} levels
 * @param {number} goal
 * @returns {string[][]}
 */
export function levelRows(levels, goal) {
  const last = levels.findIndex((level) => level.low >= goal);
  const shown = last < 0 ? levels : levels.slice(0, last + 1);
  return shown.map(({ session, median, low, high, holds }) => [
    String(session), plain(median), `${plain(low)} to ${plain(high)}, for ${chanceInWords(holds)}`,
  ]);
}

function levelTable(rows) {
  return table("Level after each session", ["Session", "Middle", "Most lie between"], rows, "levels");
}
