/**
 * Figures by which a zone runs: its strength, how often to look, its longest time. While somebody changes one, the
 * last one that could be read stays in force; otherwise a "4" on the way to "45" would ring the time limit.
 */

import { valueIn } from "./ready.js";

const FIGURES = ["peroxide_pct", "planned_minutes", "look_every"];

/**
 * Whether a field is one of these figures.
 * @param {string} name Of the field.
 * @returns {boolean}
 */
export function isFigure(name) {
  return FIGURES.includes(name);
}

/**
 * A figure as it's in force.
 * @param {Object} book
 * @param {Object} zone
 * @param {string} name
 * @returns {?number} Null where none could be read yet.
 */
export function inForce(book, zone, name) {
  return valueIn(book, { ...zone.values, ...zone.force }, name);
}

/**
 * What is in force once what is typed counts.
 * @param {Object} book
 * @param {Object} zone
 * @returns {Object<string, string>} By name; what can't be read leaves the figure before it.
 */
export function settled(book, zone) {
  const read = FIGURES.filter((name) => valueIn(book, zone.values, name) !== null);
  return { ...zone.force, ...Object.fromEntries(read.map((name) => [name, zone.values[name]])) };
}

/**
 * Whether everything typed that can be read is in force.
 * @param {Object} book
 * @param {Object} zone
 * @returns {boolean}
 */
export function isSettled(book, zone) {
  const then = settled(book, zone);
  return FIGURES.every((name) => then[name] === zone.force?.[name]);
}
