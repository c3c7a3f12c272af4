/** The card of one zone: its plan, then its clock with a tap for each look, then its result. */

import { allKept, happens, now } from "./app.js";
import { zoneDues } from "./alarms.js";
import { remembersPlan } from "./begin.js";
import { clockFace } from "./clock.js";
import { button, foldedAway, inId, made } from "./dom.js";
import { fieldOf, readField, spoken } from "./fields.js";
import { inForce } from "./force.js";
import { goTo, lackingLine, visitForm } from "./forms.js";
import { planLacks, rinseMinutes, testsFirst, valueIn, visitLacks, zoneLacks } from "./ready.js";
import { looksTold } from "./rows.js";
import { unlockSound } from "./sound.js";
import { appliedAt, applications, looksSince, minutesAt, stateOf, toTenth } from "./zone.js";

const NEAR_LOOKS = 8; // buttons in the row about the level that is expected

/**
 * The card of a zone, as it stands.
 * @param {Object} app
 * @param {Object} visit
 * @param {Object} zone
 * @returns {HTMLElement}
 */
export function zoneCard(app, visit, zone) {
  const state = stateOf(zone);
  const inside = { plan: planned, running, rinsed }[state](app, visit, zone);
  const name = zone.values.zone ?? "Zone";
  const plan = made("small", {});
  if (state !== "plan") follows(app, plan, () => planWords(app.book, asKept(app, visit, zone)));
  const head = made("h2", { id: `zone-${zone.id}`, tabindex: "-1" }, name, state === "plan" ? null : plan);
  return made("article", { class: `zone ${state}`, "aria-labelledby": `zone-${zone.id}`, "data-zone": zone.id },
    head, ...inside);
}

/** The zone as it is now: the page isn't drawn anew while somebody types. */
function asKept(app, visit, zone) {
  const own = app.visits.find((one) => one.code === visit.code) ?? visit;
  return own.zones.find((one) => one.id === zone.id) ?? zone;
}

/** Text that follows what is typed. */
function follows(app, element, words) {
  const tell = () => {
    const told = words();
    if (element.textContent !== told) element.textContent = told;
  };
  tell();
  app.hints.push(tell);
}

function planWords(book, zone) {
  const { values } = zone;
  const product = values.product ? `, ${values.product}` : "";
  return `${values.start_level} to ${values.goal_level}, ${spoken(values.hair)} hair, `
    + `${inForce(book, zone, "peroxide_pct")} %, heat ${values.heat}${product}`;
}

function planForm(app, visit, zone) {
  const taken = new Set(visit.zones.filter((one) => one.id !== zone.id).map((one) => one.values.zone));
  const start = valueIn(app.book, zone.values, "start_level");
  return visitForm(app, visit, zone, "plan", {
    zone: { barred: (value) => taken.has(value) },
    goal_level: { barred: (value) => start !== null && value <= start },
  });
}

function planFold(app, visit, zone) {
  return foldedAway(`plan-${zone.id}-again`, "The plan isn't right", app.unfolded, ...planForm(app, visit, zone));
}

function planned(app, visit, zone) {
  const lacks = () => {
    const own = app.visits.find((one) => one.code === visit.code) ?? visit;
    const ours = own.zones.find((one) => one.id === zone.id) ?? zone;
    return [...visitLacks(app.book, own), ...planLacks(app.book, own, ours)];
  };
  const begin = async () => {
    const at = now(app);
    unlockSound();
    await allKept(app);
    const [first] = lacks();
    if (first) return goTo(app, app.book.forms.plan.first.concat(app.book.forms.plan.more).includes(first.name)
      ? `plan-${zone.id}` : "visit", first);
    const own = app.visits.find((one) => one.code === visit.code);
    app.goal = `zone-${zone.id}`;
    const kept = own.zones.find((one) => one.id === zone.id);
    if (!kept || stateOf(kept) !== "plan") return null; // the second of two taps: the first one's clock is shown
    await happens(app, visit.code, { type: "start", zone: zone.id, at }, `${kept.values.zone}: clock started`);
    return remembersPlan(app, own, kept);
  };
  const first = made("p", { id: `first-${zone.id}`, class: "fault", role: "status" });
  follows(app, first, () => testsFirst(app.visits.find((one) => one.code === visit.code) ?? visit));
  return [...planForm(app, visit, zone),
    lackingLine(app, `lacking-${zone.id}`, lacks), first,
    made("div", { class: "row-of" },
      button(`start-${zone.id}`, "Lightener is on: start the clock", begin,
        { class: "main", "aria-describedby": `lacking-${zone.id} first-${zone.id}` }),
      visit.zones.length > 1 ? button(`drop-${zone.id}`, "Take this zone away", () => happens(
        app, visit.code, { type: "dropZone", zone: zone.id }, "zone taken away")) : null)];
}

