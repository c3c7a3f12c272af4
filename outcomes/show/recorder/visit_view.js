/** One visit: who, its zones side by side, and what is written down at its end. */

import { allKept, happens } from "./app.js";
import { button, made } from "./dom.js";
import { fieldOf } from "./fields.js";
import { goTo, lackingLine, visitForm } from "./forms.js";
import { finishLacks, isThrough } from "./ready.js";
import { isReopened } from "./visit.js";
import { zoneCard } from "./zone_cards.js";
import { stateOf } from "./zone.js";

/**
 * The screen of a visit.
 * @param {Object} app
 * @param {Object} act
 * @param {Object} visit
 * @returns {HTMLElement[]}
 */
export function visitView(app, act, visit) {
  const begun = visit.zones.some((zone) => stateOf(zone) !== "plan");
  const left = visit.zones.length < fieldOf(app.book, "visits", "zone").choices.length;
  const zones = made("div", { class: "zones" }, ...visit.zones.map((zone) => zoneCard(app, visit, zone)));
  const more = made("div", { class: "row-of" }, left && !visit.finished
    ? button("add-zone", "Another zone of this visit",
      () => happens(app, visit.code, { type: "addZone" }, "zone added")) : null);
  const words = made("section", { class: "who", "aria-labelledby": "who-head" },
    made("h2", { id: "who-head" }, "Visit"),
    made("p", { class: "quiet" }, "Codes stand for people: don't write names."),
    ...visitForm(app, visit, null, "visit"));
  const cautions = cautionNote(app);
  return [
    made("header", { class: "top" }, button("home", "All visits", () => act.go({ name: "start" })),
      made("h1", {}, visit.values.client ?? "New visit", made("small", {}, visit.code))),
    isReopened(visit) ? made("p", { class: "reopened" }, reopenedWords(visit)) : null,
    ...(begun ? [zones, more, isThrough(app.book, visit) ? ending(app, act, visit) : null, cautions, words]
      : [cautions, words, zones, more]),
    begun ? null : made("div", { class: "row-of last" },
      button("forget", "Throw this visit away", () => act.forget(visit.code))),
  ].filter((part) => part !== null);
}

function reopenedWords(visit) {
  const before = visit.exported === null ? "" : " What was exported before stays as it was until then.";
  return `Changed since it was finished. Finish the visit once more, and it goes into the next export.${before}`;
}

function cautionNote(app) {
  return made("aside", { class: "cautions", "aria-label": "cautions" },
    made("ul", {}, ...app.book.cautions.map((caution) => made("li", {}, caution))));
}

/** Minutes in the chair by the clock; blank where they can't be meant. */
function spentSince(app, visit, at) {
  const { low, high } = fieldOf(app.book, "visits", "chair_minutes");
  const spent = Math.round((at - visit.made) / 60_000);
  return spent < low || spent > high ? "" : String(spent);
}

function ending(app, act, visit) {
  const own = () => app.visits.find((one) => one.code === visit.code) ?? visit;
  const lacks = () => finishLacks(app.book, own());
  // until somebody types they go on: toner and drying come after the result
  app.faces.push((at) => {
    const box = document.getElementById("finish-chair_minutes");
    const isLeft = box && box !== document.activeElement && (own().values.chair_minutes ?? null) === null;
    if (isLeft) box.value = spentSince(app, visit, at);
  });
  const finish = async () => {
    await allKept(app);
    const [first] = lacks();
    if (first) return goTo(app, first.name in visit.values ? "visit" : "finish", first);
    const kept = own().values.chair_minutes ?? spentSince(app, visit, app.clock.now);
    const chairEvent = { type: "write", zone: null, name: "chair_minutes", text: kept };
    await happens(app, visit.code, chairEvent, "chair minutes", false);
    await happens(app, visit.code, { type: "finish" }, "visit finished");
    return act.go({ name: "start" });
  };
  return made("section", { class: "ending", "aria-labelledby": "ending-head" },
    made("h2", { id: "ending-head" }, "End of the visit"),
    ...visitForm(app, visit, null, "finish", { chair_minutes: { proposed: spentSince(app, visit, app.clock.now) } }),
    lackingLine(app, "lacking-finish", lacks),
    isReopened(visit) ? made("p", { class: "reopened" }, reopenedWords(visit)) : null,
    made("div", { class: "row-of" }, visit.finished
      ? made("p", { class: "quiet" },
        "Finished. A change opens it again: finish it once more then, and it goes into the next export.")
      : button("finish", "Finish the visit", finish, { class: "main", "aria-describedby": "lacking-finish" })));
}
