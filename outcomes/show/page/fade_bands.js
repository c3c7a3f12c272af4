/**
 * Bands of simulated clients; of clients who were never read; how far the log followed hair.
 */
import { countUpTo, firstWith } from "./rising.js";
import { plain, roundTo } from "./rounding.js";

/** Of all bands about fade. */
export const FADE_COVERAGE = 0.8;

/** Factors on the rates of clients who were never read: how far an answer would move if they fade so. */
export const MISSING_RATES = [0.75, 1.25];

const SHARES = [(1 - FADE_COVERAGE) / 2, 0.5, (1 + FADE_COVERAGE) / 2];

/**
 * Middle and ends of a band; null lies beyond any number.
 * @param {{n: number, at: function(number): number}} values Rising.
 * @returns {{median: ?number, low: ?number, high: ?number}} The band.
 */
export function bandOf(values) {
  return mixedBand(values, values, 0);
}

/**
 * The band if a share of clients were as changed.
 * @param {{n: number, at: function(number): number}} values Rising.
 * @param {{n: number, at: function(number): number}} changed As many, rising.
 * @param {number} share 0 to 1.
 * @returns {{median: ?number, low: ?number, high: ?number}} The band.
 */
export function mixedBand(values, changed, share) {
  const weight = (upto) => (1 - share) * countUpTo(values, upto) + share * countUpTo(changed, upto);
  return asBand(
    SHARES.map((part) => {
      const enough = part * values.n - 1e-9;
      return Math.min(firstWith(values, weight, enough), firstWith(changed, weight, enough));
    }),
  );
}

function asBand(ends) {
  const [low, median, high] = ends.map((end) => (Number.isFinite(end) ? end : null));
  return { median, low, high };
}

/**
 * The band alone, for what the log doesn't cover.
 * @param {{median: ?number, low: ?number, high: ?number}} band With its middle.
 * @returns {{median: null, low: ?number, high: ?number}} Without.
 */
export function withoutMiddle(band) {
  return { ...band, median: null };
}

/**
 * The band as it's told.
 * @param {{median: ?number, low: ?number, high: ?number}} band As worked out.
 * @returns {{median: ?number, low: ?number, high: ?number}} Two digits after the point.
 */
export function roundedBand(band) {
  return Object.fromEntries(
    Object.entries(band).map(([name, end]) => [name, end === null ? null : roundTo(end, 2)]),
  );
}

/**
 * Share of clients who had a shade applied and were never read after washes.
 * @param {Object} fade From `fadeTables`.
 * @param {string} column "root_tone" or "toner_tone".
 * @param {string} [word] Its value; everybody where it's left out, or never had a reading.
 * @returns {number} 0 to 1.
 */
export function missingOf(fade, column, word) {
  return fade.follow_up[column]?.[word] ?? fade.follow_up[""][""];
}

/**
 * A sentence where washes lie past what the log followed, else nothing.
 * @param {Object} fade From `fadeTables`.
 * @param {?number} washes Null: never.
 * @returns {string} The sentence.
 */
export function beyondLog(fade, washes) {
  const longest = fade.support.numbers.washes[3];
  if (washes !== null && washes <= longest) {
    return "";
  }
  return `the log follows hair for ${plain(longest)} washes at most; what comes after is carried on from there`;
}
