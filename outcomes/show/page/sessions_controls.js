import { make, newId } from "./elements.js";
import { asChoices, segments } from "./segments.js";
import { stepper } from "./stepper.js";
import { developer } from "./developer.js";
import { pastSessions } from "./past.js";

/** What the view of sessions asks: the plan, and folded below it what not every client needs. */

/**
 * Controls of the view of sessions.
 * @param {Object} model Opened.
 * @param {Function} changed
 * @returns {{element: HTMLElement, question: Function}} `question()` as `answerSessions` takes it.
 */
export function sessionsControls({ choices, mostPast }, changed) {
  const [darkest, lightest] = [choices.levels[0], choices.levels.at(-1)];
  const start = stepper({
    label: "Start level",
    range: { low: darkest, high: lightest - 0.5, step: 0.5, only: true },
    value: 4,
    changed() {
      goal.limit({ low: start.value + 0.5 });
      changed();
    },
  });
  const goal = stepper({
    label: "Goal level", range: { low: 4.5, high: lightest, step: 0.5, only: true }, value: 9, changed,
  });
  const hair = segments({ label: "Hair", words: asChoices(choices.hair), value: choices.hair[0], changed });
  const strength = developer({ strengths: choices.strengths, ends: choices.peroxide, value: 6, changed });
  const heat = segments({ label: "Heat", words: asChoices(choices.heat), value: choices.heat[0], changed });
  const [shortest, longest] = choices.minutes;
  const minutes = stepper({
    label: "Longest processing time", unit: "min", range: { low: shortest, high: longest, step: 5 }, value: 45, changed,
  });
  const plan = () => ({
    start: start.value,
    goal: goal.value,
    hair: hair.value,
    peroxide: strength.value,
    heat: heat.value,
    minutes: minutes.value,
  });
  const past = pastSessions(choices, mostPast, plan, changed);
  const visit = visitControls(choices, changed);
  const levels = make("div", { class: "pair" }, start.element, goal.element);
  return {
    element: make(
      "div", { class: "controls" },
      levels, ...[hair, strength, heat, minutes].map((one) => one.element),
      folded("Earlier sessions of this client", past.element),
      folded("Stylist, chair time and price", visit.element),
    ),
    question: () => ({ ...plan(), past: past.value, ...visit.value }),
  };
}

function folded(title, ...parts) {
  return make("details", {}, make("summary", {}, title), ...parts);
}

function visitControls(choices, changed) {
  const stylist = stylistControl(choices.stylists, changed);
  const entered = (label, unit, high, step, first) =>
    stepper({ label, unit, range: { low: step, high, step }, value: null, first, none: "not entered", changed });
  const chair = entered("Chair time of a visit", "min", 720, 15, 150);
  const price = entered("Price", "in your currency", 100_000, 5, 100);
  const weeks = entered("Weeks between visits", "", 52, 1, 6);
  const per = segments({
    label: "The price is for",
    words: [{ value: null, word: "a visit" }, { value: 1, word: "an hour" }],
    value: null,
    changed,
  });
  return {
    element: make("div", { class: "visit" }, stylist.element, ...[chair, price, per, weeks].map((one) => one.element)),
    get value() {
      return {
        stylist: stylist.value,
        minutes_per_visit: chair.value,
        price: price.value,
        hours: price.value === null ? null : per.value,
        weeks_between: weeks.value,
      };
    },
  };
}

function stylistControl(codes, changed) {
  const id = newId("stylist");
  const known = codes.map((code) => ["code", code, code]);
  const options = [["any", "", "any of the team"], ...known, ["new", "", "new to the team"]];
  const select = make(
    "select", { id, change: changed },
    ...options.map(([, , words], i) => make("option", { value: i }, words)),
  );
  return {
    element: make("div", { class: "chosen" }, make("label", { for: id }, "Stylist"), select),
    get value() {
      const [kind, code] = options[select.selectedIndex];
      return { any: null, new: "new", code }[kind];
    },
  };
}
