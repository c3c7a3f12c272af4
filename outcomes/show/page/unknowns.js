/**
 * What a question leaves open, one set of values a course, the same for every plan: parameters, people, looks,
 * readings. The same points as the command line takes.
 */
import { latticePoints, namedPoints } from "./lattice.js";
import { normalQuantiles } from "./normal.js";

/**
 * Evenly spread values for n courses.
 * @param {Object} model Opened: lift's facts, arrays and the lattice.
 * @param {number} n Courses, a power of 2.
 * @param {number} sessions At most so many, 1 to 12.
 * @returns {Object} n; kept (room for what is worked out from them); draw (which draw of the parameters); client,
 *   stylistZ, start (standard normal); stylist, product, laterHair and covariates by column (uniform); mixing; visit
 *   (normal), gap, condition, reading (uniform) and readingZ (normal), each a list by session.
 */
export function drawUnknowns(model, n, sessions) {
  const { lift, lattice, draws } = model;
  // in this order: the lattice spreads its first dimensions best
  const names = ["client", "visit 0", "draw", "stylist", "start", "gap 0", "visit 1", "gap 1", "product"];
  names.push(...lift.covariate_columns, "condition 0", "later_hair", "mixing");
  for (let k = 0; k < sessions; k++) {
    names.push(`visit ${k}`, `gap ${k}`, `condition ${k}`, `reading ${k}`);
  }
  const points = namedPoints(lattice, n, names);
  const eachSession = (name) => Array.from({ length: sessions }, (_, k) => points.get(`${name} ${k}`));
  const reading = eachSession("reading");
  return {
    n,
    kept: new Map(),
    draw: whichDraw(points.get("draw"), draws),
    client: normalQuantiles(points.get("client")),
    stylist: points.get("stylist"),
    stylistZ: normalQuantiles(points.get("stylist")),
    start: normalQuantiles(points.get("start")),
    product: points.get("product"),
    mixing: mixingAt(lift.recalibration.df, points.get("mixing")),
    laterHair: points.get("later_hair"),
    covariates: Object.fromEntries(lift.covariate_columns.map((column) => [column, points.get(column)])),
    visit: eachSession("visit").map(normalQuantiles),
    gap: eachSession("gap"),
    condition: eachSession("condition"),
    reading,
    readingZ: reading.map(normalQuantiles),
  };
}

/**
 * Which of the draws of the parameters.
 * @param {Float64Array} uniform Chances.
 * @param {number} draws How many there are.
 * @returns {Int32Array} From 0 on.
 */
export function whichDraw(uniform, draws) {
  return new Int32Array(uniform.map((u) => Math.min(Math.floor(u * draws), draws - 1)));
}

/**
 * Values for a client's earlier sessions, from the lattice's end.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses.
 * @param {number} past Sessions.
 * @returns {Object} The same, and whose (chooses among courses: uniform, and its places in rising order); pastStart
 *   and pastVisit (normal), each a list by session.
 */
export function withPast({ lattice }, unknowns, past) {
  const { n, kept } = unknowns;
  const last = lattice.generator.length - 1;
  const normal = (k) => keptIn(kept, `past ${k}`, () => normalQuantiles(latticePoints(lattice, n, last - k)));
  return {
    ...unknowns,
    whose: keptIn(kept, "whose", () => choosing(latticePoints(lattice, n, last))),
    pastStart: Array.from({ length: past }, (_, j) => normal(1 + 2 * j)),
    pastVisit: Array.from({ length: past }, (_, j) => normal(2 + 2 * j)),
  };
}

/** What is the same for every past: worked out once. */
function keptIn(kept, name, work) {
  if (!kept.has(name)) {
    kept.set(name, work());
  }
  return kept.get(name);
}

/** Chances and their places in rising order, one to each n-th as a lattice has them. */
function choosing(uniform) {
  const order = new Int32Array(uniform.length);
  uniform.forEach((u, i) => (order[Math.floor(u * uniform.length)] = i));
  return { uniform, order };
}

/**
 * Each of the first draws of the parameters with every course, for what differs between draws alone.
 * @param {Object} unknowns Of few courses.
 * @param {number} draws How many.
 * @returns {Object} The same, draws times as many courses, those of one draw together.
 */
export function crossWithDraws(unknowns, draws) {
  const { n } = unknowns;
  const tiled = (values) => {
    const found = new Float64Array(draws * n);
    for (let d = 0; d < draws; d++) {
      found.set(values, d * n);
    }
    return found;
  };
  const draw = new Int32Array(draws * n).map((_, i) => Math.floor(i / n));
  const crossed = { n: draws * n, kept: new Map(), draw };
  for (const [name, values] of Object.entries(unknowns)) {
    if (Array.isArray(values)) {
      crossed[name] = values.map(tiled);
    } else if (name === "covariates") {
      crossed[name] = Object.fromEntries(Object.entries(values).map(([column, u]) => [column, tiled(u)]));
    } else if (!["n", "draw", "kept"].includes(name)) {
      crossed[name] = tiled(values);
    }
  }
  return crossed;
}

/**
 * sqrt(df / chi-squared) at these chances, from the chi-squared density summed up over log x.
 * @param {?number} df Degrees of freedom; null: 1 everywhere.
 * @param {Float64Array} uniform Chances.
 * @returns {Float64Array} As many.
 */
export function mixingAt(df, uniform) {
  if (df === null) {
    return new Float64Array(uniform.length).fill(1);
  }
  const cells = 4000;
  const first = Math.log(df) - 30 / Math.sqrt(df);
  const width = (38 / Math.sqrt(df) + 1) / cells;
  const density = (logX) => Math.exp(0.5 * df * (logX - Math.log(df)) - 0.5 * (Math.exp(logX) - df));
  const below = new Float64Array(cells + 1);
  for (let i = 1; i <= cells; i++) {
    below[i] = below[i - 1] + 0.5 * (density(first + i * width) + density(first + (i - 1) * width));
  }
  return uniform.map((u) => {
    const at = u * below[cells];
    let low = 0;
    for (let high = cells; high - low > 1; ) {
      const middle = (low + high) >> 1;
      [low, high] = below[middle] <= at ? [middle, high] : [low, middle];
    }
    const rise = below[low + 1] - below[low];
    const logX = first + width * (low + (rise > 0 ? (at - below[low]) / rise : 0));
    return Math.sqrt(df / Math.exp(logX));
  });
}
