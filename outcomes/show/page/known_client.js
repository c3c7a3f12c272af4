/**
 * Courses of a client whose earlier sessions are known: the model's own conditional, without a new fit.
 *
 * Parameters, who works and what the hair is like are chosen by how likely they make the results, nearly; given
 * those, the client's and the sessions' deviations are drawn near what the results say; and a course weighs as much
 * as the results are likelier than all that aiming made them.
 */
import { chosenSessions, drawNear, logEvidence, readBefore } from "./read_before.js";
import { placesInOrder } from "./rising.js";
import { roundTo } from "./rounding.js";
import { withPast } from "./unknowns.js";

const UNCHOSEN = 0.2; // share of courses that are chosen without regard to the results
const RATIO_COVERAGE = 0.8;

/**
 * Courses of a client with this past.
 * @param {Object} model Opened.
 * @param {Object} past From `earlierSessions`.
 * @param {Object} plan Checked.
 * @returns {{unknowns: Object, past: Object, client: Float64Array, level: Float64Array, weight: Float64Array,
 *   never: number}} Theirs; the client's deviation of log R; the true level after the last session; weights, 1 on
 *   average; the share of the weight with courses whose results can't be.
 */
export function knownClient(model, past, plan) {
  const unknowns = withPast(model, model.unknowns, past.visits.length);
  const sessions = readBefore(model, unknowns, past, plan);
  const { chosen, odds } = chooseCourses(logEvidence(model, unknowns, sessions), sessions[0].own, unknowns.whose);
  const own = wornBy(unknowns, chosen);
  const { client, level, logWeight, never } = drawNear(model, own, chosenSessions(sessions, chosen));
  const log = logWeight.map((one, i) => one - Math.log(odds[chosen[i]]));
  const most = log.reduce((best, one) => Math.max(best, one), -Infinity);
  const weight = log.map((one) => Math.exp(one - most));
  const mean = weight.reduce((sum, one) => sum + one, 0) / weight.length;
  const share = weight.reduce((sum, one, i) => sum + one * never[i], 0) / (mean * weight.length);
  return { unknowns: own, past, client, level, weight: weight.map((one) => one / mean), never: share };
}

/** Courses chosen in proportion to their evidence, and the odds of choosing each over those without any choice. */
function chooseCourses(evidence, orderBy, whose) {
  const n = evidence.length;
  const most = evidence.reduce((best, one) => Math.max(best, one), -Infinity);
  const share = evidence.map((one) => Math.exp(one - most));
  const mean = share.reduce((sum, one) => sum + one, 0) / n;
  const odds = share.map((one) => ((1 - UNCHOSEN) * one) / mean + UNCHOSEN);
  // in order of their rates, so that evenly spread numbers choose evenly spread rates
  const order = placesInOrder(orderBy);
  const upto = new Float64Array(n);
  order.forEach((i, place) => (upto[place] = odds[i] + (place ? upto[place - 1] : 0)));
  const chosen = whose.map((u) => {
    const at = u * upto[n - 1];
    let low = 0;
    let high = n - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (upto[middle] <= at) {
        low = middle + 1;
      } else {
        high = middle;
      }
    }
    return order[low];
  });
  return { chosen: new Int32Array(chosen), odds };
}

/** The same luck for other people and parameters, which are those of the courses chosen. */
function wornBy(unknowns, chosen) {
  const [draw, mixing] = ["draw", "mixing"].map((name) => unknowns[name].map((_, i) => unknowns[name][chosen[i]]));
  return { ...unknowns, kept: new Map(), draw, mixing, people: { of: unknowns, chosen } };
}

/**
 * The client's own rate over that of clients like them.
 * @param {Object} model Opened.
 * @param {Object} known From `knownClient`.
 * @returns {{visits: number, coverage: number, ratio: number, low: number, high: number, courses: number}} Middle
 *   and ends of a band; so many courses of equal weight would tell as much; few where what was told can hardly be.
 */
export function rateOfClient({ lift }, { unknowns, past, client, weight, never }) {
  const deviation = client.map((one, i) => lift.recalibration.spread * unknowns.mixing[i] * one);
  const order = placesInOrder(deviation);
  const total = weight.reduce((sum, one) => sum + one, 0);
  const squares = weight.reduce((sum, one) => sum + one * one, 0);
  const ends = [0.1, 0.5, 0.9].map((share) => {
    let sum = 0;
    return Math.exp(deviation[order.find((i) => (sum += weight[i]) >= share * total) ?? order.at(-1)]);
  });
  const [low, ratio, high] = ends.map((end) => roundTo(end, 4));
  return {
    visits: past.visits.length,
    coverage: RATIO_COVERAGE,
    ratio, low, high,
    courses: Math.round(((1 - never) * total * total) / squares),
  };
}
