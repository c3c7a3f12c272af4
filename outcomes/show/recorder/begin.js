/** How a visit begins, and what is remembered of one for the next. */

import { keep, now, remembers } from "./app.js";
import { localDay, nextCode } from "./codes.js";
import { newVisit } from "./visit.js";

/** What a device remembers from visit to visit, so that it isn't typed again. */
const REMEMBERED = { visit: ["stylist", "salon"], plan: ["look_every"] };

/**
 * Begin a visit.
 * @param {Object} app
 * @returns {Promise<void>}
 */
export async function beginVisit(app) {
  const at = now(app);
  const today = localDay(new Date(Date.now()));
  const visit = await keep(app, async (places) => {
    const device = await places.get("device", "device");
    const here = [...(await places.all("visits")), ...(await places.all("rows"))];
    const { code, count } = nextCode(device, today, here.map((one) => one.code));
    const last = (names) => Object.fromEntries(
      names.filter((name) => name in device.last).map((name) => [name, device.last[name]]));
    const begun = newVisit(code, at, { date: today, ...last(REMEMBERED.visit) }, last(REMEMBERED.plan));
    await places.put("device", { ...device, count });
    await places.add("visits", begun); // never in the place of another
    return begun;
  }, "a new visit");
  if (visit === null) return;
  app.visits = [...app.visits, visit];
  app.view = { name: "visit", code: visit.code };
  app.show(app);
}

/**
 * What a visit leaves to be remembered when one of its clocks starts.
 * @param {Object} app
 * @param {Object} visit
 * @param {Object} zone
 * @returns {Promise<void>}
 */
export async function remembersPlan(app, visit, zone) {
  const own = { ...zone.values, ...visit.values };
  const names = [...REMEMBERED.visit, ...REMEMBERED.plan].filter((name) => name in own);
  const last = Object.fromEntries(names.map((name) => [name, own[name]]));
  await remembers(app, (device) => ({ ...device, last: { ...device.last, ...last } }));
}
