import { make } from "./elements.js";
import { plain } from "./rounding.js";
import { asChoices, segments } from "./segments.js";
import { stepper } from "./stepper.js";
import { developer } from "./developer.js";
import { UNITS } from "./typed.js";

/** Sessions that this client has had: what was reached in what time, with what, and why it was rinsed. */

const STOPS = [
  { value: "target", word: "goal reached" },
  { value: "time", word: "time was up" },
  { value: "condition", word: "hair condition" },
  { value: "other", word: "other" },
];

/**
 * A list of past sessions, empty at first.
 * @param {Object} choices Of the model.
 * @param {number} most Sessions that can be told.
 * @param {Function} planned Gives the question as it stands: a new entry begins with its developer and heat.
 * @param {Function} changed
 * @returns {{element: HTMLElement, value: Object[], reached: ?number, check: Function}} `value` as the question
 *   wants it, earliest first; those alone that count. `reached` is the last level entered. `check()` says anew of each
 *   why it doesn't count, once today's goal is another.
 */
export function pastSessions(choices, most, planned, changed) {
  const entries = [];
  const list = make("div", { class: "past" });
  const number = () => {
    for (const [i, entry] of entries.entries()) entry.name.textContent = `Earlier session ${i + 1}`;
    button.hidden = entries.length >= most;
  };
  const add = () => {
    const entry = pastSession(choices, planned, entries.at(-1)?.value, changed, () => {
      entries.splice(entries.indexOf(entry), 1);
      entry.element.remove();
      number();
      button.focus();
      changed();
    });
    entries.push(entry);
    list.append(entry.element);
    number();
    entry.element.focus(); // of a field, and a tablet would bring its keyboard up
    changed();
  };
  const button = make("button", { type: "button", class: "add", click: add }, "Add an earlier session");
  return {
    element: make("div", {}, list, button),
    get value() {
      return entries.map((entry) => entry.value).filter((one) => lacking(one, planned().goal) === "");
    },
    get reached() {
      return entries.map((entry) => entry.value.achieved).findLast((level) => level !== null) ?? null;
    },
    check() {
      for (const entry of entries) entry.check();
    },
  };
}

/**
 * Why an earlier session doesn't count.
 * @param {Object} entry start, achieved and stop may be null.
 * @param {number} goal Today's, which is taken for the goal of that session too.
 * @returns {string} Empty where it counts.
 */
export function lacking({ start, achieved, stop }, goal) {
  if (start !== null && start >= goal) {
    return `This session began at level ${plain(start)}, at or above today's goal, so its goal was another: it can't be counted here. `
      + "Is the level right?";
  }
  const levels = start === null || achieved === null ? ["both levels"] : [];
  const names = [...levels, ...(stop === null ? ["why it was rinsed"] : [])];
  return names.length ? `Counts once ${names.join(" and ")} ${names.length > 1 || levels.length ? "are" : "is"} entered.` : "";
}

function pastSession(choices, planned, before, tell, remove) {
  const plan = planned();
  const still = make("p", { class: "why", role: "status" });
  const value = () => ({
    start: start.value,
    achieved: achieved.value,
    minutes: minutes.value,
    peroxide: strength.value,
    heat: heat.value,
    stop: stop.value,
  });
  const check = () => {
    const why = lacking(value(), planned().goal);
    if (still.textContent !== why) still.textContent = why;
  };
  const changed = () => {
    check();
    tell();
  };
  const levels = { low: choices.levels[0], high: choices.levels.at(-1), step: 0.5, only: true };
  // no level is taken for granted: until both are entered the session doesn't count
  const none = "not entered";
  const start = stepper({
    label: "Level before",
    counts: UNITS.level,
    range: levels,
    value: null,
    first: before?.achieved ?? levels.low,
    none,
    changed() {
      achieved.limit({ low: start.value ?? levels.low });
      changed();
    },
  });
  const achieved = stepper({
    label: "Level reached", counts: UNITS.level, range: levels, value: null, first: plan.start, none, changed,
  });
  const [shortest, longest] = choices.minutes;
  const minutes = stepper({
    label: "Processing time", unit: "min", counts: UNITS.minutes, range: { low: shortest, high: longest, step: 5 },
    value: plan.minutes, changed,
  });
  const strength = developer({ strengths: choices.strengths, ends: choices.peroxide, value: plan.peroxide, changed });
  const heat = segments({ label: "Heat", words: asChoices(choices.heat), value: plan.heat, changed });
  const stop = segments({ label: "Rinsed because", words: STOPS, value: null, changed });
  const name = make("legend");
  const away = make("button", { type: "button", class: "clear", click: remove }, "Remove this session");
  const parts = [start, achieved, minutes, strength, heat, stop].map((one) => one.element);
  check();
  return {
    name,
    check,
    element: make("fieldset", { class: "entry", tabindex: -1 }, name, ...parts, still, away),
    get value() {
      return value();
    },
  };
}
