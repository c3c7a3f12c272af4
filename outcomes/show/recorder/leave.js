/** What leaves the device, and what is deleted from it then. */

import { keep, readAgain } from "./app.js";
import { csvText } from "./csv.js";
import { exportable, exportedRows } from "./rows.js";

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
 * @returns {{visits: Object[], washes: Object[], open: Object[], held: number, waiting: number, gone: Object}}
 *   Visits and readings that may be exported, visits that may not, readings that wait for one of those; how many
 *   of the first weren't exported yet, and how many were (by kind).
 */
export function standing(app) {
  const { visits, washes } = exportable(app.book, app.visits, app.washes);
  const open = app.visits.filter((visit) => !visits.includes(visit));
  const gone = { visits: visits.filter(isExported).length, washes: washes.filter(isExported).length };
  const waiting = visits.length + washes.length - gone.visits - gone.washes;
  return { visits, washes, open, held: app.washes.length - washes.length, waiting, gone };
}

/**
 * The three files, and a mark on all that is in them.
 * @param {Object} app
 * @returns {Promise<?Array<{name: string, text: string, rows: number}>>} Null where the mark wasn't kept.
 */
export async function exportAll(app) {
  const rows = await keep(app, async (places) => {
    const [visits, washes] = [await places.all("visits"), await places.all("washes")];
    const ready = exportable(app.book, visits, washes);
    await Promise.all([...ready.visits.map((visit) => places.put("visits", markedNow(visit))),
      ...ready.washes.map((one) => places.put("washes", markedNow(one)))]);
    return exportedRows(app.book, visits, washes);
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
 * Delete what was exported as it is now; all else stays.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function wipe(app) {
  const done = await keep(app, async (places) => {
    const ready = exportable(app.book, await places.all("visits"), await places.all("washes"));
    await Promise.all([
      ...ready.visits.filter(isExported).map((visit) => places.drop("visits", visit.code)),
      ...ready.washes.filter(isExported).map((one) => places.drop("washes", one.key)),
    ]);
    return true;
  }, "the wipe");
  if (!done) return;
  await readAgain(app);
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
