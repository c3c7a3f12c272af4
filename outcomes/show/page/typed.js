import { roundTo } from "./rounding.js";

/** Numbers as people type them, with a decimal point or comma, whatever the tablet's language is. */

/** Strength of one volume, %. */
export const PERCENT_PER_VOLUME = 0.3;

const same = (...words) => Object.fromEntries(words.map((word) => [word, 1]));

const PER_WEEK = ["a week", "per week", "/week"];
const PERCENT = same("%", "percent", "per cent");

/**
 * What is counted in a field.
 * @typedef {Object} Unit
 * @property {string} name As a complaint calls it.
 * @property {number} [decimals] At most so many: beyond them a point or comma was meant for thousands.
 * @property {Object<string, number>} words That may be typed with a number, each with what one of it is in the
 *   field's own unit.
 */

/** Units of the page's fields. */
export const UNITS = {
  level: { name: "levels", words: same("level", "levels") },
  percent: { name: "%", words: PERCENT },
  developer: {
    name: "% or volume",
    words: {
      ...PERCENT,
      ...Object.fromEntries(["v", "vol", "vols", "volume", "volumes"].map((word) => [word, PERCENT_PER_VOLUME])),
    },
  },
  minutes: { name: "minutes", words: same("min", "mins", "minute", "minutes") },
  weeks: { name: "weeks", words: same("week", "weeks", "wk", "wks") },
  washes: { name: "washes", words: same("wash", "washes") },
  washesPerWeek: {
    name: "washes a week", words: same("wash", "washes", ...PER_WEEK, ...PER_WEEK.map((word) => `washes ${word}`)),
  },
  money: {
    name: "your currency",
    decimals: 2,
    words: same(
      "€", "£", "$", "¥", "₺", "₹", "eur", "euro", "euros", "gbp", "pounds", "usd", "dollars", "chf", "fr", "sek", "nok",
      "dkk", "kr", "pln", "zł", "czk", "kč", "huf", "ft", "cad", "aud", "nzd",
    ),
  },
};

/**
 * A typed number.
 * @param {string} text With a decimal point or comma; a word of its unit may stand before or behind it.
 * @param {Unit} unit
 * @returns {?number} In the field's unit; null for anything else.
 */
export function typedNumber(text, unit) {
  const found = /^(\D*?)(\d+(?:[.,]\d*)?|[.,]\d+)(\D*)$/.exec(text.trim().toLowerCase());
  if (!found) return null;
  if (isForThousands(found[2], unit)) return null;
  const [before, behind] = [plainWord(found[1]), plainWord(found[3])];
  const number = Number(found[2].replace(",", "."));
  if (!before && !behind) return number;
  const word = before && behind ? "" : before || behind;
  if (!Object.hasOwn(unit.words, word)) return null;
  // as the command line rounds volume
  return unit.words[word] === 1 ? number : roundTo(number * unit.words[word], 2);
}

/**
 * Whether a point or comma in a number may stand between thousands, as in 1,500.
 * @param {string} text
 * @param {Unit} unit
 * @returns {boolean}
 */
export function isForThousands(text, { decimals }) {
  return decimals !== undefined && (/[1-9]\d*[.,](\d+)\D*$/.exec(text)?.[1].length ?? 0) > decimals;
}

/** Without the point of something cut short, and the hyphen of "20-vol". */
function plainWord(text) {
  return text.trim().replace(/^-\s*(?=[a-z])/, "").replace(/\.$/, "").trim();
}
