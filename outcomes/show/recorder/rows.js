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
  return looks.length === 0 ? null : looks.length - (isEnd(book, zone, looks.at(-1)) ? 1 : 0);
}

function isEnd(book, zone, look) {
  return zone.values.stop === "target" && look.level >= valueIn(book, zone.values, "goal_level");
}

/**
 * The same in words, once it's known why the zone was rinsed.
 * @param {Object} book
 * @param {Object} zone Rinsed.
 * @returns {string} Empty where nothing was counted.
 */
export function looksTold(book, zone) {
  const last = looksSince(zone).at(-1);
  if (!last || !zone.values.stop) return "";
  const which = isEnd(book, zone, last) ? `the last, ${last.level}, ended it` : "none of those above ended it";
  return `Looks before the one that ended it: ${looksBefore(book, zone)}; ${which}.`;
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
 * What is left of a visit that was exported and is deleted: its rows, beside which a wash reading can still go out,
 * and its looks, without which those rows would say that nobody looked.
 * @param {Object} book
 * @param {Object} visit Exported as it is now.
 * @returns {{code: string, rows: Object[], checks: Object[]}}
 */
export function leftOf(book, visit) {
  const { visits, checks } = visitRows(book, visit);
  return { code: visit.code, rows: visits, checks };
}

/**
 * The visit of a wash reading, or what is left of it.
 * @param {Object} book
 * @param {{visits: Object[], rows: Object[]}} kept On this device.
 * @param {Object<string, string>} values Of the reading, as typed.
 * @returns {?Object} A visit; one of which rows alone are left is finished and has its zones' names. Null where
 *   the visit isn't known here.
 */
export function visitOfReading(book, { visits, rows }, values) {
  const { visit } = washRow(book, values);
  const left = rows.find((one) => one.code === visit);
  const zones = left?.rows.map((row) => ({ values: { zone: row.zone } }));
  return visits.find((one) => one.code === visit) ?? (left ? { code: visit, finished: true, zones } : null);
}

/**
 * What may be exported: visits that are finished, and wash readings that don't wait for a visit kept here.
 * @param {Object} book
 * @param {{visits: Object[], washes: Object[], rows: Object[]}} kept On this device; readings with their `values`.
 * @returns {{visits: Object[], washes: Object[], again: Object[], strange: Object[]}} again is what is left of
 *   visits that go out once more beside their readings; strange are those readings whose visit isn't known here.
 */
export function exportable(book, kept) {
  const owner = (reading) => visitOfReading(book, kept, reading.values);
  const ready = kept.visits.filter((visit) => isReady(book, visit));
  const waits = (visit) => kept.visits.includes(visit) && !ready.includes(visit);
  const washes = kept.washes.filter((reading) => !waits(owner(reading))
    && washLacks(book, reading.values, owner(reading)).length === 0);
  const codes = new Set(washes.map((reading) => washRow(book, reading.values).visit));
  return {
    visits: ready, washes, again: kept.rows.filter((left) => codes.has(left.code)),
    strange: washes.filter((reading) => owner(reading) === null),
  };
}

/**
 * What is exported, as rows.
 * @param {Object} book
 * @param {{visits: Object[], washes: Object[], rows: Object[]}} kept As `exportable` takes it.
 * @returns {{visits: Object[], checks: Object[], washes: Object[]}}
 */
export function exportedRows(book, kept) {
  const ready = exportable(book, kept);
  const parts = ready.visits.map((visit) => visitRows(book, visit));
  return {
    visits: [...ready.again.flatMap((left) => left.rows), ...parts.flatMap((part) => part.visits)],
    // an older page kept rows alone
    checks: [...ready.again.flatMap((left) => left.checks ?? []), ...parts.flatMap((part) => part.checks)],
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
