/**
 * A visit and what may happen to it: a visit and an event in, the visit after it out. Nothing here knows of the
 * page or of the place where visits are kept.
 */

import { appliedAt, applications, looksSince, minutesAt, stateOf, toTenth } from "./zone.js";
import { fieldOf } from "./fields.js";
import { settled } from "./force.js";

/** What can't happen to a visit as it stands; the message says so in a sentence. */
export class Refused extends Error {}

/**
 * @typedef {Object} Visit
 * @property {string} code Made by the device.
 * @property {number} made When it was begun, ms.
 * @property {number} revision Counts every change.
 * @property {?number} exported The revision that was exported last.
 * @property {boolean} finished Whether it may be exported.
 * @property {boolean} [reopened] Whether it was changed after it was finished, and waits to be finished once more.
 * @property {Object<string, string>} values What was typed, by column: of the visit as a whole.
 * @property {Object[]} zones Each with its own `id`, `values`, `steps`, `heard` (alarms, ms), `doubt` (whether its
 *   minutes aren't known) and `force` (figures by which it runs, as typed; none before its clock starts).
 */

/**
 * A visit that was just begun.
 * @param {string} code
 * @param {number} at ms.
 * @param {Object<string, string>} values Of the visit.
 * @param {Object<string, string>} plan Of its first zone.
 * @returns {Visit}
 */
export function newVisit(code, at, values, plan) {
  return { code, made: at, revision: 1, exported: null, finished: false, values, zones: [newZone(1, plan)] };
}

function newZone(id, values) {
  return { id, values, steps: [], heard: { look: 0, limit: 0 }, doubt: false };
}

/**
 * A visit after an event.
 * @param {Visit} visit
 * @param {Object} event `type` is a name in `EVENTS`; the rest is what that takes.
 * @param {Object} book
 * @returns {Visit} Another object; the one given stays.
 * @throws {Refused} It can't happen to this visit.
 */
export function changed(visit, event, book) {
  const after = structuredClone(visit);
  EVENTS[event.type](after, event, book);
  after.revision = visit.revision + 1;
  after.finished = event.type === "finish"; // whoever changes a finished visit looks it through once more
  after.reopened = !after.finished && (visit.finished || isReopened(visit));
  return after;
}

/**
 * Whether a visit was changed after it was finished: until it's finished once more it isn't exported.
 * @param {Visit} visit
 * @returns {boolean}
 */
export function isReopened(visit) {
  return !visit.finished && (visit.reopened === true || visit.exported !== null);
}

/**
 * Whether a clock of this visit runs.
 * @param {Visit} visit
 * @returns {boolean}
 */
export function isRunning(visit) {
  return visit.zones.some((zone) => stateOf(zone) === "running");
}

/**
 * A zone of a visit by its id.
 * @param {Visit} visit
 * @param {number} id
 * @returns {Object}
 * @throws {Refused} It's gone, as when another window took it away.
 */
export function zoneOf(visit, id) {
  const found = visit.zones.find((zone) => zone.id === id);
  if (!found) throw new Refused("this zone was taken away");
  return found;
}

