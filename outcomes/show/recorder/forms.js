/** Forms of the book as controls: what is needed at once, the rest behind one tap. */

import { allKept, happens } from "./app.js";
import { controlId, fieldControl } from "./controls.js";
import { foldedAway, made } from "./dom.js";
import { fieldOf, spokenOf } from "./fields.js";
import { isFigure, isSettled } from "./force.js";
import { stateOf } from "./zone.js";

/**
 * The controls of a form that writes into a visit.
 * @param {Object} app
 * @param {Object} visit
 * @param {?Object} zone None for the visit as a whole.
 * @param {string} form A key of the book's forms.
 * @param {Object<string, ?Object>} [special] What a control has besides, by column: `barred`, `proposed`; null
 *   where it isn't asked for.
 * @returns {HTMLElement[]}
 */
export function visitForm(app, visit, zone, form, special = {}) {
  const scope = zone === null ? form : `${form}-${zone.id}`;
  const values = (zone ?? visit).values;
  const control = (name, table = "visits") => {
    const field = fieldOf(app.book, table, name);
    const blank = special[name]?.proposed !== undefined;
    const save = (text, shown) => happens(app, visit.code,
      { type: "write", zone: zone?.id ?? null, name, text, blank, whole: shown },
      `${field.label} ${spokenOf(field, text, app.book)}`, shown);
    const settle = isFigure(name) ? () => settles(app, visit.code) : null;
    const known = field.kind === "text" ? knownCodes(app.visits, visit, name) : [];
    return fieldControl({ field, book: app.book, scope, typed: values[name], save, settle, known, ...special[name] });
  };
  const { first } = app.book.forms[form];
  const more = app.book.forms[form].more.filter((name) => special[name] !== null);
  const rest = more.map((name) => control(name));
  if (form === "plan") rest.push(control("read_on", "checks"));
  return [made("div", { class: "fields" }, ...first.map((name) => control(name))),
    foldedAway(`${scope}-fold`, `More: ${more.map((name) => fieldOf(app.book, "visits", name).label).join(", ")}`,
      app.unfolded, made("div", { class: "fields" }, ...rest))];
}

/** Codes of other visits on this device: two spellings of one would be two people in the log. */
function knownCodes(visits, visit, name) {
  const others = visits.filter((one) => one.code !== visit.code).flatMap((one) => [one].concat(one.zones));
  const written = others.map(({ values }) => values[name]);
  return [...new Set(written.filter(Boolean))].toSorted();
}

/** Figures that were typed to their end are in force from now on. */
async function settles(app, code) {
  await allKept(app);
  const visit = app.visits.find((one) => one.code === code);
  const isBehind = (zone) => stateOf(zone) !== "plan" && !isSettled(app.book, zone);
  if (visit?.zones.some(isBehind)) await happens(app, code, { type: "settle" }, "the plan", false);
}

/**
 * What is lacking, told beside the button that waits for it; it follows what is typed.
 * @param {Object} app
 * @param {string} id
 * @param {function(): Array<{label: string, fault: string}>} lacks
 * @returns {HTMLElement}
 */
export function lackingLine(app, id, lacks) {
  const line = made("p", { id, class: "lacking" });
  const tell = () => {
    const found = lacks();
    const words = found.map((one) => (one.fault === "needed" ? one.label : `${one.label} (${one.fault})`));
    line.textContent = found.length === 0 ? "" : `Still to do: ${words.join("; ")}.`;
  };
  tell();
  app.hints.push(tell);
  return line;
}

/**
 * Send the focus to what is lacking first, unfolding what hides it.
 * @param {Object} app
 * @param {string} scope
 * @param {{name: string, label: string, fault: string}} lack
 */
export function goTo(app, scope, lack) {
  const control = document.getElementById(controlId(scope, lack.name));
  const fold = control?.closest("details");
  if (fold) fold.open = true;
  control?.focus();
  control?.closest(".field")?.scrollIntoView({ block: "center" });
  app.tell(`Still to do: ${lack.label}${lack.fault === "needed" ? "" : `, ${lack.fault}`}.`);
}
