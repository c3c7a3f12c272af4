/** Controls for fields: big ones to tap where values are few, a box to type in elsewhere. */

import { button, inId, made } from "./dom.js";
import { inVolume, readField, spokenOf, strengthTold, typedAs } from "./fields.js";

const PAUSE = 5000; // ms without a key, after which what stands in a box is taken for all of it
const MANY = 10; // more numbers than these stand in even rows

/**
 * @typedef {Object} Ask What a control is for.
 * @property {Object} field Of the book.
 * @property {Object} book All fields, and what goes for codes.
 * @property {string} scope Where it stands, for ids: "visit", "zone-2" ...
 * @property {?string} typed What stands in it.
 * @property {function(string, boolean): void} save Takes the text, and whether the page is to be shown anew.
 * @property {function(): void} [settle] Called when whoever typed is through, or pauses.
 * @property {function(string|number): boolean} [barred] Whether a choice can't be taken.
 * @property {string[]} [known] Texts to offer, which were written before.
 * @property {?string} [proposed] What stands in it until somebody types: by the clock.
 */

/**
 * A control for a field.
 * @param {Ask} ask
 * @returns {HTMLElement}
 */
export function fieldControl(ask) {
  return ask.field.choices.length > 0 ? chosen(ask) : typedIn(ask);
}

/**
 * The id of a control, to which the focus can be sent.
 * @param {string} scope
 * @param {string} name
 * @returns {string}
 */
export function controlId(scope, name) {
  return `${scope}-${name}`;
}

function labelOf(field) {
  return field.unit && !field.label.includes(field.unit) ? `${field.label}, ${field.unit}` : field.label;
}

function hintOf(ask, id) {
  return ask.field.hint ? made("small", { id: `${id}-hint`, class: "hint" }, ask.field.hint) : null;
}

function chosen(ask) {
  const { field, typed = "" } = ask;
  const id = controlId(ask.scope, field.name);
  const values = field.needed ? field.choices : ["", ...field.choices];
  const current = readField(field, typed, ask.book).value;
  const choices = values.map((value, at) => {
    const text = typedAs(value);
    const input = made("input", {
      type: "radio", name: id, id: at === 0 ? id : `${id}-${inId(text)}`, value: text,
      checked: text === typedAs(current), disabled: ask.barred?.(value) ?? false,
      "aria-label": text === "" ? "not given" : null,
      onchange: () => ask.save(text, true),
    });
    const [kind, words] = text === "" ? ["choice none", "–"] : ["choice", spokenOf(field, value, ask.book)];
    return made("label", { class: kind }, input, made("span", {}, words));
  });
  const hint = hintOf(ask, id);
  const isMany = field.kind === "number" && choices.length > MANY;
  return made("fieldset", { class: "field", "aria-describedby": hint?.id }, made("legend", {}, labelOf(field)), hint,
    made("div", { class: isMany ? "choices many" : "choices" }, ...choices));
}

function typedIn(ask) {
  const { field, typed } = ask;
  const id = controlId(ask.scope, field.name);
  const hint = hintOf(ask, id);
  const fault = made("span", { id: `${id}-fault`, class: "fault" });
  const strength = made("small", { id: `${id}-strength`, class: "hint" });
  const known = ask.known?.length
    ? made("datalist", { id: `${id}-known` }, ...ask.known.map((value) => made("option", { value }))) : null;
  let pause = 0;
  const input = made("input", {
    id, type: field.kind === "date" ? "date" : "text", autocomplete: "off", autocapitalize: "none",
    spellcheck: "false", list: known?.id, inputmode: field.kind === "number" ? "decimal" : null,
    class: field.kind === "number" ? "number" : null,
    "aria-describedby": `${hint ? `${hint.id} ` : ""}${strength.id} ${fault.id}`,
    oninput: () => {
      press();
      ask.save(input.value.trim(), false);
      clearTimeout(pause);
      if (ask.settle) pause = setTimeout(ask.settle, PAUSE);
    },
    onblur: () => {
      clearTimeout(pause);
      tell();
      ask.settle?.();
    },
  });
  input.value = typed ?? ask.proposed ?? "";
  const tell = () => {
    const told = readField(field, input.value, ask.book).fault;
    fault.textContent = told;
    strength.textContent = strengthTold(field, input.value, ask.book);
    input.setAttribute("aria-invalid", told ? "true" : "false");
  };
  tell();
  const beside = nearby(ask, id);
  // the page isn't drawn anew while somebody types, but a strength that was typed over isn't the one any more
  const press = () => beside.strengths.forEach((one, at) => one.setAttribute("aria-pressed",
    String(readField(field, input.value, ask.book).value === ask.book.strengths[at])));
  press();
  return made("div", { class: "field" },
    made("label", { for: id }, labelOf(field)), hint,
    made("div", { class: "typed" }, input, known, ...beside.steps,
      beside.strengths.length > 0 ? made("div", { class: "strengths" }, ...beside.strengths) : null), strength, fault);
}

/** Buttons beside a box: usual strengths, and five minutes more or less. */
function nearby(ask, id) {
  const { field, book } = ask;
  const strengths = field.reader !== "developer" ? [] : book.strengths.map((strength) => button(
    `${id}-${inId(strength)}`, [`${strength} % `, made("small", {}, `${inVolume(strength, book)} vol`)],
    () => ask.save(String(strength), true), { class: "quick" }));
  if (field.reader !== "minutes" || field.low === null || field.high === null) return { strengths, steps: [] };
  const step = (by) => () => {
    const box = document.getElementById(id);
    const value = readField(field, box.value, book).value;
    const next = value === null ? Number(field.example || field.low) : value + by;
    ask.save(String(Math.min(Math.max(next, field.low), field.high)), true);
  };
  const steps = [
    button(`${id}-less`, "−5", step(-5), { "aria-label": `${field.label}: 5 minutes less`, class: "quick" }),
    button(`${id}-more`, "+5", step(5), { "aria-label": `${field.label}: 5 minutes more`, class: "quick" }),
  ];
  return { strengths, steps };
}
