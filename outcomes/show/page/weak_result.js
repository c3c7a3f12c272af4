/**
 * A result that says a rate by no line: hair that hardly moved, or was read at the end of the scale. What it says is
 * taken as a normal about the deviation that is likeliest with it (Laplace), so that deviations can be aimed at it.
 */
import { normalCdf } from "./normal.js";
import { rateOf } from "./progress.js";

const STEPS = 8;
const LONGEST = 1; // of a step, in log R
const NEAR = 1e-4; // of the likeliest: weights put right what an aim is off
const PEAK = 1 / Math.sqrt(2 * Math.PI);
const FAR = 6; // sds beyond which Mills' ratio is taken from its series
const LEAST = 1e-9;

const phi = new Float64Array(2); // log Phi(z), and the normal density over Phi(z)
const at = new Float64Array(3); // log chance, its slope and bend by the levels gained

function logCdfInto(z) {
  if (z < -FAR) {
    const mills = -z - 1 / z;
    phi[0] = -0.5 * z * z + Math.log(PEAK) - Math.log(mills);
    phi[1] = mills;
    return;
  }
  const chance = Math.max(normalCdf(z), LEAST);
  phi[0] = Math.log(chance);
  phi[1] = (PEAK * Math.exp(-0.5 * z * z)) / chance;
}

function chanceInto(side, bound, gained, sd) {
  const z = (bound - gained) / sd;
  if (side === 0) {
    at[0] = -0.5 * z * z - Math.log(sd);
    at[1] = z / sd;
    at[2] = 1 / (sd * sd);
    return;
  }
  logCdfInto(side * z);
  at[0] = phi[0];
  at[1] = (-side * phi[1]) / sd;
  at[2] = (phi[1] * (phi[1] + side * z)) / (sd * sd);
}

/**
 * The deviation of log R that a result says, how precisely, and how likely it is with it.
 * @param {{side: number, bound: number}} result 1: the levels gained are below the bound; -1: above; 0: about it.
 * @param {number} own log R without deviations.
 * @param {number} centre Its centre.
 * @param {number} factor Of recalibration.
 * @param {number} variance Of the sum of the client's and the session's deviations.
 * @param {number} share Progress by the rinse.
 * @param {number} sd Of all that errs, levels.
 * @param {number} error Of the start, levels; 0 where it isn't known.
 * @param {Float64Array} into Three numbers.
 */
export function aimAtWeakInto({ side, bound }, own, centre, factor, variance, share, sd, error, into) {
  const spread = Math.max(variance, LEAST);
  let [w, slope, bend] = [beginning({ side, bound }, own, centre, factor, spread, share, sd, error), 0, 0];
  for (let step = 0; step <= STEPS; step++) {
    const progress = rateOf(centre + factor * (own + w - centre)) * share;
    chanceInto(side, bound, error + progress, sd);
    const byDeviation = progress * factor;
    slope = at[1] * byDeviation;
    bend = Math.max(at[2] * byDeviation * byDeviation + Math.max(-at[1] * byDeviation * factor, 0), LEAST);
    const away = (slope - w / spread) / (bend + 1 / spread);
    if (step === STEPS || Math.abs(away) < NEAR) {
      break;
    }
    w += Math.min(Math.max(away, -LONGEST), LONGEST);
  }
  into[0] = w + slope / bend;
  into[1] = bend;
  into[2] = at[0] + (0.5 * slope * slope) / bend - 0.5 * Math.log(bend);
}

/** A deviation near the likeliest: that which keeps within a bound, or that of a line, drawn towards none. */
function beginning({ side, bound }, own, centre, factor, variance, share, sd, error) {
  const wanted = Math.max(bound - error, 0.5 * sd);
  const there = (Math.log(wanted / share) - centre) / factor + centre - own;
  if (side !== 0) {
    return side * there < 0 ? there : 0;
  }
  return (there * variance) / (variance + (sd / wanted) ** 2);
}

/**
 * Levels by which a start's error would have to make up for a rate; 0 where a bound is kept.
 * @param {{side: number, bound: number}} result
 * @param {number} progress Levels that the rate comes to.
 * @returns {number}
 */
export function shortBy({ side, bound }, progress) {
  const away = bound - progress;
  return side === 0 ? away : side * Math.min(side * away, 0);
}
