/** The first screen: what runs on this device, what waits to be exported, and what to do next. */

import { beginVisit } from "./begin.js";
import { clockFace } from "./clock.js";
import { button, made } from "./dom.js";
import { isExported, standing } from "./leave.js";
import { isReopened } from "./visit.js";
import { appliedAt, stateOf } from "./zone.js";

/**
 * The first screen.
 * @param {Object} app
 * @param {Object} act What a tap may do beyond one visit: `go` to another view.
 * @returns {HTMLElement[]}
 */
export function startView(app, act) {
  const { visits, washes, open, waiting } = standing(app);
  return [
    made("header", {}, made("h1", {}, "Visit recorder"),
      made("p", { class: "quiet" }, `Kept on this device alone. Its visit codes begin with ${app.device.letters}.`)),
    made("div", { class: "doors" },
      button("new-visit", "New visit", () => beginVisit(app), { class: "main" }),
      button("to-wash", "Wash readings", () => act.go({ name: "wash" })),
      button("to-export", "Export and wipe", () => act.go({ name: "leave" }))),
    made("section", { "aria-labelledby": "open-head" }, made("h2", { id: "open-head" }, "Visits under way"),
      open.length === 0 ? made("p", { class: "quiet" }, "None.")
        : made("ul", { class: "visits" }, ...open.toReversed().map((visit) => openVisit(app, act, visit)))),
    made("section", { "aria-labelledby": "done-head" }, made("h2", { id: "done-head" }, "Finished"),
      made("p", {}, finishedWords(visits.length, washes.length, waiting)), ...correctedLine(open),
      visits.length === 0 ? null
        : made("ul", { class: "visits" }, ...visits.toReversed().map((visit) => doneVisit(act, visit)))),
  ];
}

/**
 * How many of something, in words.
 * @param {number} number
 * @param {string} thing One of them.
 * @returns {string}
 */
export function counted(number, thing) {
  return `${number} ${thing}${number === 1 ? "" : "s"}`;
}

function finishedWords(visits, washes, waiting) {
  if (visits + washes === 0) return "Nothing to export yet.";
  return `${counted(visits, "visit")} and ${counted(washes, "wash reading")}, ${waitingWords(waiting)}.`;
}

/**
 * How many records wait for their export.
 * @param {number} waiting
 * @returns {string}
 */
export function waitingWords(waiting) {
  return waiting === 0 ? "all exported" : `${waiting} not exported yet`;
}

/**
 * Which visits were changed after they were finished, and so aren't exported as they are now.
 * @param {Object[]} open Visits that may not be exported.
 * @returns {HTMLElement[]} None where there is none.
 */
export function correctedLine(open) {
  const who = open.filter(isReopened).map((visit) => visit.values.client ?? visit.code);
  if (who.length === 0) return [];
  const [versions, wait, goes] = who.length === 1 ? ["A corrected version", "waits", "it goes"]
    : ["Corrected versions", "wait", "they go"];
  return [made("p", { class: "reopened" }, `${versions} of ${who.join(", ")} ${wait} to be finished; `
    + `then ${goes} into the next export.`)];
}

function openVisit(app, act, visit) {
  const faces = visit.zones.map((zone) => {
    const face = made("span", { class: "face" });
    app.faces.push((now) => {
      face.textContent = `${zone.values.zone ?? "zone"} ${zoneWord(zone, now)}`;
    });
    return face;
  });
  const open = button(`open-${visit.code}`, "", () => act.go({ name: "visit", code: visit.code }), { class: "row" });
  open.append(made("strong", {}, visit.values.client ?? "new visit"), made("small", {}, visit.code),
    made("span", { class: "faces" }, ...faces,
      isReopened(visit) ? made("span", { class: "face" }, "changed: finish it once more") : null));
  return made("li", {}, open);
}

function zoneWord(zone, now) {
  const state = stateOf(zone);
  if (state === "running") return zone.doubt ? "how many minutes?" : clockFace(now - appliedAt(zone));
  return state === "plan" ? "not started" : "rinsed";
}

function doneVisit(act, visit) {
  const open = button(`open-${visit.code}`, "", () => act.go({ name: "visit", code: visit.code }), { class: "row" });
  const zones = visit.zones.map((zone) => zone.values.zone).join(", ");
  const state = isExported(visit) ? "exported" : "not exported yet";
  open.append(made("strong", {}, visit.values.client), made("small", {}, visit.code),
    made("span", {}, `${zones}; ${state}`));
  return made("li", {}, open);
}
