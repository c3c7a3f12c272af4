/**
 * What several visits add up to: shares of the amounts 0, step, 2 step, ... of each, and plain convolutions.
 */

const TIE = 1e-9;

/**
 * One amount for sure.
 * @param {number} amount Above 0.
 * @returns {{step: number, shares: number[], count: number}} A tally.
 */
export function always(amount) {
  return { step: amount, shares: [0, 1], count: 0 };
}

/**
 * Shares of what one, two, ... visits add up to, each visit by itself.
 * @param {{shares: number[]}} first Of a first visit.
 * @param {{shares: number[]}} later Of every later one, on the same grid.
 * @param {number} most Visits.
 * @returns {number[][]} As many.
 */
export function several(first, later, most) {
  const sums = [first.shares];
  while (sums.length < most) {
    sums.push(convolved(sums.at(-1), later.shares));
  }
  return sums;
}

function convolved(one, other) {
  const found = Array.from({ length: one.length + other.length - 1 }, () => 0);
  one.forEach((a, i) => other.forEach((b, j) => (found[i + j] += a * b)));
  return found;
}

/**
 * Shares of amounts that end at a cap.
 * @param {{shares: number[]}} tally What would be without it; of nothing: the cap itself.
 * @param {number} most Place of the cap.
 * @returns {number[]} Up to the cap.
 */
export function capped({ shares }, most) {
  const found = Array.from({ length: most + 1 }, (_, place) => (place < most && shares[place]) || 0);
  found[most] = 1 - found.reduce((sum, share) => sum + share, 0);
  return found;
}

/**
 * The same sums where every visit takes more: all but the last a fixed amount.
 * @param {number[][]} sums Of one, two, ... visits.
 * @param {number} more In steps of their grid; what it comes to in so many visits is put to the nearest step.
 * @param {number[]} last Shares of what the last one takes more.
 * @returns {number[][]} As many.
 */
export function raised(sums, more, last) {
  return sums.map((shares, k) => convolved([...Array(Math.floor(k * more + 0.5)).fill(0), ...shares], last));
}

/**
 * Chances of what a course adds up to.
 * @param {number[]} chances Of 1, 2, ..., limit sessions, then of more.
 * @param {number[][]} sums Shares of what so many sessions add up to.
 * @returns {number[]} On their grid; what it lacks of 1 is the chance of more sessions than the limit.
 */
export function untilDone(chances, sums) {
  const found = Array.from({ length: Math.max(...sums.map((shares) => shares.length)) }, () => 0);
  sums.forEach((shares, k) => shares.forEach((share, i) => (found[i] += chances[k] * share)));
  return found;
}

/**
 * Place of the smallest amount within which this share lies.
 * @param {number[]} chances On a grid; their sum may be below 1.
 * @param {number} share 0 to 1.
 * @returns {?number} Null: beyond the grid.
 */
export function smallestWith(chances, share) {
  let sum = 0;
  const found = chances.findIndex((chance) => (sum += chance) >= share - TIE);
  return found < 0 ? null : found;
}