function running(app, visit, zone) {
  const event = (type, what, more = {}) => () => happens(
    app, visit.code, { type, zone: zone.id, at: now(app), ...more }, `${zone.values.zone}: ${what}`);
  const rinse = button(`rinse-${zone.id}`, "Rinse now", () => {
    const at = now(app);
    app.goal = `zone-${zone.id}`;
    return event("rinse", zone.doubt ? "rinsed" : `rinsed at ${toTenth(minutesAt(zone, at))} minutes`, { at })();
  }, { class: "main" });
  if (zone.doubt) return [minutesForm(app, visit, zone, true), made("div", { class: "row-of" }, rinse)];
  const most = fieldOf(app.book, "visits", "applications").high;
  const isStart = zone.steps.length === 1;
  return [
    ...faces(app, visit, zone),
    lookButtons(app, zone, (level) => {
      const at = now(app);
      return event("look", `looks like ${level} at ${toTenth(minutesAt(zone, at))} minutes`, { level, at })();
    }),
    seen(zone),
    made("div", { class: "row-of" }, rinse,
      isStart ? null : button(`back-${zone.id}`, `Take back: ${stepWords(zone)}`, event("takeBack", "taken back")),
      applications(zone) < most
        ? button(`again-${zone.id}`, "Lightener applied again", event("again", "applied again")) : null),
    foldedAway(`correct-${zone.id}`, "The minutes aren't right", app.unfolded, minutesForm(app, visit, zone, false),
      // one slip of a finger mustn't lose when it began
      isStart ? button(`back-${zone.id}`, "Not started: back to the plan", event("takeBack", "back to the plan")) : null),
    planFold(app, visit, zone),
  ];
}

function faces(app, visit, zone) {
  const face = made("span", {});
  const next = made("p", { class: "next" });
  app.faces.push((at) => {
    face.textContent = clockFace(at - appliedAt(zone));
    const own = asKept(app, visit, zone);
    const longest = inForce(app.book, own, "planned_minutes");
    const { look, end } = zoneDues(app.book, own);
    const looks = look === null ? "" : look > at ? `Look in ${clockFace(look - at + 999)}. ` : "Look due. ";
    if (end === null) next.textContent = looks;
    else next.textContent = end > at ? `${looks}Time limit ${longest} min, in ${clockFace(end - at + 999)}.`
      : `Time limit reached (${longest} min).`;
  });
  return [made("p", { class: "clock" }, made("span", { class: "heard" }, "time on the hair: "), face), next];
}

function lookButtons(app, zone, look) {
  const id = `looks-${zone.id}`;
  const levels = fieldOf(app.book, "checks", "level").choices;
  const last = looksSince(zone).at(-1)?.level ?? valueIn(app.book, zone.values, "start_level");
  const from = Math.min(Math.max(levels.indexOf(last) - 1, 0), levels.length - NEAR_LOOKS);
  const all = app.allLevels.has(id);
  const shown = all ? levels : levels.slice(from, from + NEAR_LOOKS);
  const goal = valueIn(app.book, zone.values, "goal_level");
  const toggle = () => {
    if (all) app.allLevels.delete(id);
    else app.allLevels.add(id);
    app.show(app);
  };
  const one = (level) => button(`look-${zone.id}-${inId(level)}`, String(level), () => {
    app.allLevels.delete(id);
    look(level);
  }, level === goal ? { class: "look goal", "aria-label": `looks like ${level}, the goal` }
    : { class: "look", "aria-label": `looks like ${level}` });
  return made("div", { class: "looks", role: "group", "aria-labelledby": `${id}-head` },
    made("h3", { id: `${id}-head` }, "It looks like"),
    made("div", { class: "choices" }, ...shown.map(one),
      button(`${id}-all`, all ? "fewer levels" : "other levels", toggle, { "aria-expanded": String(all) })));
}

