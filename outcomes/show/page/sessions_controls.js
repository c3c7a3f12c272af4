import { make, newId } from "./elements.js";
import { plain } from "./rounding.js";
import { asChoices, segments } from "./segments.js";
import { stepper } from "./stepper.js";
import { developer } from "./developer.js";
import { goesOn, usualGoal } from "./earlier.js";
import { pastSessions } from "./past.js";
import { UNITS } from "./typed.js";

/** What the view of sessions asks: the plan, and folded below it what not every client needs. */

const FIRST_START = 4;
const SHORTEST_VISIT = 10; // minutes

const CONDITIONS = [
  { value: null, word: "not told" },
  { value: 5, word: "5", under: "strong" },
  { value: 4, word: "4" },
  { value: 3, word: "3" },
  { value: 2, word: "2" },
  { value: 1, word: "1", under: "breaking" },
];

/**
 * Controls of the view of sessions.
 * @param {Object} model Opened.
 * @param {Function} changed
 * @returns {{element: HTMLElement, question: Function}} `question()` as `answerSessions` takes it.
 */
export function sessionsControls({ choices, mostPast, courseRule }, changed) {
  const [darkest, lightest] = [choices.levels[0], choices.levels.at(-1)];
  let isOwn = false;
  // by its levels an earlier session counts or doesn't, and its course goes on today or doesn't
  const levelsChanged = () => {
    past.check();
    const last = past.value.at(-1);
    const before = last && { ...last, goal: usualGoal(goal.value, last) };
    const isGoingOn = last !== undefined && goesOn(courseRule, before, start.value, goal.value);
    hair.rename(isGoingOn ? "Hair before the first session" : "Hair");
    hairAsked.textContent = isGoingOn ? "Today goes on with their course: choose the hair as it was before the first of them." : "";
    changed();
  };
  const start = stepper({
    label: "Start level",
    counts: UNITS.level,
    range: { low: darkest, high: lightest - 0.5, step: 0.5, only: true },
    value: FIRST_START,
    changed() {
      isOwn = true;
      followed.textContent = "";
      goal.limit({ low: start.value + 0.5 });
      levelsChanged();
    },
  });
  // where nobody entered a start, hair is as the last session left it
  const followPast = () => {
    const reached = past.reached !== null && past.reached < lightest ? past.reached : null;
    if (!isOwn && start.value !== (reached ?? FIRST_START)) {
      start.take(reached ?? FIRST_START);
      goal.limit({ low: start.value + 0.5 });
      followed.textContent = reached === null ? "" : `Start level ${plain(reached)}: as the last session left it. Change it if the hair is otherwise now.`;
    }
    levelsChanged();
  };
  const followed = make("p", { class: "why", role: "status" });
  const goal = stepper({
    label: "Goal level", counts: UNITS.level, range: { low: 4.5, high: lightest, step: 0.5, only: true }, value: 9,
    changed: levelsChanged,
  });
  const hairAsked = make("p", { class: "why", role: "status" });
  const hair = segments({ label: "Hair", words: asChoices(choices.hair), value: choices.hair[0], changed });
  const strength = developer({ strengths: choices.strengths, ends: choices.peroxide, value: 6, changed });
  const heat = segments({ label: "Heat", words: asChoices(choices.heat), value: choices.heat[0], changed });
  const [shortest, longest] = choices.minutes;
  const minutes = stepper({
    label: "Longest processing time", unit: "min", counts: UNITS.minutes,
    range: { low: shortest, high: longest, step: 5 }, value: 45,
    changed() {
      visit.take(minutes.value);
      changed();
    },
  });
  const plan = () => ({
    start: start.value,
    goal: goal.value,
    hair: hair.value,
    peroxide: strength.value,
    heat: heat.value,
    minutes: minutes.value,
  });
  const past = pastSessions(choices, mostPast, plan, followPast);
  const visit = visitControls(choices, changed);
  visit.take(minutes.value);
  const levels = make("div", { class: "pair" }, start.element, goal.element);
  return {
    element: make(
      "div", { class: "controls" },
      levels, followed, ...[hair, strength, heat, minutes].map((one) => one.element),
      folded("Earlier sessions of this client", past.element, hairAsked),
      folded("Stylist, condition, time and price", visit.element),
    ),
    question: () => ({ ...plan(), past: past.value, ...visit.value }),
  };
}

function folded(title, ...parts) {
  return make("details", {}, make("summary", {}, title), ...parts);
}

function visitControls(choices, changed) {
  const stylist = stylistControl(choices.stylists, changed);
  const none = choices.chairTimes ? "as logged" : "not entered";
  const chair = stepper({
    label: "Chair time of a visit", unit: "min", counts: UNITS.minutes,
    range: { low: SHORTEST_VISIT, high: 720, step: 15 }, value: null, first: 150, none, changed,
  });
  const weeks = stepper({
    label: "Weeks between visits", counts: UNITS.weeks, range: { low: 1, high: 52, step: 1 }, value: null, first: 6,
    none, changed,
  });
  const price = stepper({
    label: "Price", unit: "in your currency", counts: UNITS.money, range: { low: 0.01, high: 1e7, step: 5 },
    value: null, first: 100, none: "not entered", changed,
  });
  const condition = segments({ label: "Strand condition now", words: CONDITIONS, value: null, changed });
  const per = segments({
    label: "The price is for",
    words: [{ value: null, word: "a visit" }, { value: 1, word: "an hour" }],
    value: null,
    changed,
  });
  const lacking = make("p", { class: "why", role: "status" });
  const parts = [stylist, ...(choices.condition ? [condition] : []), chair, weeks, price, per];
  return {
    element: make("div", { class: "visit" }, ...parts.map((one) => one.element), lacking),
    // no visit is shorter than its processing
    take(processing) {
      chair.limit({ low: Math.max(SHORTEST_VISIT, processing) });
    },
    get value() {
      // a price by the hour says nothing where nobody knows the hours
      const isLacking = price.value !== null && per.value !== null && chair.value === null && !choices.chairTimes;
      lacking.textContent = isLacking ? "Enter the chair time of a visit too, for a price by the hour." : "";
      const isPriced = price.value !== null && !isLacking;
      return {
        stylist: stylist.value,
        condition: condition.value,
        minutes_per_visit: chair.value,
        price: isPriced ? price.value : null,
        hours: isPriced ? per.value : null,
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
