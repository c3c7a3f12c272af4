import { make } from "./elements.js";
import { count } from "./wording.js";

/** How much an answer rests on, and what the log says of a plan like this. */

const COVERED = {
  inside: ["●", "well within what the log covers"],
  edge: ["◐", "at the edge of what the log covers"],
  outside: ["○", "the log does not cover this"],
};

const CARRIED_ON = {
  inside: ["◐", "well covered, but not for so many washes"],
  edge: ["◐", "at the edge of what the log covers, and not for so many washes"],
};

const USUAL = {
  inside: "well within what is usual in the trade",
  edge: "at the edge of what is usual in the trade",
  outside: "beyond what is usual in the trade",
};

/**
 * Visits, clients and stylists behind an answer, and whether its bands were checked.
 * @param {{visits: number, clients: number, stylists: number, calibrated: boolean, starter?: any}} basis
 * @returns {string}
 */
export function restsOn(basis) {
  const counts = [["visit", basis.visits], ["client", basis.clients], ["stylist", basis.stylists]];
  const said = counts.map(([thing, number]) => count(number, thing)).join(", ");
  const checked = basis.calibrated ? "checked out of sample" : "not yet checked out of sample";
  const starter = basis.starter ? "starter values of the trade, no source; " : "";
  return `${starter}${said}; ${checked}`;
}

/**
 * Visits and clients behind an answer about fade.
 * @param {{visits: number, clients: number, calibrated: boolean}} basis
 * @returns {string}
 */
export function readAfterWashes(basis) {
  const checked = basis.calibrated ? "bands checked on clients left out" : "bands not checked";
  return `${count(basis.visits, "visit")} of ${count(basis.clients, "client")} read after washes; ${checked}`;
}

/**
 * Why time in the chair and cost of a shade aren't told.
 * @param {string} shade "root shade" or "toner".
 * @returns {string}
 */
export function untimed(shade) {
  return `not told: a ${shade} goes on within a visit, and only whole visits are logged with their time`;
}

/**
 * The word about cover, with its reasons.
 * @param {string} support "inside", "edge" or "outside".
 * @param {string[]} notes
 * @param {boolean} isStarter Whether what is usual in the trade stands in for a log.
 * @param {boolean} [isCarriedOn] Whether the shade alone is judged, and the answer goes on past the washes that
 *   were followed.
 * @returns {HTMLElement}
 */
export function coverage(support, notes, isStarter, isCarriedOn = false) {
  const [sign, words] = isCarriedOn ? CARRIED_ON[support] : COVERED[support];
  const said = isStarter ? USUAL[support] : words;
  const mark = make("span", { "aria-hidden": "true", class: "mark" }, sign);
  const reasons = notes.length ? make("ul", {}, ...notes.map((note) => make("li", {}, note))) : null;
  return make("div", { class: `cover ${support}` }, make("p", {}, mark, make("b", {}, isCarriedOn ? `shade ${support}` : support), `: ${said}`), reasons);
}

/**
 * What wasn't asked and is averaged over.
 * @param {Object<string, Object>} averaged Shares by column.
 * @param {string} hair
 * @returns {string} Empty where there's nothing.
 */
export function notAsked(averaged, hair) {
  const names = Object.keys(averaged).map((name) => name.replaceAll("_", " "));
  if (!names.length) return "";
  const last = names.pop();
  return `${names.length ? `${names.join(", ")} and ` : ""}${last}: as in the log's visits with ${hair} hair`;
}