function stepWords(zone) {
  const step = zone.steps.at(-1);
  if (step.kind === "look") return `${step.level} at ${toTenth(minutesAt(zone, step.at))} min`;
  return "applied again";
}

function seen(zone) {
  const looks = looksSince(zone);
  const before = zone.steps.filter((step) => step.kind === "look").length - looks.length;
  const note = before > 0 ? made("p", { class: "quiet" }, `Applied ${applications(zone)} times; minutes count from the `
    + `last, and looks before it don't go into the log (${before}).`) : null;
  const list = looks.length === 0 ? null : made("ol", { class: "seen", "aria-label": "looks so far" }, ...looks.map(
    (look) => made("li", {}, made("strong", {}, String(look.level)), ` at ${toTenth(minutesAt(zone, look.at))} min`)));
  return made("div", { class: "so-far" }, note, list);
}

function minutesForm(app, visit, zone, asked) {
  const id = `minutes-now-${zone.id}`;
  const of = fieldOf(app.book, "checks", "minutes");
  const field = { ...of, low: 0, expected: `0 to ${of.high} minutes, as 25 or 25.5` };
  const fault = made("span", { id: `${id}-fault`, class: "fault", role: "alert" });
  const tell = (words) => {
    fault.textContent = words;
    input.setAttribute("aria-invalid", words ? "true" : "false");
  };
  const input = made("input", {
    id, type: "text", inputmode: "decimal", autocomplete: "off", class: "number", "aria-describedby": fault.id,
    oninput: () => tell(""),
  });
  const take = () => {
    const { value, fault: wrong } = readField(field, input.value, app.book);
    tell(value === null ? wrong || `needed: ${field.expected}` : "");
    if (value === null) return input.focus();
    return happens(app, visit.code, { type: "minutes", zone: zone.id, at: now(app), minutes: value },
      `${zone.values.zone}: ${value} minutes so far`);
  };
  const why = "The device's clock went back while this page was closed, so nobody knows how long it was.";
  return made("div", { class: "field" }, asked ? made("p", {}, why) : null,
    made("label", { for: id }, "Minutes since lightener was applied last"),
    made("div", { class: "typed" }, input, button(`${id}-take`, "Take these minutes", take)), fault);
}

function rinsed(app, visit, zone) {
  const minutes = rinseMinutes(app.book, zone);
  const special = { minutes: { proposed: minutes === null ? "" : String(minutes) } };
  if (looksSince(zone).length > 0) special.looks = null; // nobody counts what was tapped
  const lacks = () => {
    const own = app.visits.find((one) => one.code === visit.code) ?? visit;
    return zoneLacks(app.book, own, own.zones.find((one) => one.id === zone.id) ?? zone);
  };
  const again = (type, what) => () => happens(app, visit.code, { type, zone: zone.id, at: now(app) }, what);
  const counted = made("p", { class: "quiet looks-told" });
  follows(app, counted, () => looksTold(app.book, asKept(app, visit, zone)));
  return [seen(zone), counted, ...visitForm(app, visit, zone, "result", special),
    lackingLine(app, `lacking-${zone.id}`, lacks),
    made("div", { class: "row-of" },
      button(`back-${zone.id}`, "Not rinsed: the clock goes on", again("takeBack", "the clock goes on")),
      looksSince(zone).length > 0
        ? button(`unlook-${zone.id}`, "Take back the last look", again("takeLook", "last look taken back")) : null),
    planFold(app, visit, zone)];
}
