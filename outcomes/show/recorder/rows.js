/** Finished visits and wash readings as rows of the three canonical tables. */

import { fieldOf, readField } from "./fields.js";
import { isReady, rinseMinutes, valueIn, washLacks } from "./ready.js";
import { applications, looksSince, minutesAt, toTenth } from "./zone.js";

/**
 * Rows of a finished visit.
 * @param {Object} book
 * @param {Object} visit
 * @returns {{visits: Object[], checks: Object[]}} Rows by canonical column, values read.
 */
export function visitRows(book, visit) {
  const rows = { visits: [], checks: [] };
  for (const zone of visit.zones) {
    const read = (name) => valueIn(book, { ...visit.values, ...zone.values }, name);
    const row = Object.fromEntries(book.fields.visits.map((field) => [field.name, read(field.name)]));
    const made = { visit: visit.code, applications: applications(zone), minutes: rinseMinutes(book, zone) };
    rows.visits.push({ ...row, ...made, looks: looksBefore(book, zone) ?? row.looks });
    rows.checks.push(...looksSince(zone).map((look) => lookRow(visit, zone, look)));
  }
  return rows;
}

function lookRow(visit, zone, look) {
  return {
    visit: visit.code,
    zone: zone.values.zone,
    minutes: toTenth(minutesAt(zone, look.at)),
    level: look.level,
    read_on: look.readOn ?? null,
  };
}

/**
 * Looks before the one that ended the visit.
 * @param {Object} book
 * @param {Object} zone Rinsed.
 * @returns {?number} Null where none was tapped: nobody counted then.
 */
export function looksBefore(book, zone) {
  const looks = looksSince(zone);
  if (looks.length === 0) return null;
  const goal = valueIn(book, zone.values, "goal_level");
  return looks.length - (zone.values.stop === "target" && looks.at(-1).level >= goal ? 1 : 0);
}

/**
 * The row of a wash reading.
 * @param {Object} book
 * @param {Object<string, string>} values As typed.
 * @returns {Object} By canonical column.
 */
export function washRow(book, values) {
  const read = (field) => readField(field, values[field.name], book).value;
  return Object.fromEntries(book.fields.washes.map((field) => [field.name, read(field)]));
}

/**
 * What may be exported: visits that are finished, and wash readings that don't wait for a visit kept here.
 * @param {Object} book
 * @param {Object[]} visits
 * @param {Object[]} washes Readings with their `values`.
 * @returns {{visits: Object[], washes: Object[]}}
 */
export function exportable(book, visits, washes) {
  const owner = (reading) => visits.find((visit) => visit.code === washRow(book, reading.values).visit) ?? null;
  const ready = visits.filter((visit) => isReady(book, visit));
  const goes = (reading, visit) => (visit === null || ready.includes(visit))
    && washLacks(book, reading.values, visit).length === 0;
  return { visits: ready, washes: washes.filter((reading) => goes(reading, owner(reading))) };
}

/**
 * What is exported, as rows.
 * @param {Object} book
 * @param {Object[]} visits
 * @param {Object[]} washes Readings with their `values`.
 * @returns {{visits: Object[], checks: Object[], washes: Object[]}}
 */
export function exportedRows(book, visits, washes) {
  const ready = exportable(book, visits, washes);
  const parts = ready.visits.map((visit) => visitRows(book, visit));
  return {
    visits: parts.flatMap((part) => part.visits),
    checks: parts.flatMap((part) => part.checks),
    washes: ready.washes.map((reading) => washRow(book, reading.values)),
  };
}

/**
 * A wash reading's name: another of the same visit, zone and washes takes its place.
 * @param {Object} book
 * @param {Object<string, string>} values As typed.
 * @returns {string}
 */
export function washKey(book, values) {
  const name = (column) => readField(fieldOf(book, "washes", column), values[column], book).value;
  return JSON.stringify([name("visit"), name("zone"), name("washes")]);
}
