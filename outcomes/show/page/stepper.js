import { complaint, movedSaid, stepped, within } from "./entered.js";
import { plain } from "./rounding.js";
import { typedNumber } from "./typed.js";
import { make, newId } from "./elements.js";

/** A number with a button on either side: tapped up and down, typed, or moved by the arrow keys. */

/**
 * @typedef {Object} Range
 * @property {number} low Least that may be entered.
 * @property {number} high Most that may be entered.
 * @property {number} step Of the buttons.
 * @property {boolean} [only] Nothing between the steps.
 */

/**
 * A stepper.
 * @param {Object} of
 * @param {string} of.label
 * @param {string} [of.unit] Said after the number.
 * @param {Object} of.counts One of `UNITS`: what may be typed with the number.
 * @param {Range} of.range
 * @param {?number} of.value Null: nothing is entered.
 * @param {number} [of.first] What the first step from nothing gives; with it the number may be cleared.
 * @param {string} [of.none] Said while nothing is entered.
 * @param {string} [of.tooHigh] Said where more than the range is typed.
 * @param {Function} of.changed Called after every change.
 * @returns {{element: HTMLElement, value: ?number, take: Function, limit: Function}} `take(value)` and
 *   `limit({low, high})` change it without calling `changed`. A value that limits have moved is said to be, and
 *   goes back to what was wanted as soon as that may be entered again.
 */
export function stepper({ label, unit = "", counts, range, value, first, none = "–", tooHigh, changed }) {
  const own = { range: { ...range }, value, wanted: value };
  const parts = stepperParts(label, unit, first !== undefined, none);
  const show = () => showValue(parts, own, unit, first !== undefined);
  const become = (next, why = "") => {
    const moved = next !== own.value;
    own.value = next;
    if (!why) own.wanted = next;
    parts.why.textContent = why;
    show();
    if (moved) changed();
  };
  const move = (direction) => {
    // the first tap gives a place to start from, in whichever direction
    if (own.value === null) become(within(first, own.range.low, own.range.high));
    else become(stepped(own.value, direction, own.range));
  };
  const read = () => {
    const text = parts.input.value;
    if (first !== undefined && !text.trim()) return become(null);
    const found = complaint(text, own.range, counts);
    const typed = typedNumber(text, counts);
    if (!found) return become(typed);
    const isHigh = tooHigh && typed > own.range.high;
    return become(own.value, `${isHigh ? tooHigh : found} It stays at ${own.value === null ? none : plain(own.value)}.`);
  };
  parts.less.addEventListener("click", () => move(-1));
  parts.more.addEventListener("click", () => move(1));
  parts.clear?.addEventListener("click", () => {
    become(null);
    parts.more.focus(); // of the field, and a tablet would bring its keyboard up
  });
  parts.input.addEventListener("change", read);
  parts.input.addEventListener("keydown", (event) => {
    const direction = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!direction) return;
    event.preventDefault();
    move(direction);
  });
  show();
  return {
    element: parts.element,
    get value() {
      return own.value;
    },
    take(next) {
      own.value = next;
      own.wanted = next;
      parts.why.textContent = "";
      show();
    },
    limit(ends) {
      Object.assign(own.range, ends);
      if (own.value !== null) {
        own.value = within(own.wanted, own.range.low, own.range.high);
        parts.why.textContent = movedSaid(own.wanted, own.value);
      }
      show();
    },
  };
}

function stepperParts(label, unit, isOptional, none) {
  const [id, whyId] = [newId("number"), newId("why")];
  const input = make("input", {
    id, type: "text", inputmode: "decimal", autocomplete: "off", role: "spinbutton",
    "aria-describedby": whyId, placeholder: isOptional ? none : null,
  });
  // by keys the arrows do what the buttons do, so nobody has to pass them on the way
  const button = (sign, word) =>
    make("button", { type: "button", tabindex: -1, "aria-label": `${label}: ${word}`, class: "step" }, sign);
  const [less, more] = [button("−", "less"), button("+", "more")];
  const clear = isOptional ? make("button", { type: "button", class: "clear", "aria-label": `${label}: clear` }, "Clear") : null;
  const why = make("p", { id: whyId, class: "why", role: "status" });
  const named = make("label", { for: id }, label, unit ? make("span", { class: "unit" }, ` ${unit}`) : null);
  const row = make("div", { class: "steps" }, less, input, more, clear);
  return { input, less, more, clear, why, element: make("div", { class: "stepper" }, named, row, why) };
}

function showValue({ input, less, more, clear }, { range, value }, unit, isOptional) {
  const said = value === null ? "" : plain(value);
  input.value = said;
  const spoken = value === null ? "nothing entered" : `${said} ${unit}`.trim();
  const heard = { "aria-valuenow": said, "aria-valuetext": spoken, "aria-valuemin": range.low, "aria-valuemax": range.high };
  for (const [name, text] of Object.entries(heard)) {
    if (text === "") input.removeAttribute(name);
    else input.setAttribute(name, String(text));
  }
  less.disabled = value !== null && value <= range.low;
  more.disabled = value !== null && value >= range.high;
  if (isOptional) clear.hidden = value === null;
}
