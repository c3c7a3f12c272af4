/**
 * Courses of a client whose earlier sessions are known: the model's own conditional, without a new fit.
 *
 * Parameters, who works and what the hair is like are chosen by how likely they make the results, nearly; given
 * those, the client's and the sessions' deviations are drawn near what the results say; and a course weighs as much
 * as the results are likelier than all that aiming made them.
 */
import { relative, takenAt } from "./columns.js";
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
  for (let i = 0; i < chosen.length; i++) {
    logWeight[i] -= Math.log(odds[chosen[i]]);
  }
  const weight = relative(logWeight);
  let share = 0;
  for (let i = 0; i < weight.length; i++) {
    share += never[i] * weight[i];
  }
  return { unknowns: own, past, client, level, weight, never: share / weight.length };
}

/** Courses chosen in proportion to their evidence, and the odds of choosing each over those without any choice. */
function chooseCourses(evidence, orderBy, whose) {
  const n = evidence.length;
  const odds = relative(evidence);
  // in order of their rates, so that evenly spread numbers choose evenly spread rates
  const order = placesInOrder(orderBy);
  const upto = new Float64Array(n);
  let all = 0;
  for (let place = 0; place < n; place++) {
    const i = order[place];
    odds[i] = (1 - UNCHOSEN) * odds[i] + UNCHOSEN;
    all += odds[i];
    upto[place] = all;
  }
  const chosen = new Int32Array(n);
  let place = 0;
  for (const i of whose.order) {
    while (place < n - 1 && upto[place] <= whose.uniform[i] * all) {
      place += 1;
    }
    chosen[i] = order[place];
  }
  return { chosen, odds };
}

/** The same luck for other people and parameters, which are those of the courses chosen. */
function wornBy(unknowns, chosen) {
  const [draw, mixing] = [unknowns.draw, unknowns.mixing].map((values) => takenAt(values, chosen));
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
  const deviation = new Float64Array(client.length);
  let [total, squares] = [0, 0];
  for (let i = 0; i < deviation.length; i++) {
    deviation[i] = lift.recalibration.spread * unknowns.mixing[i] * client[i];
    total += weight[i];
    squares += weight[i] * weight[i];
  }
  const order = placesInOrder(deviation);
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