const EVENTS = {
  /**
   * What stands in a field; blank where an empty one says something, as against what was proposed for it; whole
   * where it was chosen or is typed to its end.
   */
  write(visit, { zone = null, name, text, blank = false, whole = false }, book) {
    const { values } = zone === null ? visit : zoneOf(visit, zone);
    if (text === "" && !blank) delete values[name];
    else values[name] = text;
    if (whole) settle(visit, book);
  },
  /** Whoever typed is through. */
  settle(visit, _event, book) {
    settle(visit, book);
  },
  addZone(visit, _event, book) {
    const plan = [...book.forms.plan.first, ...book.forms.plan.more, "read_on"];
    const like = visit.zones.at(-1)?.values ?? {};
    const kept = plan.filter((name) => name in like && !["zone", "start_level"].includes(name));
    const id = Math.max(0, ...visit.zones.map((zone) => zone.id)) + 1;
    visit.zones.push(newZone(id, Object.fromEntries(kept.map((name) => [name, like[name]]))));
  },
  dropZone(visit, { zone }) {
    if (zoneOf(visit, zone).steps.length > 0) throw new Refused("this zone has begun; take its steps back first");
    visit.zones = visit.zones.filter((one) => one.id !== zone);
  },
  /** The clock of a zone starts, once: whoever taps later, here or in another window, changes no minutes. */
  start(visit, { zone, at }, book) {
    const one = zoneOf(visit, zone);
    if (stateOf(one) === "rinsed") throw new Refused("this zone is rinsed already");
    if (stateOf(one) === "running") throw new Refused("this zone's clock runs already; its minutes stay as they are");
    apply(one, at, book);
  },
  /** Lightener is applied again. */
  again(visit, { zone, at }, book) {
    const one = zoneOf(visit, zone);
    const most = fieldOf(book, "visits", "applications").high;
    if (stateOf(one) !== "running") throw new Refused("no clock runs for this zone");
    if (applications(one) >= most) throw new Refused(`a log counts at most ${most} applications`);
    // two taps within a tenth of a minute are one application
    const isTwice = one.steps.at(-1).kind === "applied" && toTenth(minutesAt(one, at)) <= 0;
    if (isTwice) throw new Refused("it was applied a moment ago already, and that is counted");
    apply(one, at, book);
  },
  look(visit, { zone, at, level }, book) {
    const one = zoneOf(visit, zone);
    if (stateOf(one) !== "running") throw new Refused("no clock runs for this zone");
    if (one.doubt) throw new Refused("say first how many minutes have passed");
    const { low, high } = fieldOf(book, "checks", "minutes");
    const minutes = toTenth(minutesAt(one, at));
    if (minutes < low) throw new Refused(`looks count from minute ${low} on`);
    if (minutes > high) throw new Refused(`looks count up to minute ${high}; correct the minutes or rinse`);
    const last = looksSince(one).at(-1);
    // a second tap within a tenth of a minute corrects the first
    if (last && toTenth(minutesAt(one, last.at)) === minutes) one.steps.pop();
    const readOn = one.values.read_on ? { readOn: one.values.read_on } : {};
    one.steps.push({ kind: "look", at: notBefore(one, at), level, ...readOn });
  },
  rinse(visit, { zone, at }) {
    const one = zoneOf(visit, zone);
    if (stateOf(one) !== "running") throw new Refused("no clock runs for this zone");
    one.steps.push({ kind: "rinsed", at: notBefore(one, at) });
  },
  takeBack(visit, { zone }) {
    const one = zoneOf(visit, zone);
    if (one.steps.length === 0) throw new Refused("nothing to take back");
    const step = one.steps.pop();
    if (step.kind === "applied") one.heard = { look: 0, limit: 0 };
  },
  /** The last look of a zone that is rinsed already, where its minutes don't fit. */
  takeLook(visit, { zone }) {
    const { steps } = zoneOf(visit, zone);
    const at = steps.findLastIndex((step) => step.kind === "look");
    if (at < 0) throw new Refused("nothing to take back");
    steps.splice(at, 1);
  },
  heard(visit, { zone, what, at }) {
    const one = zoneOf(visit, zone);
    if (stateOf(one) !== "running") throw new Refused("no clock runs for this zone");
    one.heard[what] = at;
    // whoever heard of the limit needs no call for a look at the same moment
    if (what === "limit") one.heard.look = at;
  },
  /** What happened up to a moment happened so many ms later than was thought (earlier, below 0). */
  shift(visit, { until, by }, book) {
    for (const zone of visit.zones.filter((one) => stateOf(one) === "running")) {
      for (const step of zone.steps.filter((one) => one.at <= until)) step.at += by;
      if (!fits(zone, book)) throw new Refused("looks taken since then don't fit that; correct the minutes of the zone");
    }
  },
  /** How many minutes have passed since the last application, as somebody says who knows. */
  minutes(visit, { zone, at, minutes }) {
    const one = zoneOf(visit, zone);
    if (stateOf(one) !== "running") throw new Refused("no clock runs for this zone");
    const last = one.steps.at(-1);
    const least = last.kind === "look" ? minutesAt(one, last.at) : 0;
    if (minutes < toTenth(least)) {
      throw new Refused(`the last look was at ${toTenth(least)} minutes; take it back first, or write more`);
    }
    const by = at - minutes * 60_000 - appliedAt(one);
    for (const step of one.steps) step.at += by;
    one.heard = { look: Math.min(one.heard.look + by, at), limit: Math.min(one.heard.limit + by, at) };
    one.doubt = false;
  },
  doubt(visit) {
    for (const zone of visit.zones.filter((one) => stateOf(one) === "running")) zone.doubt = true;
  },
  finish(visit, _event, book) {
    if (visit.zones.some((zone) => stateOf(zone) !== "rinsed")) throw new Refused("a zone isn't rinsed yet");
    settle(visit, book);
  },
};

function apply(zone, at, book) {
  zone.steps.push({ kind: "applied", at: notBefore(zone, at) });
  zone.force = settled(book, zone);
  zone.heard = { look: 0, limit: 0 };
  zone.doubt = false;
}

function settle(visit, book) {
  for (const zone of visit.zones.filter((one) => stateOf(one) !== "plan")) zone.force = settled(book, zone);
}

/** Whether steps still follow each other, and looks lie within the minutes that a log knows. */
function fits(zone, book) {
  const { low, high } = fieldOf(book, "checks", "minutes");
  const minutes = looksSince(zone).map((look) => toTenth(minutesAt(zone, look.at)));
  const inOrder = zone.steps.every((step, number) => number === 0 || step.at >= zone.steps[number - 1].at);
  return inOrder && minutes.every((one) => one >= low && one <= high);
}

function notBefore(zone, at) {
  return Math.max(at, zone.steps.at(-1)?.at ?? at);
}
