/** Export, and wipe after it. */

import { button, made } from "./dom.js";
import { asDownload, exportAll, standing, wipe, wipeRows } from "./leave.js";
import { correctedLine, counted, waitingWords } from "./start_view.js";

const BETWEEN = 400; // ms from file to file: browsers drop downloads that come all at once

/**
 * The screen of export and wipe.
 * @param {Object} app
 * @param {Object} act
 * @returns {HTMLElement[]}
 */
export function leaveView(app, act) {
  const { visits, washes, again, strange, open, held, waiting, gone } = standing(app);
  const none = visits.length + washes.length === 0;
  return [
    made("header", { class: "top" }, button("home", "All visits", () => act.go({ name: "start" })),
      made("h1", {}, "Export and wipe")),
    made("section", { "aria-labelledby": "export-head" }, made("h2", { id: "export-head" }, "Export"),
      made("p", {}, `${counted(visits.length, "finished visit")} and ${counted(washes.length, "wash reading")}`
        + `${none ? "" : `, ${waitingWords(waiting)}`}.${stay(open, held)}${beside(again)}`),
      ...correctedLine(open), ...mergeFirst(strange),
      made("p", { class: "quiet" }, "Three files go to this device's downloads. Put them into a folder of their own; "
        + "there ", made("code", {}, "outcomes check"), " looks through them, and ", made("code", {}, "outcomes merge"),
      " adds them to the log that you have."),
      made("div", { class: "row-of" }, none ? null
        : button("export", "Export visits, checks and washes", () => exported(app, act), { class: "main" })),
      links(app.view.files)),
    made("section", { "aria-labelledby": "wipe-head" }, made("h2", { id: "wipe-head" }, "Wipe"),
      wiping(app, act, { none, waiting, gone, open }), ...rowsLeft(app, act, waiting)),
  ];
}

function stay(open, held) {
  if (open.length === 0) return "";
  const wait = held === 0 ? "" : ` ${counted(held, "wash reading")} can't go without a visit that isn't finished.`;
  const who = open.map((visit) => visit.values.client ?? visit.code).join(", ");
  return ` ${counted(open.length, "unfinished visit")} (${who}) ${open.length === 1 ? "stays" : "stay"} here and `
    + `${open.length === 1 ? "isn't" : "aren't"} exported.${wait}`;
}

function beside(again) {
  if (again.length === 0) return "";
  return ` Rows and looks of ${counted(again.length, "visit")} exported before go out once more beside `
    + `${again.length === 1 ? "its" : "their"} readings.`;
}

function mergeFirst(strange) {
  if (strange.length === 0) return [];
  const [whose, them, its] = strange.length === 1 ? ["a visit that isn't", "it", "that visit"]
    : ["visits that aren't", "them", "those visits"];
  return [made("p", {}, `${counted(strange.length, "wash reading")} of ${whose} on this device: `,
    made("code", {}, "outcomes check"), ` takes ${them} only with ${its}. Merge the export into the log that has ${its}: `,
    made("code", {}, "outcomes merge LOG EXPORT --to MERGED"), ".")];
}

async function exported(app, act) {
  const files = await exportAll(app);
  if (files === null) return;
  act.go({ name: "leave", files });
  for (const file of files) {
    const link = made("a");
    asDownload(link, file.name, file.text);
    link.click();
    // oxlint-disable-next-line no-await-in-loop
    await new Promise((resolve) => setTimeout(resolve, BETWEEN));
  }
}

function links(files) {
  if (!files) return null;
  return made("ul", { class: "files" }, ...files.map((file) => {
    const link = made("a", { class: "file" }, `${file.name}, ${counted(file.rows, "row")}: save again`);
    asDownload(link, file.name, file.text);
    return made("li", {}, link);
  }));
}

function wiping(app, act, { none, waiting, gone, open }) {
  if (none) return made("p", {}, "Nothing here to delete.");
  if (waiting > 0) {
    return made("div", {}, made("p", {}, "Export everything that is finished first."),
      button("wipe", "Wipe this device", () => {}, { disabled: true }));
  }
  const what = `${counted(gone.visits, "exported visit")} and ${counted(gone.washes, "exported wash reading")}`;
  const rest = `${open.length === 0 ? "" : `${counted(open.length, "unfinished visit")} will stay. `}`
    + `${gone.visits === 0 ? "" : "The visits' own rows and looks stay, for wash readings to come."}`;
  if (!app.view.sure) {
    return made("div", {}, made("p", {}, `Deletes from this device: ${what}. ${rest}`),
      button("wipe", "Wipe this device", () => act.go({ ...app.view, sure: true })));
  }
  const yes = async () => {
    await wipe(app);
    act.go({ name: "start" });
  };
  return made("div", { role: "group", "aria-label": "are you sure" },
    made("p", {}, made("strong", {}, "Are visits.csv, checks.csv and washes.csv where you want them? "),
      `After this ${what} can't be brought back. ${rest}`),
    made("div", { class: "row-of" }, button("wipe-yes", "Delete them", yes, { class: "grave" }),
      button("wipe-no", "Keep them", () => act.go({ ...app.view, sure: false }))));
}

function rowsLeft(app, act, waiting) {
  if (app.rows.length === 0) return [];
  const of = counted(app.rows.length, "deleted visit");
  const stands = made("p", { class: "rows-left" }, `Rows and looks of ${of} are kept for wash readings to come.`);
  const { sureRows, ...calm } = app.view;
  if (waiting > 0 || !sureRows) {
    return [stands, button("wipe-rows", "Delete these rows too", () => act.go({ ...app.view, sureRows: true }),
      { disabled: waiting > 0 })];
  }
  const yes = async () => {
    await wipeRows(app);
    act.go(calm);
  };
  return [stands, made("div", { role: "group", "aria-label": "are you sure about the rows" },
    made("p", {}, "Without them later wash readings of these visits have to be merged into the log that has the visits."),
    made("div", { class: "row-of" }, button("wipe-rows-yes", "Delete the rows", yes, { class: "grave" }),
      button("wipe-rows-no", "Keep the rows", () => act.go(calm))))];
}
