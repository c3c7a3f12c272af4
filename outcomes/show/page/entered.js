import { plain } from "./rounding.js";
import { isForThousands, typedNumber } from "./typed.js";

/** What becomes of a number in a field: its next place, whether it may stand there, and what is said of it. */

/**
 * The next value of a grid.
 * @param {number} value
 * @param {number} direction 1 or -1.
 * @param {{low: number, high: number, step: number}} range
 * @returns {number} Within the range; from off the grid, the nearest place on it in that direction.
 */
export function stepped(value, direction, { low, high, step }) {
  const places = value / step;
  const near = direction > 0 ? Math.floor(places + 1e-9) + 1 : Math.ceil(places - 1e-9) - 1;
  return within(Number((near * step).toFixed(6)), low, high);
}

/**
 * The nearest value of a range.
 * @param {number} value
 * @param {number} low
 * @param {number} high
 * @returns {number}
 */
export function within(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

/**
 * A number with all of its digits: prices have more than the six that other numbers are told with.
 * @param {number} value
 * @returns {string}
 */
export function asTyped(value) {
  return String(Number(value.toPrecision(12)));
}

/**
 * Why a typed text can't be taken.
 * @param {string} text
 * @param {{low: number, high: number, step: number, only?: boolean}} range `only`: nothing between the steps.
 * @param {Object} unit One of `UNITS`.
 * @returns {string} Empty where it can.
 */
export function complaint(text, { low, high, step, only = false }, unit) {
  const value = typedNumber(text, unit);
  if (isForThousands(text, unit)) return `${text.trim()} may be meant in two ways. Write thousands without a comma or point, as 1500.`;
  if (value === null) return unreadable(text.trim(), low, unit);
  if (value < low || value > high) return `${asTyped(value)} can't be: ${plain(low)} to ${plain(high)}.`;
  const places = value / step;
  if (!only || Math.abs(places - Math.round(places)) < 1e-9) return "";
  return `${asTyped(value)} can't be: steps of ${plain(step)}.`;
}

function unreadable(text, low, { name }) {
  if (/^[\d.,]+\s*-?\s*\p{L}/u.test(text)) return `${text} isn't in ${name}. Write the number alone.`;
  return `${text || "Nothing"} is no number. Write it in figures, such as ${plain(low)}.`;
}

/**
 * What is said of a number that another one has moved.
 * @param {number} wanted As it was entered.
 * @param {number} value As it must be.
 * @returns {string} Empty where it's as it was entered.
 */
export function movedSaid(wanted, value) {
  if (wanted === value) return "";
  const [from, now] = [asTyped(wanted), asTyped(value)];
  return value > wanted ? `Moved up from ${from}: at least ${now} now.` : `Moved down from ${from}: at most ${now} now.`;
}
