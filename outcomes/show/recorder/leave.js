/** What leaves the device, and what is deleted from it then. */

import { keep } from "./app.js";
import { csvText } from "./csv.js";
import { exportedRows } from "./rows.js";

/**
 * Whether a visit or a wash reading was exported as it is now.
 * @param {{revision: number, exported: ?number}} record
 * @returns {boolean}
 */
export function isExported(record) {
  return record.exported === record.revision;
}

/**
 * What there is to export, and to wipe.
 * @param {Object} app
 * @returns {{visits: Object[], washes: Object[], open: Object[], waiting: number, gone: Object}} Finished visits and
 *   readings, unfinished visits; how many of the former weren't exported yet, and how many were (by kind).
 */
export function standing(app) {
  const visits = app.visits.filter((visit) => visit.finished);
  const open = app.visits.filter((visit) => !visit.finished);
  const gone = { visits: visits.filter(isExported).length, washes: app.washes.filter(isExported).length };
  return { visits, washes: app.washes, open, waiting: visits.length + app.washes.length - gone.visits - gone.washes, gone };
}

/**
 * The three files, and a mark on all that is in them.
 * @param {Object} app
 * @returns {Promise<?Array<{name: string, text: string, rows: number}>>} Null where the mark wasn't kept.
 */
export async function exportAll(app) {
  const kept = await keep(app, async (places) => {
    const visits = await places.all("visits");
    const washes = await places.all("washes");
    const rows = exportedRows(app.book, visits, washes);
    const marked = visits.map((visit) => (visit.finished ? markedNow(visit) : visit));
    const read = washes.map(markedNow);
    await Promise.all([
      ...marked.map((visit) => places.put("visits", visit)), ...read.map((one) => places.put("washes", one))]);
    return { rows, marked, read };
  }, "which visits are exported");
  if (kept === null) return null;
  app.visits = app.visits.map((visit) => kept.marked.find((one) => one.code === visit.code) ?? visit);
  app.washes = kept.read;
  return Object.entries(kept.rows).map(([table, rows]) => ({
    name: `${table}.csv`, rows: rows.length, text: csvText(app.book.fields[table], rows, app.book),
  }));
}

function markedNow(record) {
  return { ...record, exported: record.revision };
}

function leaves(record) {
  return isExported(record) && record.finished !== false;
}

/**
 * Delete what was exported as it is now; all else stays.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function wipe(app) {
  const left = await keep(app, async (places) => {
    const visits = await places.all("visits");
    const washes = await places.all("washes");
    await Promise.all([
      ...visits.filter(leaves).map((visit) => places.drop("visits", visit.code)),
      ...washes.filter(leaves).map((one) => places.drop("washes", one.key)),
    ]);
    return { visits: visits.filter((one) => !leaves(one)), washes: washes.filter((one) => !leaves(one)) };
  }, "the wipe");
  if (left === null) return;
  app.visits = app.visits.filter((visit) => left.visits.some((one) => one.code === visit.code));
  app.washes = left.washes;
  app.said = "Deleted from this device.";
}

/**
 * Hand a file to the browser's downloads.
 * @param {HTMLAnchorElement} link Not yet in use.
 * @param {string} name
 * @param {string} text
 */
export function asDownload(link, name, text) {
  link.download = name;
  link.href = URL.createObjectURL(new Blob([text], { type: "text/csv;charset=utf-8" }));
}
