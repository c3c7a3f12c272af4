/**
 * One zone of a visit as it runs: what was done to it, step by step, and what follows from that. Times are ms of
 * the visit clock; minutes count from the last application, as in the log.
 */

/** @typedef {{kind: string, at: number, level?: number, readOn?: string}} Step kind: "applied", "look" or "rinsed". */

const MINUTE = 60_000;
const UNTOLD = 5; // minutes from one call to the next where nobody said how often to look

/**
 * Where a zone stands.
 * @param {{steps: Step[]}} zone
 * @returns {string} "plan", "running" or "rinsed".
 */
export function stateOf(zone) {
  if (zone.steps.length === 0) return "plan";
  return zone.steps.at(-1).kind === "rinsed" ? "rinsed" : "running";
}

/**
 * When lightener was applied last.
 * @param {{steps: Step[]}} zone
 * @returns {?number} ms; null before the first time.
 */
export function appliedAt(zone) {
  return zone.steps.findLast((step) => step.kind === "applied")?.at ?? null;
}

/**
 * How often lightener was applied.
 * @param {{steps: Step[]}} zone
 * @returns {number}
 */
export function applications(zone) {
  return zone.steps.filter((step) => step.kind === "applied").length;
}

/**
 * Looks since lightener was applied last: those before it belong to other minutes than the log counts.
 * @param {{steps: Step[]}} zone
 * @returns {Step[]}
 */
export function looksSince(zone) {
  const last = zone.steps.findLastIndex((step) => step.kind === "applied");
  return zone.steps.slice(last + 1).filter((step) => step.kind === "look");
}

/**
 * Minutes since the last application.
 * @param {{steps: Step[]}} zone
 * @param {number} at ms.
 * @returns {number} Not rounded.
 */
export function minutesAt(zone, at) {
  return (at - appliedAt(zone)) / MINUTE;
}

/**
 * Minutes as the log has them: to a tenth, which no reader takes for hours and minutes.
 * @param {number} minutes
 * @returns {number}
 */
export function toTenth(minutes) {
  return Math.round(minutes * 10) / 10;
}

/**
 * Minutes to the rinse by the clock.
 * @param {{steps: Step[]}} zone Rinsed.
 * @param {{low: number}} field Of the minutes: what is shorter than the log knows counts as its shortest.
 * @returns {number}
 */
export function clockMinutes(zone, field) {
  return Math.max(toTenth(minutesAt(zone, zone.steps.at(-1).at)), field.low);
}

/**
 * When the next alarms of a running zone are due.
 * @param {Object} zone
 * @param {?number} every Minutes between looks.
 * @param {?number} longest Longest time intended, minutes.
 * @returns {{look: ?number, limit: ?number, end: ?number}} ms; end is the limit the first time. From there on
 *   there is no call for a look: the limit is due, and comes again until the rinse.
 */
export function dues(zone, every, longest) {
  const applied = appliedAt(zone);
  const heard = zone.heard;
  const pause = (every ?? UNTOLD) * MINUTE;
  const end = longest === null ? null : applied + longest * MINUTE;
  const limit = end !== null && heard.limit >= end ? heard.limit + pause : end;
  const look = every === null ? null : Math.max(looksSince(zone).at(-1)?.at ?? applied, heard.look) + pause;
  return { look: look !== null && end !== null && look >= end ? null : look, limit, end };
}
