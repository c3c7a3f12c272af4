import { plain } from "./rounding.js";

/** Numbers as people type them, with a decimal point or comma, whatever the tablet's language is. */

/**
 * A typed number.
 * @param {string} text With a decimal point or comma; a unit may follow.
 * @returns {?number} Null for anything else.
 */
export function typedNumber(text) {
  const found = /^\s*(\d+(?:[.,]\d+)?|[.,]\d+)\s*(?:%|[a-z]+\.?)?\s*$/i.exec(text);
  return found ? Number(found[1].replace(",", ".")) : null;
}

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
 * Why a typed text can't be taken.
 * @param {string} text
 * @param {{low: number, high: number, step: number, only?: boolean}} range `only`: nothing between the steps.
 * @returns {string} Empty where it can.
 */
export function complaint(text, { low, high, step, only = false }) {
  const value = typedNumber(text);
  if (value === null) return `${text.trim() || "Nothing"} is no number. Write it in figures, such as ${plain(low)}.`;
  if (value < low || value > high) return `${plain(value)} can't be: ${plain(low)} to ${plain(high)}.`;
  const places = value / step;
  if (!only || Math.abs(places - Math.round(places)) < 1e-9) return "";
  return `${plain(value)} can't be: steps of ${plain(step)}.`;
}

/**
 * What is said of a number that another one has moved.
 * @param {number} wanted As it was entered.
 * @param {number} value As it must be.
 * @returns {string} Empty where it's as it was entered.
 */
export function movedSaid(wanted, value) {
  if (wanted === value) return "";
  const now = plain(value);
  return value > wanted ? `Moved up from ${plain(wanted)}: at least ${now} now.` : `Moved down from ${plain(wanted)}: at most ${now} now.`;
}
