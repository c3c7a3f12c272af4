/**
 * Chances as ten clients, for pictures that are counted rather than read.
 */
import { nearest, roundTo } from "./rounding.js";

/**
 * Whole numbers that add up to 10, each within 1 of ten times its chance. The first is said beside the picture,
 * so it's the nearest; among the rest the largest parts of a tenth get what is left.
 * @param {number[]} chances Add up to 1.
 * @returns {number[]} As many.
 * @throws {Error} Chances that don't add up to 1.
 */
export function outOfTen(chances) {
  const sum = chances.reduce((total, chance) => total + chance, 0);
  if (Math.abs(sum - 1) > 1e-6 || Math.min(...chances) < -1e-9) {
    throw new Error(`Chances add up to ${sum}; they must add up to 1.`);
  }
  const tenths = chances.map((chance) => roundTo(10 * chance, 9));
  const found = tenths.map((tenth, i) => (i ? Math.floor(tenth) : nearest(tenth)));
  const left = 10 - found.reduce((total, people) => total + people, 0);
  const byRemainder = tenths.map((tenth, i) => i).slice(1);
  byRemainder.sort((a, b) => found[a] - tenths[a] - (found[b] - tenths[b]));
  for (const i of byRemainder.slice(0, left)) {
    found[i] += 1;
  }
  return found;
}
