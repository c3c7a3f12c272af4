/** The page's state in memory, and how taps change what is kept. It shows nothing itself. */

import { readClock, setClock } from "./clock.js";
import { deviceLetters, lettersNeeded } from "./codes.js";
import { isSettled } from "./force.js";
import { isThrough } from "./ready.js";
import { keptNot, together } from "./store.js";
import { changed, isRunning, Refused } from "./visit.js";

const HEARTBEAT = 15_000;
const THE_TIME = "the time";

/**
 * The state of a page.
 * @param {Object} book
 * @param {IDBDatabase} db
 * @returns {Object} visits, washes, rows and device as kept; view, messages, notice and what is unfolded are the
 *   page's own.
 */
export function newApp(book, db) {
  return {
    book, db, visits: [], washes: [], rows: [], device: null, clock: null, notice: null, messages: [], said: "",
    view: { name: "start" }, unfolded: new Set(), allLevels: new Set(), wasHidden: document.hidden,
    tab: String(crypto.getRandomValues(new Uint32Array(1))[0]), beaten: 0,
    jumped: false, waiting: 0, owed: false, show: () => {},
  };
}

/**
 * Read everything that is kept, and set the clock by it.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function open(app) {
  const found = await together(app.db, async (places) => {
    const kept = await everything(places);
    const device = heardAgain((await places.get("device", "device")) ?? newDevice(), kept.visits);
    await places.put("device", device);
    return { ...kept, device, clock: await places.get("device", "clock") };
  });
  take(app, found);
  const underWay = app.visits.some((visit) => !visit.finished);
  const { clock, notice } = setClock(reading(app), underWay ? found.clock : null);
  app.clock = clock;
  if (!app.visits.some(isRunning)) return;
  app.notice = notice;
  if (notice?.kind === "unknown") await everyRunning(app, { type: "doubt" });
  const isBehind = (visit) => visit.zones.some((zone) => !isSettled(app.book, zone));
  // closed while somebody typed
  if (app.visits.some((visit) => isRunning(visit) && isBehind(visit))) await everyRunning(app, { type: "settle" });
}

function newDevice() {
  const random = crypto.getRandomValues(new Uint32Array(lettersNeeded()));
  return { name: "device", letters: deviceLetters(random), count: 0, last: {}, muted: false, wash: {} };
}

/**
 * A mute ends with the visit for which it was tapped: no later alarm is silent without a tap.
 * @param {Object} device
 * @param {Object[]} visits On it.
 * @param {boolean} [isFinish] Whether one is finished now.
 * @returns {Object} The device, by then.
 */
export function heardAgain(device, visits, isFinish = false) {
  return device.muted && (isFinish || !visits.some(isRunning)) ? { ...device, muted: false } : device;
}

/**
 * All that is kept of visits.
 * @param {Object} places As a transaction of `together` has them.
 * @returns {Promise<{visits: Object[], washes: Object[], rows: Object[]}>}
 */
export async function everything(places) {
  return {
    visits: await places.all("visits"), washes: await places.all("washes"), rows: await places.all("rows"),
  };
}

function take(app, kept) {
  app.visits = kept.visits.toSorted((one, other) => one.made - other.made);
  app.washes = kept.washes;
  app.rows = kept.rows;
  app.device = kept.device ?? app.device;
}

/**
 * Read again what another window may have changed; take over its time where it was in front.
 * @param {Object} app
 * @returns {Promise<boolean>} Whether anything was different.
 */
export async function readAgain(app) {
  const before = JSON.stringify([app.visits, app.washes, app.rows, app.device]);
  const kept = await together(app.db, async (places) => ({
    ...(await everything(places)), device: await places.get("device", "device"),
    clock: await places.get("device", "clock"),
  }));
  take(app, kept);
  if (kept.clock && kept.clock.tab !== app.tab && kept.clock.wall > app.beaten) {
    app.clock = setClock(reading(app), kept.clock).clock;
  }
  return JSON.stringify([app.visits, app.washes, app.rows, app.device]) !== before;
}

function reading(app) {
  const taken = { wall: Date.now(), steady: performance.now(), hidden: app.wasHidden || document.hidden };
  app.wasHidden = document.hidden;
  return taken;
}

/**
 * The time by which visits are kept, read from both clocks now.
 * @param {Object} app
 * @returns {number} ms.
 */
export function now(app) {
  const { clock, notice } = readClock(app.clock, reading(app));
  app.clock = clock;
  if (!app.visits.some((visit) => !visit.finished)) app.clock.now = app.clock.wall;
  else if (notice && app.visits.some(isRunning)) {
    app.notice = notice;
    app.jumped = true;
  }
  return app.clock.now;
}

