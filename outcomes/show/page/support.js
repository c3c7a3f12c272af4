/**
 * How well a log covers what is asked: "inside", "edge" or "outside", with the reasons in words.
 */
import { plain } from "./rounding.js";

const ENOUGH = 20; // visits of a category for "inside"
const COMMON = 0.99; // share of courses that the sessions needed must lie within
const RANKS = ["inside", "edge", "outside"];

/** Visits of a category, or of a very shade, for "edge". */
export const FEW = 5;

// column of the log: [what it is called, unit]
const CALLED = {
  start_level: ["a start at level", ""],
  goal_level: ["a goal of level", ""],
  gain: ["a gain of", " levels"],
  peroxide_pct: ["developer of", " %"],
  minutes: ["a time of", " minutes"],
  root_level: ["a root shade of level", ""],
  washes: ["a count of", " washes"],
};

/**
 * The worse of two.
 * @param {string} one "inside", "edge" or "outside".
 * @param {string} other The same.
 * @returns {string} The same.
 */
export function worse(one, other) {
  return RANKS[Math.max(RANKS.indexOf(one), RANKS.indexOf(other))];
}

/**
 * Judge a plan.
 * @param {Object} support What the log covers: numbers, categories, sessions.
 * @param {Object<string, number>} numbers By column; columns that the log hasn't aren't judged.
 * @param {Object<string, string>} words By column, likewise.
 * @param {{needed?: number, usual?: boolean}} more Median number of sessions, where it's about sessions; whether
 *   ranges are what is usual in the trade.
 * @returns {{support: string, notes: string[]}} The word, and a sentence for everything that isn't inside.
 */
export function assess(support, numbers, words, { needed, usual = false } = {}) {
  const found = [
    ...Object.entries(numbers)
      .filter(([column]) => column in support.numbers)
      .map(([column, value]) => judgedNumber(column, value, support.numbers[column], usual)),
    ...Object.entries(words)
      .filter(([column]) => column in support.categories)
      .map(([column, word]) => judgedWord(column, word, support.categories[column][word] ?? 0)),
  ];
  if (needed !== undefined) {
    found.push(judgedSessions(support.sessions, needed, usual));
  }
  const notes = found.filter(([rank]) => rank > 0).map(([, note]) => note);
  return { support: RANKS[Math.max(0, ...found.map(([rank]) => rank))], notes };
}

function judgedNumber(column, value, [low, first, last, high], usual) {
  const [name, unit] = CALLED[column] ?? [column, ""];
  const said = `${name} ${plain(value)}${value === 1 ? unit.replace(/s$/, "") : unit}`;
  if (first <= value && value <= last) {
    return [0, ""];
  }
  const within = low <= value && value <= high;
  const ends = `${plain(low)} to ${plain(high)}`;
  if (usual) {
    return [within ? 1 : 2, `${said} is ${within ? "rare" : "not usual"} (usual: ${ends})`];
  }
  if (within) {
    const side = value > last ? "highest" : "lowest";
    return [1, `${said} is among the ${side} logged (the log goes from ${ends})`];
  }
  return [2, `${said} was never logged (the log goes from ${ends})`];
}

function judgedWord(column, word, visits) {
  if (visits >= ENOUGH) {
    return [0, ""];
  }
  const had = visits ? `only ${visits} logged visit${visits > 1 ? "s" : ""} had` : "no logged visit has";
  const said = `${had} ${column.replaceAll("_", " ")} ${word.replaceAll("_", "-")}`;
  return [visits >= FEW ? 1 : 2, said];
}

function judgedSessions(sessions, needed, usual) {
  const entries = Object.entries(sessions).map(([number, courses]) => [Number(number), courses]);
  const courses = entries.reduce((sum, [, here]) => sum + here, 0);
  const longest = Math.max(0, ...entries.map(([number]) => number));
  if (usual && needed > longest) {
    return [2, `it would take more sessions than are usual (${longest})`];
  }
  if (!courses || needed > longest) {
    return [2, `it would take more sessions than any logged course had (${longest})`];
  }
  const within = entries.reduce((sum, [number, here]) => sum + (number < needed ? here : 0), 0);
  if (within / courses >= COMMON) {
    return [1, `fewer than 1 in 100 logged courses had ${needed} sessions or more`];
  }
  return [0, ""];
}
