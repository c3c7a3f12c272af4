import { make } from "./elements.js";
import { asChoices, segments } from "./segments.js";
import { stepper } from "./stepper.js";
import { UNITS } from "./typed.js";

/** What the views of root shades and of refreshing ask. */

/**
 * Controls of the view of root shades.
 * @param {Object} choices Of the model; `choices.roots` isn't null.
 * @param {Function} changed
 * @returns {{element: HTMLElement, question: Function}} `question()` as `answerRootShade` takes it.
 */
export function rootShadeControls(choices, changed) {
  const [darkest, lightest] = [choices.levels[0], choices.levels.at(-1)];
  const level = { step: 0.5, only: true };
  const ends = () => {
    lengths.limit({ low: natural.value + 0.5 });
    limit.limit({ low: natural.value + 0.5, high: lengths.value });
    changed();
  };
  const natural = stepper({
    label: "Natural level", counts: UNITS.level, range: { ...level, low: darkest, high: lightest - 0.5 }, value: 3,
    changed: ends,
  });
  const lengths = stepper({
    label: "Level of the lengths", counts: UNITS.level, range: { ...level, low: 3.5, high: lightest }, value: 9,
    changed: ends,
  });
  const washes = washesToVisit(choices, changed);
  const limit = stepper({
    label: "Lightest that still blends", unit: "level", counts: UNITS.level, range: { ...level, low: 3.5, high: 9 },
    value: null, first: 6, none: "halfway", changed,
  });
  const { tones, shampoos } = choices.roots;
  const tone = segments({ label: "Tone of the root shade", words: asChoices(tones, "any"), value: null, changed });
  const shampoo = shampooChoice(shampoos, changed);
  return {
    element: make(
      "div", { class: "controls" },
      make("div", { class: "pair" }, natural.element, lengths.element),
      ...[washes, tone, shampoo, limit].map((one) => one.element),
    ),
    question: () => ({
      natural: natural.value,
      lengths: lengths.value,
      washes: washes.value,
      limit: limit.value,
      tone: tone.value,
      shampoo: shampoo.value,
    }),
  };
}

function washesToVisit({ washes: [low, high], roots: { longest } }, changed) {
  return stepper({
    label: "Washes until the next visit", counts: UNITS.washes, range: { low, high, step: 1 },
    value: Math.min(18, longest), changed,
  });
}

function shampooChoice(words, changed) {
  return segments({ label: "Shampoo", words: asChoices(words, "as it comes"), value: null, changed });
}

/**
 * Controls of the view of refreshing.
 * @param {Object} choices Of the model; one of `choices.roots` and `choices.toner` isn't null.
 * @param {Function} changed
 * @returns {{element: HTMLElement, question: Function}} `question()` as `answerRefresh` takes it.
 */
export function refreshControls(choices, changed) {
  const roots = choices.roots && rootsControls(choices, changed);
  const toner = choices.toner && tonerControls(choices.toner, changed);
  const show = () => {
    if (roots) roots.element.hidden = zone.value !== "roots";
    if (toner) toner.element.hidden = zone.value !== "lengths";
  };
  const words = [
    ...(roots ? [{ value: "roots", word: "roots", under: "root shade" }] : []),
    ...(toner ? [{ value: "lengths", word: "lengths", under: "toner" }] : []),
  ];
  const zone = segments({
    label: "Where",
    words,
    value: words[0].value,
    changed() {
      show();
      changed();
    },
  });
  const perWeek = stepper({
    label: "Washes a week", counts: UNITS.washesPerWeek, range: { low: 0.5, high: 14, step: 0.5 }, value: 3, changed,
  });
  show();
  const parts = [zone, perWeek, roots, toner].filter(Boolean);
  return {
    element: make("div", { class: "controls" }, ...parts.map((one) => one.element)),
    question: () => ({
      zone: zone.value,
      washes_per_week: perWeek.value,
      ...(zone.value === "roots" ? roots : toner).value,
    }),
  };
}

function rootsControls(choices, changed) {
  const [darkest, lightest] = [choices.levels[0], choices.levels.at(-1)];
  const fade = stepper({
    label: "Faded by", unit: "levels", counts: UNITS.level, range: { low: 0.5, high: 9, step: 0.5 }, value: 1,
    changed() {
      level.limit({ high: lightest - fade.value });
      changed();
    },
  });
  const level = stepper({
    label: "Level of the root shade", counts: UNITS.level,
    range: { low: darkest, high: lightest - 1, step: 0.5, only: true },
    value: null, first: 6, none: "any", changed,
  });
  const tone = segments({ label: "Its tone", words: asChoices(choices.roots.tones, "any"), value: null, changed });
  const shampoo = shampooChoice(choices.roots.shampoos, changed);
  return {
    element: make("div", { class: "zone" }, ...[fade, level, tone, shampoo].map((one) => one.element)),
    get value() {
      return { fade: fade.value, root_level: level.value, root_tone: tone.value, toner_tone: null, shampoo: shampoo.value };
    },
  };
}

function tonerControls({ tones, shampoos }, changed) {
  const fade = stepper({
    label: "Faded by", unit: "% of the tone", counts: UNITS.percent, range: { low: 5, high: 95, step: 5 }, value: 50, changed,
  });
  const tone = segments({ label: "Tone of the toner", words: asChoices(tones, "any"), value: null, changed });
  const shampoo = shampooChoice(shampoos, changed);
  return {
    element: make("div", { class: "zone" }, ...[fade, tone, shampoo].map((one) => one.element)),
    get value() {
      return { fade: fade.value, root_level: null, root_tone: null, toner_tone: tone.value, shampoo: shampoo.value };
    },
  };
}
