import { answerSessions } from "./answers.js";
import { chanceInWords, percent } from "./wording.js";
import { plain } from "./rounding.js";
import { monthInWords } from "./dates.js";
import { notAsked, restsOn } from "./evidence.js";
import { orMore, picture, sessionGroups, sessionsCaption, tenFigures } from "./ten.js";
import { table } from "./view.js";
import { conditionBasis, conditionFacts, conditionTable } from "./condition_told.js";
import { enteredBasis, enteredFacts, knownFacts } from "./entered_facts.js";

/** The answer about sessions as the page tells it. */

/**
 * What the view of sessions says.
 * @param {Object} model
 * @param {Object} question
 * @returns {Object} `Told`, as view.js has it.
 */
export function sessionsTold(model, question) {
  // the command line refuses it as well: no course begins below the condition at which it would stop
  if (question.condition === 1) throw new Error("With strand condition 1, breaking, no sessions are forecast.");
  const answer = answerSessions(model, question);
  const isOutside = answer.support === "outside";
  const groups = isOutside ? [] : sessionGroups(answer.said.tens);
  const drawn = () => picture(tenFigures(groups), sessionsCaption(groups, Boolean(answer.client)));
  const rows = isOutside ? [] : levelRows(answer.levels, answer.inputs.goal);
  const tables = () => [...(rows.length ? [levelTable(rows)] : []), ...conditionTable(answer)];
  return {
    sentence: answer.sentence,
    picture: isOutside ? null : drawn(),
    facts: [...(isOutside ? wideBand(answer) : chances(answer)), ...conditionFacts(answer), ...enteredFacts(answer), ...knownFacts(answer)],
    tables: tables(),
    support: answer.support,
    reasons: answer.support_notes,
    isStarter: Boolean(answer.basis.starter),
    basis: [
      ["Rests on", restsOn(answer.basis)],
      ["Visits up to", monthInWords(model.choices.until)],
      ...enteredBasis(answer),
      ...conditionBasis(answer),
      ["Not asked", notAsked(answer.inputs.averaged, answer.inputs.hair)],
    ],
    handout: {
      title: "How many sessions",
      plan: planSaid(answer.inputs),
      sentence: answer.sentence,
      picture: isOutside ? null : drawn(),
      facts: isOutside ? [] : enteredFacts(answer),
      tables: rows.length ? [levelTable(rows)] : [],
      visits: answer.basis.visits,
      isOutside,
    },
  };
}

/**
 * The plan as the client's sheet has it.
 * @param {Object} inputs Of the answer.
 * @returns {string}
 */
export function planSaid({ start, goal, hair, same_course: isGoingOn = false }) {
  return `Level ${plain(start)} to ${plain(goal)}, ${hair} hair${isGoingOn ? " before the first session" : ""}`;
}

function chances(answer) {
  const { said, reach_today: today, band } = answer;
  const doubt = "low" in today ? ` (${percent(today.low)} to ${percent(today.high)})` : "";
  return [
    [`${Math.round(100 * band.coverage)} % band`, `${said.band}; it holds for ${said.held} clients`],
    ["Chances", chanceList(said.tens)],
    ["Today", `${percent(today.probability)} reach the goal${doubt}`],
  ];
}

function wideBand({ said, band }) {
  const how = band.high === null ? "" : ` (${Math.round(100 * band.coverage)} % band and one more)`;
  return [["Wide band", `${said.band}${how}`]];
}

/**
 * The chance of each number of sessions.
 * @param {Array<{sessions: string, chance: number}>} tens As in `sessionGroups`.
 * @returns {string}
 */
export function chanceList(tens) {
  return tens.map(({ sessions, chance }) => `${percent(chance)} in ${orMore(sessions)}`).join(", ");
}

/**
 * Levels after each session, until the band lies at the goal or nothing changes any more.
 * @param {Array<{session: number, median: number, low: number, high: number, holds: number}>} levels
 * @param {number} goal
 * @returns {string[][]}
 */
export function levelRows(levels, goal) {
  const end = levels.findIndex((level, i) => levels[i - 1]?.low >= goal || isSameBand(level, levels[i - 1]));
  const shown = end < 0 ? levels : levels.slice(0, end);
  return shown.map(({ session, median, low, high, holds }) => [
    String(session), plain(median), `${low === high ? plain(low) : `${plain(low)} to ${plain(high)}`}, for ${chanceInWords(holds)}`,
  ]);
}

function isSameBand({ median, low, high }, before) {
  return before !== undefined && median === before.median && low === before.low && high === before.high;
}

function levelTable(rows) {
  return table("Level after each session", ["Session", "Middle", "Most lie between"], rows, "levels");
}
