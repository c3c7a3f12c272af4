/**
 * Who sits in the chair and who works there: effects of people and of what the question leaves open.
 */
import { takenAt } from "./columns.js";

/** Minutes of a period in which hair condition may end a session. */
export const PERIOD = 5;

/**
 * Which share a chance falls into.
 * @param {number[]} amounts Shares or counts; need not add up to 1.
 * @returns {function(number): number} Takes a chance, gives its place among the amounts.
 */
export function picker(amounts) {
  const ends = [];
  let sum = 0;
  for (const amount of amounts) {
    sum += amount;
    ends.push(sum);
  }
  const last = ends.length - 1;
  return (chance) => {
    const at = chance * sum;
    let place = 0;
    while (place < last && ends[place] <= at) {
      place += 1;
    }
    return place;
  };
}

/**
 * Whose hands, and their effects on log R.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses.
 * @param {?string} stylist A code, "new", or null for one of the log's in proportion to their visits.
 * @returns {{stylist: Int32Array, own: Float64Array, centre: Float64Array}} Place of the stylist, that of a new
 *   one being behind the last; effects as drawn, and their mean.
 */
export function stylistEffects(model, unknowns, stylist) {
  return kept(unknowns, `stylist ${stylist}`, (of) => stylistsOf(model, of, stylist));
}

/**
 * Effects worked out when they're first asked for: questions in a row are mostly about the same people. Those of
 * chosen courses are taken from the courses they were chosen of.
 */
function kept(unknowns, name, work) {
  const { people, kept: values } = unknowns;
  if (!values.has(name)) {
    values.set(name, people ? takenFrom(kept(people.of, name, work), people.chosen) : work(unknowns));
  }
  return values.get(name);
}

function takenFrom(effects, chosen) {
  if (ArrayBuffer.isView(effects)) {
    return takenAt(effects, chosen);
  }
  return Object.fromEntries(Object.entries(effects).map(([name, values]) => [name, takenAt(values, chosen)]));
}

function stylistsOf(model, unknowns, stylist) {
  const { lift, tables, draws, draw } = model;
  const { n, draw: which } = unknowns;
  const { width } = tables;
  const nobody = lift.stylists.length;
  const chosen = new Int32Array(n).fill(stylist === "new" ? nobody : lift.stylists.indexOf(stylist));
  if (stylist === null) {
    const pick = picker(lift.stylist_visits);
    unknowns.stylist.forEach((u, i) => (chosen[i] = pick(u)));
  }
  const own = new Float64Array(n);
  const centre = new Float64Array(n);
  const isNew = stylist === "new" ? 1 : 0;
  for (let i = 0; i < n; i++) {
    const d = which[i];
    const row = chosen[i] * width;
    own[i] = isNew * draw.sd_stylist[d] * unknowns.stylistZ[i] + tables.stylist[row + d];
    centre[i] = tables.stylist[row + draws];
  }
  return { stylist: chosen, own, centre };
}

/**
 * Effects on log R of what the question leaves open, in the shares of this hair's visits; and of one of the
 * log's products.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses.
 * @param {string} hair A word.
 * @returns {{own: Float64Array, centre: Float64Array}} As drawn, and their mean.
 */
export function caseMix(model, unknowns, hair) {
  return kept(unknowns, `hair ${hair}`, (of) => casesOf(model, of, hair));
}

function casesOf(model, unknowns, hair) {
  const { lift, tables } = model;
  const effects = { own: new Float64Array(unknowns.n), centre: new Float64Array(unknowns.n) };
  for (const [column, { rows, share }] of Object.entries(lift.covariates[hair] ?? {})) {
    const pick = picker(share);
    const chances = unknowns.covariates[column];
    addEffects(effects, model, unknowns, tables.covariates[column], chances, (u) => rows[pick(u)]);
  }
  const visits = [...lift.product_visits, lift.unnamed_products];
  if (visits.some((count) => count > 0)) {
    addEffects(effects, model, unknowns, tables.product, unknowns.product, picker(visits));
  }
  return effects;
}

function addEffects({ own, centre }, { tables, draws }, { n, draw }, table, uniform, rowOf) {
  for (let i = 0; i < n; i++) {
    const row = rowOf(uniform[i]) * tables.width;
    own[i] += table[row + draw[i]];
    centre[i] += table[row + draws];
  }
}

/**
 * Hair in later sessions.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses.
 * @param {string} hair Before the first.
 * @returns {Uint8Array} Its place among the words of hair.
 */
export function hairLater(model, unknowns, hair) {
  return kept(unknowns, `later ${hair}`, (of) => laterOf(model, of, hair));
}

function laterOf(model, unknowns, hair) {
  const shares = model.lift.later_hair[hair] ?? { lightened: 1 };
  const places = Object.keys(shares).map((word) => model.choices.hair.indexOf(word));
  const pick = picker(Object.values(shares));
  const found = new Uint8Array(unknowns.n);
  unknowns.laterHair.forEach((u, i) => (found[i] = places[pick(u)]));
  return found;
}

/**
 * Chance of a stop for hair condition by the end of each five minutes.
 * @param {Object} model Opened.
 * @param {Object} plan peroxide (%), heat, minutes (the longest of interest).
 * @param {string} hair A word.
 * @param {boolean} isLater Whether it's a later session.
 * @returns {Float64Array} One a period begun within the minutes.
 */
export function stopChances(model, plan, hair, isLater) {
  const [one, minutes, peroxide, heat, coloured, lightened, later] = model.lift.hazard.coefficients;
  // minutes count from half an hour on, in quarters of an hour
  const odds = one + peroxide * Math.log(plan.peroxide / 6) + heat * model.choices.heat.indexOf(plan.heat)
    + (hair === "coloured" ? coloured : 0) + (hair === "lightened" ? lightened : 0) + (isLater ? later : 0);
  const periods = Math.ceil(plan.minutes / PERIOD - 1e-9);
  let left = 1;
  return Float64Array.from({ length: periods }, (_, p) => {
    const here = odds + minutes * ((PERIOD * (p + 1) - 30) / 15);
    left /= 1 + Math.exp(Math.min(here, 300)); // surer than sure
    return 1 - left;
  });
}