function putClock(app, places) {
  app.beaten = app.clock.wall;
  app.jumped = false;
  return places.put("device", { name: "clock", wall: app.clock.wall, now: app.clock.now, tab: app.tab });
}

/**
 * Keep the time now and then, so that a page closed in between knows it; at once where a clock jumped, for until
 * then what is kept belongs to another clock.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function beat(app) {
  const isDue = !document.hidden && Math.abs(app.clock.wall - app.beaten) >= HEARTBEAT;
  if (!(isDue || app.jumped) || !app.visits.some(isRunning)) return;
  await keep(app, async (places) => {
    app.jumped = false;
    // out of sight, another window's time stays
    if (!document.hidden || (await places.get("device", "clock"))?.tab === app.tab) await putClock(app, places);
    return true;
  }, THE_TIME);
  app.show(app, false);
}

/**
 * Keep something; where that fails, the page says at once what wasn't kept.
 * @template T
 * @param {Object} app
 * @param {function(Object): Promise<T>} work As `together` takes it.
 * @param {string} what What would be lost, in words.
 * @returns {Promise<?T>} Null where it wasn't kept, which the page shows; what came of it is for the caller to show.
 */
export async function keep(app, work, what) {
  app.waiting += 1;
  let result = null;
  try {
    result = await together(app.db, work);
  } catch (error) {
    const text = `Not saved: ${what}. ${sentence(keptNot(error))}`;
    // what can't be done now is told until the next tap; what is lost, until somebody has read it
    const isLost = !(error instanceof Refused);
    // that the time alone wasn't kept says nothing beside a tap that is lost
    const stays = (one) => one.isLost && one.text !== text && one.what !== THE_TIME;
    const before = app.messages.filter(stays);
    app.messages = what === THE_TIME && before.length > 0 ? before : [...before, { text, what, isLost }];
    app.owed = true;
    // it was refused because of what another window did, which is to be seen here
    if (!isLost) await readAgain(app).catch(() => {});
  }
  app.waiting -= 1;
  if (result === null) app.show(app, false);
  return result;
}

function sentence(text) {
  return `${text[0].toUpperCase()}${text.slice(1)}.`;
}

/**
 * Wait until all that was typed so far is kept, so that what is asked next is asked of all of it.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function allKept(app) {
  while (app.waiting > 0) {
    // transactions come one after another, so this one's end is that of all before it
    // oxlint-disable-next-line no-await-in-loop
    await together(app.db, (places) => places.get("device", "device")).catch(() => {});
  }
}

/**
 * Something happens to a visit: it's kept first, and shown then.
 * @param {Object} app
 * @param {string} code Of the visit.
 * @param {Object} event As `changed` takes it.
 * @param {string} what In words, for the case that it can't be kept, and for people who hear the page.
 * @param {boolean} [shown] Whether the page is to be shown anew; not while somebody types.
 * @returns {Promise<void>}
 */
export async function happens(app, code, event, what, shown = true) {
  const found = await keep(app, async (places) => {
    const visit = changed(await places.get("visits", code), event, app.book);
    await places.put("visits", visit);
    await putClock(app, places);
    const device = await places.get("device", "device");
    const sounds = device.muted ? heardAgain(device, await places.all("visits"), event.type === "finish") : device;
    if (sounds !== device) await places.put("device", sounds);
    return { visit, device: sounds };
  }, what);
  if (found === null) return;
  const after = found.visit;
  app.device = found.device;
  const before = app.visits.find((visit) => visit.code === code);
  app.visits = app.visits.map((visit) => (visit.code === code ? after : visit));
  app.said = shown ? what : "";
  app.messages = app.messages.filter((one) => one.isLost);
  app.show(app, shown || before === undefined || partsOf(app.book, before) !== partsOf(app.book, after));
}

/** What decides which parts the screen of a visit has: they follow what is typed, too. */
function partsOf(book, visit) {
  return [visit.finished, isThrough(book, visit)].join();
}

/**
 * The same happens to every visit of which a clock runs.
 * @param {Object} app
 * @param {Object} event
 * @returns {Promise<void>}
 */
export async function everyRunning(app, event) {
  for (const visit of app.visits.filter(isRunning)) {
    // one after another: each shows the page anew
    // oxlint-disable-next-line no-await-in-loop
    await happens(app, visit.code, event, "the minutes");
  }
}

/**
 * A device remembers something: the last stylist, whether it's mute, a wash reading that is being typed.
 * @param {Object} app
 * @param {function(Object): Object} change The device in, the device out.
 * @param {boolean} [shown]
 * @returns {Promise<void>}
 */
export async function remembers(app, change, shown = true) {
  const device = await keep(app, async (places) => {
    const after = change(await places.get("device", "device"));
    await places.put("device", after);
    return after;
  }, "a setting");
  if (device === null) return;
  app.device = device;
  app.show(app, shown);
}
