/** Which alarms ring, over all visits on this device, and in which words. */

import { isRunning } from "./visit.js";
import { dues, stateOf } from "./zone.js";
import { inForce } from "./force.js";
import { clockFace } from "./clock.js";

/** @typedef {{code: string, client: string, zone: number, zoneName: string, what: string, since: number}} Alarm */

/**
 * Alarms that ring, those of a time limit first.
 * @param {Object} book
 * @param {Object[]} visits
 * @param {number} now ms.
 * @returns {Alarm[]} what is "look" or "limit".
 */
export function ringing(book, visits, now) {
  const found = visits.filter(isRunning).flatMap((visit) => visit.zones
    .filter((zone) => stateOf(zone) === "running" && !zone.doubt)
    .flatMap((zone) => zoneAlarms(book, visit, zone, now)));
  return found.toSorted((one, other) => (one.what === other.what ? 0 : one.what === "limit" ? -1 : 1));
}

function zoneAlarms(book, visit, zone, now) {
  const { look, limit, end } = zoneDues(book, zone);
  const rings = [];
  if (limit !== null && now >= limit) rings.push(["limit", limit]);
  if (look !== null && now >= look && (end === null || now < end)) rings.push(["look", look]);
  return rings.map(([what, due]) => ({
    code: visit.code, client: visit.values.client ?? "", zone: zone.id, zoneName: zone.values.zone, what,
    since: now - due,
  }));
}

/**
 * When the alarms of a running zone are due, by its plan.
 * @param {Object} book
 * @param {Object} zone
 * @returns {{look: ?number, limit: ?number, end: ?number}} As `dues` has them.
 */
export function zoneDues(book, zone) {
  const minutes = (name) => inForce(book, zone, name);
  return dues(zone, minutes("look_every"), minutes("planned_minutes"));
}

/**
 * An alarm in words.
 * @param {Alarm} alarm
 * @returns {string}
 */
export function alarmWords(alarm) {
  const what = alarm.what === "limit" ? "time limit reached" : "look due";
  return `${alarm.client}, ${alarm.zoneName}: ${what}`;
}

/**
 * How long it has been ringing.
 * @param {Alarm} alarm
 * @returns {string}
 */
export function alarmAge(alarm) {
  return alarm.since < 1000 ? "now" : `${clockFace(alarm.since)} ago`;
}
