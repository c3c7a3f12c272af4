/** What a visit, a zone or a reading still lacks, and what is wrong in it, before it may go on. */

import { fieldOf, readField } from "./fields.js";
import { clockMinutes, looksSince, minutesAt, stateOf, toTenth } from "./zone.js";

/** @typedef {{name: string, label: string, fault: string}} Lack Of a field; fault is "needed" or a sentence. */

/**
 * A value by its column.
 * @param {Object} book
 * @param {Object<string, string>} values As typed.
 * @param {string} name
 * @param {string} [table]
 * @returns {string|number|null} Null where nothing, or nothing readable, was typed.
 */
export function valueIn(book, values, name, table = "visits") {
  return readField(fieldOf(book, table, name), values[name], book).value;
}

function formLacks(book, form, values, table = "visits") {
  const names = [...book.forms[form].first, ...book.forms[form].more];
  return names.flatMap((name) => {
    const field = fieldOf(book, table, name);
    const { value, fault } = readField(field, values[name], book);
    const told = fault || (value === null && field.needed ? "needed" : "");
    return told ? [{ name, label: field.label, fault: told }] : [];
  });
}

/**
 * What is asked about the visit as a whole before a clock may start.
 * @param {Object} book
 * @param {Object} visit
 * @returns {Lack[]}
 */
export function visitLacks(book, visit) {
  return formLacks(book, "visit", visit.values);
}

/**
 * Tests that weren't done: no clock starts without a word about them.
 * @param {Object} visit
 * @returns {string} Empty where none was answered "no".
 */
export function testsFirst(visit) {
  const open = ["patch", "strand"].filter((name) => visit.values[`${name}_test`] === "no");
  if (open.length === 0) return "";
  return open.length > 1 ? "Patch test and strand test come first." : `The ${open[0]} test comes first.`;
}

/**
 * What a zone's plan lacks before its clock may start.
 * @param {Object} book
 * @param {Object} visit
 * @param {Object} zone
 * @returns {Lack[]}
 */
export function planLacks(book, visit, zone) {
  const lacks = formLacks(book, "plan", zone.values);
  const of = (name, fault) => lacks.push({ name, label: fieldOf(book, "visits", name).label, fault });
  const [start, goal] = ["start_level", "goal_level"].map((name) => valueIn(book, zone.values, name));
  if (start !== null && goal !== null && goal <= start) of("goal_level", `above the start, ${start}`);
  const twin = visit.zones.some((one) => one.id !== zone.id && one.values.zone === zone.values.zone);
  if (zone.values.zone && twin) of("zone", "each zone once in a visit");
  return lacks;
}

/**
 * Minutes to the rinse: as typed, else by the clock.
 * @param {Object} book
 * @param {Object} zone Rinsed.
 * @returns {?number} Null where what was typed can't be read, or nobody knows.
 */
export function rinseMinutes(book, zone) {
  const field = fieldOf(book, "visits", "minutes");
  if (zone.values.minutes !== undefined) return readField(field, zone.values.minutes, book).value;
  if (zone.doubt) return null;
  const minutes = clockMinutes(zone, field);
  return minutes <= field.high ? minutes : null;
}

/**
 * What the result of a rinsed zone lacks.
 * @param {Object} book
 * @param {Object} zone
 * @returns {Lack[]}
 */
export function resultLacks(book, zone) {
  const minutes = rinseMinutes(book, zone);
  const values = { ...zone.values, ...(minutes === null ? {} : { minutes: String(minutes) }) };
  if (looksSince(zone).length > 0) delete values.looks; // worked out from what was tapped
  const lacks = formLacks(book, "result", values);
  const of = (name, fault) => lacks.push({ name, label: fieldOf(book, "visits", name).label, fault });
  const start = valueIn(book, zone.values, "start_level");
  const achieved = valueIn(book, zone.values, "achieved_level");
  if (achieved !== null && achieved < start - book.levelStep) {
    of("achieved_level", `more than one step below the start, ${start}`);
  }
  const last = looksSince(zone).at(-1);
  const seen = last ? toTenth(minutesAt(zone, last.at)) : 0;
  if (minutes !== null && minutes < seen) of("minutes", `the last look was at ${seen} minutes`);
  return lacks;
}

/**
 * What keeps a rinsed zone from being through.
 * @param {Object} book
 * @param {Object} visit
 * @param {Object} zone
 * @returns {Lack[]}
 */
export function zoneLacks(book, visit, zone) {
  return [...planLacks(book, visit, zone), ...resultLacks(book, zone)];
}

/**
 * Whether every zone is rinsed and its result complete, so that the visit can come to its end.
 * @param {Object} book
 * @param {Object} visit
 * @returns {boolean}
 */
export function isThrough(book, visit) {
  return visit.zones.every((zone) => stateOf(zone) === "rinsed" && zoneLacks(book, visit, zone).length === 0);
}

/**
 * Whether a visit may be exported.
 * @param {Object} book
 * @param {Object} visit
 * @returns {boolean}
 */
export function isReady(book, visit) {
  return visit.finished && finishLacks(book, visit).length === 0;
}

/**
 * What keeps a visit from being finished.
 * @param {Object} book
 * @param {Object} visit
 * @returns {Lack[]} Of the visit and the finish form; a zone that isn't through counts as one.
 */
export function finishLacks(book, visit) {
  const zones = visit.zones.filter((zone) => stateOf(zone) !== "rinsed" || zoneLacks(book, visit, zone).length > 0);
  const open = zones.map((zone) => ({ name: "zone", label: zone.values.zone ?? "a zone", fault: "not through" }));
  const none = visit.zones.length === 0 ? [{ name: "zone", label: "zone", fault: "needed" }] : [];
  return [...visitLacks(book, visit), ...open, ...none, ...formLacks(book, "finish", visit.values)];
}

/**
 * What a wash reading lacks.
 * @param {Object} book
 * @param {Object<string, string>} values As typed.
 * @param {?Object} visit The visit, where it's kept on this device.
 * @returns {Lack[]}
 */
export function washLacks(book, values, visit) {
  const lacks = formLacks(book, "wash", values, "washes");
  const of = (name, fault) => lacks.push({ name, label: fieldOf(book, "washes", name).label, fault });
  const has = (name) => valueIn(book, values, name, "washes") !== null;
  const lab = ["L", "a", "b"].filter(has);
  if (lab.length > 0 && lab.length < 3) of("L", "L, a and b belong together");
  if (!has("level") && !has("tone_left") && lab.length === 0) of("tone_left", "tone left, level, or L, a and b");
  if (visit && !visit.finished) of("visit", "this visit isn't finished yet");
  const zones = visit?.zones.map((zone) => zone.values.zone);
  // the root shade fades at the roots, whatever zone was lightened
  if (zones && values.zone && values.zone !== "roots" && !zones.includes(values.zone)) {
    of("zone", `this visit has ${zones.join(" and ")}`);
  }
  return lacks;
}
