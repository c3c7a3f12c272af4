import { asTyped, complaint, movedSaid, stepped, within } from "./entered.js";
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
  const isOptional = first !== undefined;
  const own = { range: { ...range }, value, wanted: value, isTyping: false, before: null };
  const parts = stepperParts(label, unit, isOptional, none);
  const show = () => showValue(parts, own, unit, isOptional);
  const become = (next, why = "") => {
    const moved = next !== own.value;
    own.value = next;
    if (!why) own.wanted = next;
    parts.why.textContent = why;
    show();
    if (moved) changed();
  };
  // undefined: it can't be taken
  const typed = () => {
    const text = parts.input.value;
    if (isOptional && !text.trim()) return null;
    return complaint(text, own.range, counts) ? undefined : typedNumber(text, counts);
  };
  // to the number that stood there before somebody typed
  const goBack = () => {
    const { value: last, wanted } = own.before;
    become(last);
    own.wanted = wanted;
  };
  const read = () => {
    const [found, text] = [typed(), parts.input.value];
    if (found === undefined) goBack();
    own.isTyping = false;
    if (found !== undefined) return become(found);
    const isHigh = tooHigh && typedNumber(text, counts) > own.range.high;
    const why = isHigh ? tooHigh : complaint(text, own.range, counts);
    return become(own.value, `${why} It stays at ${own.value === null ? none : asTyped(own.value)}.`);
  };
  const move = (direction) => {
    const isRefused = own.isTyping && typed() === undefined;
    if (own.isTyping) read();
    if (isRefused) return;
    // the first tap gives a place to start from, in whichever direction
    if (own.value === null) become(within(first, own.range.low, own.range.high));
    else become(stepped(own.value, direction, own.range));
  };
  listen(parts, own, { typed, become, goBack, read, move });
  show();
  return {
    element: parts.element,
    get value() {
      return own.value;
    },
    take(next) {
      own.isTyping = false;
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

function listen(parts, own, { typed, become, goBack, read, move }) {
  // what can be taken is taken at once; the rest is complained of, and all of it written anew, when typing is over
  parts.input.addEventListener("input", () => {
    if (!own.isTyping) Object.assign(own, { isTyping: true, before: { value: own.value, wanted: own.wanted } });
    const found = typed();
    if (found === undefined) goBack();
    else become(found);
  });
  for (const end of ["change", "blur"]) parts.input.addEventListener(end, () => own.isTyping && read());
  parts.input.addEventListener("keydown", (event) => {
    const direction = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!direction) return;
    event.preventDefault();
    move(direction);
  });
  for (const [button, direction] of [[parts.less, -1], [parts.more, 1]]) {
    let isRefused = false;
    button.addEventListener("pointerdown", () => {
      isRefused = own.isTyping && typed() === undefined;
    });
    // a tap that left a field which complained moves nothing, or nobody would see the complaint
    button.addEventListener("click", () => {
      if (!isRefused || own.isTyping) move(direction);
      isRefused = false;
    });
  }
  parts.clear?.addEventListener("click", () => {
    own.isTyping = false;
    become(null);
    parts.more.focus(); // of the field, and a tablet would bring its keyboard up
  });
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

function showValue({ input, less, more, clear }, { range, value, isTyping }, unit, isOptional) {
  const said = value === null ? "" : asTyped(value);
  if (!isTyping) input.value = said;
  input.classList.toggle("long", input.value.length > 6);
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
