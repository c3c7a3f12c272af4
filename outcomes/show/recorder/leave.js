/** What leaves the device, and what is deleted from it then. */

import { everything, keep, readAgain } from "./app.js";
import { csvText } from "./csv.js";
import { exportable, exportedRows, leftOf } from "./rows.js";

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
 * @returns {{visits: Object[], washes: Object[], again: Object[], strange: Object[], open: Object[], held: number,
 *   waiting: number, gone: Object}} What `exportable` gives, visits that may not be exported, readings that wait
 *   for one of those; how many of the first weren't exported yet, and how many were (by kind).
 */
export function standing(app) {
  const { visits, washes, again, strange } = exportable(app.book, app);
  const open = app.visits.filter((visit) => !visits.includes(visit));
  const gone = { visits: visits.filter(isExported).length, washes: washes.filter(isExported).length };
  const waiting = visits.length + washes.length - gone.visits - gone.washes;
  return { visits, washes, again, strange, open, held: app.washes.length - washes.length, waiting, gone };
}

/**
 * The three files, and a mark on all that is in them.
 * @param {Object} app
 * @returns {Promise<?Array<{name: string, text: string, rows: number}>>} Null where the mark wasn't kept.
 */
export async function exportAll(app) {
  const rows = await keep(app, async (places) => {
    const kept = await everything(places);
    const ready = exportable(app.book, kept);
    await Promise.all([...ready.visits.map((visit) => places.put("visits", markedNow(visit))),
      ...ready.washes.map((one) => places.put("washes", markedNow(one)))]);
    return exportedRows(app.book, kept);
  }, "which visits are exported");
  if (rows === null) return null;
  await readAgain(app);
  return Object.entries(rows).map(([table, found]) => ({
    name: `${table}.csv`, rows: found.length, text: csvText(app.book.fields[table], found, app.book),
  }));
}

function markedNow(record) {
  return { ...record, exported: record.revision };
}

/**
 * Delete what was exported as it is now; all else stays, and of each visit the rows that wash readings need.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function wipe(app) {
  const done = await keep(app, async (places) => {
    const ready = exportable(app.book, await everything(places));
    const gone = ready.visits.filter(isExported);
    await Promise.all([
      ...gone.map((visit) => places.put("rows", leftOf(app.book, visit))),
      ...gone.map((visit) => places.drop("visits", visit.code)),
      ...ready.washes.filter(isExported).map((one) => places.drop("washes", one.key)),
    ]);
    return true;
  }, "the wipe");
  if (!done) return;
  await readAgain(app);
  app.said = "Deleted from this device.";
}

/**
 * Delete the rows that were kept for wash readings to come.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function wipeRows(app) {
  const done = await keep(app, async (places) => {
    await Promise.all((await places.all("rows")).map((left) => places.drop("rows", left.code)));
    return true;
  }, "that these rows are deleted");
  if (!done) return;
  await readAgain(app);
  app.said = "Rows deleted from this device.";
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
