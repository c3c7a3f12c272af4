/**
 * Questions, checked before they are answered; a complaint names what to write instead.
 */
import { plain } from "./rounding.js";

/**
 * A number within a range.
 * @param {string} name What it's called.
 * @param {*} value What was given.
 * @param {number} low Lowest allowed.
 * @param {number} high Highest allowed.
 * @param {string} unit Said after the range.
 * @returns {number} The same.
 * @throws {Error} No number, or one out of range.
 */
export function checkedNumber(name, value, low, high, unit = "") {
  const number = typeof value === "number" ? value : NaN;
  if (!(number >= low && number <= high)) {
    const found = Number.isFinite(number) ? plain(number) : String(value);
    const expected = `${plain(low)} to ${plain(high)}${unit && ` ${unit}`}`;
    throw new Error(`${name}: found ${found}; expected ${expected}; correct it`);
  }
  return number;
}

/**
 * A level of the scale.
 * @param {string} name What it's called.
 * @param {*} value What was given.
 * @returns {number} The same.
 * @throws {Error} Off the scale or off the half steps.
 */
export function checkedLevel(name, value) {
  const level = checkedNumber(name, value, 1, 10);
  if (!Number.isInteger(2 * level)) {
    const below = Math.floor(2 * level) / 2;
    throw new Error(
      `${name}: found level ${plain(level)}; levels go in half steps; write ${plain(below)} or ${plain(below + 0.5)}`,
    );
  }
  return level;
}

/**
 * One of some words.
 * @param {string} name What it's called.
 * @param {*} value What was given.
 * @param {string[]} allowed Those there are.
 * @returns {string} The same.
 * @throws {Error} Another.
 */
export function checkedWord(name, value, allowed) {
  if (!allowed.includes(value)) {
    throw new Error(`${name}: found ${JSON.stringify(value)}; expected one of ${allowed.join(", ")}; choose one`);
  }
  return value;
}

/**
 * A plan of sessions.
 * @param {Object} choices Of the model.
 * @param {Object} question start, goal, hair, peroxide, heat, minutes, stylist (may be missing).
 * @returns {Object} The same; stylist null for one of the log's.
 * @throws {Error} A goal at or below the start, developer above 12 %, anything that isn't among the choices.
 */
export function checkedPlan(choices, question) {
  const start = checkedLevel("start", question.start);
  const goal = checkedLevel("goal", question.goal);
  if (goal <= start) {
    throw new Error(
      `goal: found level ${plain(goal)} at or below the start, level ${plain(start)}; expected a lighter level; `
      + "raise the goal or correct the start",
    );
  }
  const [weakest, strongest] = choices.peroxide;
  if (question.peroxide > strongest) {
    throw new Error(
      `peroxide: found ${plain(question.peroxide)} %; expected at most ${plain(strongest)} % (40 volume), the limit `
      + "for hair in Regulation (EC) No 1223/2009, Annex III; correct it",
    );
  }
  const [shortest, longest] = choices.minutes;
  const stylist = question.stylist ?? null;
  return {
    start,
    goal,
    hair: checkedWord("hair", question.hair, choices.hair),
    peroxide: checkedNumber("peroxide", question.peroxide, weakest, strongest, "%"),
    heat: checkedWord("heat", question.heat, choices.heat),
    minutes: checkedNumber("minutes", question.minutes, shortest, longest),
    stylist: stylist === null ? null : checkedWord("stylist", stylist, [...choices.stylists, "new"]),
  };
}
