/** Readings of an earlier visit's colour, some washes later. */

import { allKept, keep, remembers } from "./app.js";
import { fieldControl } from "./controls.js";
import { button, foldedAway, made } from "./dom.js";
import { fieldOf, spoken } from "./fields.js";
import { goTo, lackingLine } from "./forms.js";
import { washLacks } from "./ready.js";
import { exportable, visitOfReading, washKey } from "./rows.js";

const OFFERED = 12; // visits to choose from; the code of any other can be typed

/**
 * The screen of wash readings. What is typed is kept on the way, as everything is.
 * @param {Object} app
 * @param {Object} act
 * @returns {HTMLElement[]}
 */
export function washView(app, act) {
  const control = (name) => fieldControl({
    field: fieldOf(app.book, "washes", name), book: app.book, scope: "wash", typed: app.device.wash[name],
    save: (text, shown) => write(app, name, text, shown),
  });
  const { first, more } = app.book.forms.wash;
  const lacks = () => washLacks(app.book, app.device.wash, visitOfReading(app.book, app, app.device.wash));
  return [
    made("header", { class: "top" }, button("home", "All visits", () => act.go({ name: "start" })),
      made("h1", {}, "Wash readings")),
    offered(app),
    made("div", { class: "fields" }, ...first.map(control)),
    foldedAway("wash-fold", "More: colorimeter L, a, b", app.unfolded,
      made("div", { class: "fields" }, ...more.map(control))),
    lackingLine(app, "lacking-wash", lacks),
    made("div", { class: "row-of" }, button("save-wash", "Keep this reading", async () => {
      await allKept(app);
      const [lack] = lacks();
      return lack ? goTo(app, "wash", lack) : saved(app);
    }, { class: "main", "aria-describedby": "lacking-wash" })),
    readings(app),
  ].filter((part) => part !== null);
}

function write(app, name, text, shown) {
  return remembers(app, (device) => {
    const { [name]: _, ...rest } = device.wash;
    return { ...device, wash: text === "" ? rest : { ...rest, [name]: text } };
  }, shown);
}

/** Finished visits on this device, the last first, then those of which rows are left. */
function offered(app) {
  const here = exportable(app.book, app).visits.toReversed()
    .map(({ code, values }) => ({ code, client: values.client, date: values.date }));
  const left = app.rows.map(({ code, rows }) => ({ code, client: rows[0].client, date: rows[0].date }))
    .toSorted((one, other) => (one.date < other.date ? 1 : -1));
  const visits = [...here, ...left].slice(0, OFFERED);
  if (visits.length === 0) {
    return made("p", { class: "quiet" }, "No finished visit is kept here; type the code of the one that is fading.");
  }
  const one = (visit) => button(`wash-of-${visit.code}`,
    `${visit.client}, ${visit.date}`, () => write(app, "visit", visit.code, true),
    { "aria-pressed": String(app.device.wash.visit === visit.code), class: "quick" });
  return made("div", { class: "field", role: "group", "aria-label": "visits on this device" },
    made("div", { class: "choices" }, ...visits.map(one)));
}

async function saved(app) {
  const values = { ...app.device.wash };
  const key = washKey(app.book, values);
  const kept = await keep(app, async (places) => {
    const before = await places.get("washes", key);
    const revision = (before?.revision ?? 0) + 1;
    await places.put("washes", { key, values, revision, exported: before?.exported ?? null });
    const device = await places.get("device", "device");
    // most often another zone of the same visit is read next
    const after = { ...device, wash: { visit: values.visit, washes: values.washes } };
    await places.put("device", after);
    return { washes: await places.all("washes"), device: after };
  }, "this wash reading");
  if (kept === null) return;
  app.washes = kept.washes;
  app.device = kept.device;
  app.said = `Kept: ${words(values)}.`;
  app.show(app);
}

async function taken(app, reading) {
  const kept = await keep(app, async (places) => {
    await places.drop("washes", reading.key);
    return places.all("washes");
  }, "that a reading is taken back");
  if (kept === null) return;
  app.washes = kept;
  app.show(app);
}

function words(values) {
  const seen = [
    values.tone_left && `${values.tone_left} % of tone left`, values.level && `level ${values.level}`,
    values.L && `L ${values.L}`, values.shampoo && spoken(values.shampoo),
  ];
  return `${values.visit}, ${values.zone}, after ${values.washes} washes: ${seen.filter(Boolean).join(", ")}`;
}

function readings(app) {
  if (app.washes.length === 0) return null;
  const one = (reading, number) => made("li", { class: "reading" }, made("span", {}, words(reading.values)),
    button(`unwash-${number}`, "Take back", () => taken(app, reading),
      { "aria-label": `take back: ${words(reading.values)}` }));
  return made("section", { "aria-labelledby": "kept-head" }, made("h2", { id: "kept-head" }, "Readings on this device"),
    made("ul", { class: "visits" }, ...app.washes.map(one)));
}
