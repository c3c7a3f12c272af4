import { plain } from "./rounding.js";
import { make } from "./elements.js";
import { segments } from "./segments.js";
import { stepper } from "./stepper.js";
import { PERCENT_PER_VOLUME, UNITS } from "./typed.js";

/** Strength of the developer: those usual in the trade at one tap, any other by steps up to what the law allows. */

const OTHER = "other";

const TOO_STRONG = "Above 12 % (40 volume) nothing is used on hair; write volume as 20 vol, which is 6 %.";

/**
 * A choice of developer.
 * @param {Object} of
 * @param {string} [of.label]
 * @param {number[]} of.strengths Usual ones, %.
 * @param {number[]} of.ends Weakest and strongest that may be entered, %.
 * @param {number} of.value %.
 * @param {Function} of.changed
 * @returns {{element: HTMLElement, value: number}}
 */
export function developer({ label = "Developer", strengths, ends, value, changed }) {
  const [low, high] = ends;
  const number = stepper({
    label: `${label}, other strength`,
    unit: "%",
    counts: UNITS.developer,
    range: { low, high, step: 0.5 },
    value,
    tooHigh: TOO_STRONG,
    changed,
  });
  const words = [
    ...strengths.map((one) => ({ value: one, word: `${plain(one)} %`, under: `${plain(one / PERCENT_PER_VOLUME)} vol` })),
    { value: OTHER, word: "other" },
  ];
  const usual = segments({
    label,
    words,
    value: strengths.includes(value) ? value : OTHER,
    changed() {
      if (usual.value !== OTHER) number.take(usual.value);
      number.element.hidden = usual.value !== OTHER;
      changed();
    },
  });
  number.element.hidden = usual.value !== OTHER;
  return {
    element: make("div", { class: "developer" }, usual.element, number.element),
    get value() {
      return number.value;
    },
  };
}
