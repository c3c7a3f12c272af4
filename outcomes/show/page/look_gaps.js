/**
 * When the log's stylists look before the rinse: intervals by their shares, looked up fast.
 */

const BUCKETS = 256; // of chances: where the search for an interval begins

// an odd multiple of evenly spread values is as evenly spread, and in another order
const ODD = [1, 40503, 28657, 10007, 65497, 17711, 33331, 52583];
const TURN = 0.6180339887498949; // of the golden ratio: where multiples come round again they begin elsewhere

/**
 * Intervals of every stylist, and in the last row of one whom the log doesn't know.
 * @param {{minutes: number[], share: number[], by_stylist: number[][]}} gaps From the model.
 * @returns {{minutes: Float64Array, ends: Float64Array, first: Uint8Array}} Minutes of the G intervals; by row
 *   their running shares; by row and bucket of chances the first interval that may be meant.
 */
export function lookGaps(gaps) {
  const rows = [...gaps.by_stylist, gaps.share];
  const count = gaps.minutes.length;
  const ends = new Float64Array(rows.length * count);
  const first = new Uint8Array(rows.length * BUCKETS);
  rows.forEach((shares, r) => {
    let sum = 0;
    const upto = shares.map((share) => (sum += share));
    // the last one takes all that is left
    upto.forEach((end, g) => (ends[r * count + g] = g + 1 < count ? end / sum : Infinity));
    for (let b = 0; b < BUCKETS; b++) {
      first[r * BUCKETS + b] = upto.findIndex((_, g) => ends[r * count + g] > b / BUCKETS);
    }
  });
  return { minutes: Float64Array.from(gaps.minutes), ends, first };
}

/**
 * Minutes from one look to the next. Each interval is drawn anew: long ones hold more of what happens.
 * @param {{minutes: Float64Array, ends: Float64Array, first: Uint8Array}} gaps From `lookGaps`.
 * @param {number} row Of the stylist.
 * @param {number} drawn Chance that the session's intervals come from.
 * @param {number} look Looks before this one.
 * @returns {number} Minutes.
 */
export function nextGap({ minutes, ends, first }, row, drawn, look) {
  let here = ODD[look & 7] * drawn + TURN * look;
  here -= Math.floor(here);
  here = here > 1 - 1e-12 ? 1 - 1e-12 : here;
  let gap = first[row * BUCKETS + ((here * BUCKETS) | 0)];
  while (ends[row * minutes.length + gap] <= here) {
    gap += 1;
  }
  return minutes[gap];
}
