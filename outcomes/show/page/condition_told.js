import { table } from "./view.js";
import { chanceInWords, count } from "./wording.js";

/** Strand condition over a course, where it was asked for, in the words of the command line. */

const TOO_FEW = 0.005; // sessions that fewer courses come to aren't shown

/**
 * Rows of the condition after each session.
 * @param {{before: number, floor: number, sessions: Object[]}} condition JSON of the command line.
 * @param {number[]} done Chances of being done in 1, 2, ... sessions.
 * @returns {string[][]}
 */
export function conditionRows({ before, floor, sessions }, done) {
  const rows = [["before", String(before), ""]];
  let going = 1;
  for (const { session, median, low, high, below } of sessions) {
    if (session > 1 && going < TOO_FEW) break;
    const risk = below === null ? "" : `; below ${floor}: ${chanceInWords(below)}`;
    rows.push([String(session), String(median), `${pointSpan(low, high)}${risk}`]);
    going -= done[session - 1];
  }
  return rows;
}

/**
 * The table of it.
 * @param {Object} answer Of `answerSessions`; `condition` where it was asked for.
 * @returns {HTMLElement[]} None where it wasn't, or the log doesn't cover the plan.
 */
export function conditionTable({ condition, sessions }) {
  if (!condition || condition.stops_first === null) return [];
  const caption = "Strand condition, 5 strong to 1 breaking";
  const rows = conditionRows(condition, Object.values(sessions));
  return [table(caption, ["Session", "Middle", "Most lie between"], rows, "levels")];
}

/**
 * The chance that it stops the course first.
 * @param {Object} answer As in `conditionTable`.
 * @returns {Array<[string, string]>}
 */
export function conditionFacts({ condition }) {
  if (!condition) return [];
  if (condition.stops_first === null) {
    return [["Condition", `at the end, wide band ${pointSpan(condition.low, condition.high)}`]];
  }
  const { floor, stops_first: stops, stops_within_sessions: limit, notes } = condition;
  const said = `falls below ${floor} before the goal is read, within ${count(limit)}: ${chanceInWords(stops)}`;
  return [["Condition", `${said}; ${notes[0]}`]];
}

/**
 * What that rests on, and takes for granted.
 * @param {Object} answer As in `conditionTable`.
 * @returns {Array<[string, string]>}
 */
export function conditionBasis({ condition }) {
  if (!condition) return [];
  return [["Condition", `${condition.rests_on}; taken for granted: ${condition.notes.slice(1).join("; ")}`]];
}

function pointSpan(low, high) {
  return low === high ? `${low}` : `${low} to ${high}`;
}
