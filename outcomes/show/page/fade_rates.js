/**
 * Fade of new clients' hair: rates drawn once, and what they come to. Two shades that are asked about together are
 * worn by the same simulated clients, so they differ by what they are alone.
 */
import { picker } from "./chair.js";
import { namedPoints } from "./lattice.js";
import { byCode, worthOf } from "./lift_tables.js";
import { normalQuantiles } from "./normal.js";
import { progress, rateOf } from "./progress.js";
import { plain } from "./rounding.js";
import { mixingAt, whichDraw } from "./unknowns.js";

const CLIENTS = 4096; // simulated
const FIRST = ["client", "draw", "visit", "stylist", "product", "mixing"];

/**
 * Tables of one measure of fade.
 * @param {string} measure "level" at the roots, or "tone_left" at the lengths.
 * @param {Object} fade The model's facts about it.
 * @param {Object<string, Float64Array>} draw Its draws of single numbers.
 * @param {Object} arrays The model's arrays.
 * @param {Object} lattice The model's.
 * @returns {Object} Facts, tables as in `liftTables`, and room for clients.
 */
export function fadeTables(measure, fade, draw, arrays, lattice) {
  const coefficients = arrays[`${measure}.coefficients`];
  const table = Object.fromEntries(
    Object.entries(fade.columns).map(([column, { rows }]) => [column, worthOf(rows, coefficients)]),
  );
  return {
    ...fade,
    draw,
    lattice,
    table,
    isAtRoots: measure === "level",
    draws: coefficients.shape[0],
    worthOfBase: worthOf([fade.base], coefficients),
    stylist: byCode(arrays[`${measure}.stylist`]),
    product: byCode(arrays[`${measure}.product`]),
    clients: new Map(),
  };
}

/**
 * Clients whose hair is alike in nothing but what is asked about.
 * @param {Object} fade From `fadeTables`.
 * @param {string[]} asked Columns that every question gives.
 * @returns {Object} draw; own and centre, parts of log R without what is asked; drawn values of other columns.
 */
function clientsFor(fade, asked) {
  const open = Object.keys(fade.columns).filter((column) => !asked.includes(column));
  const key = open.join();
  if (!fade.clients.has(key)) {
    fade.clients.set(key, drawnClients(fade, open));
  }
  return fade.clients.get(key);
}

function drawnClients(fade, open) {
  const { draws, draw: parameter } = fade;
  const width = draws + 1;
  const points = namedPoints(fade.lattice, CLIENTS, [...FIRST, ...open]);
  const draw = whichDraw(points.get("draw"), draws);
  const drawn = {};
  for (const column of open) {
    drawn[column] = new Int32Array(points.get(column).map(picker(fade.columns[column].share)));
  }
  const pick = picker(fade.stylist_visits);
  const [client, visit] = ["client", "visit"].map((name) => normalQuantiles(points.get(name)));
  const own = new Float64Array(CLIENTS);
  const centre = new Float64Array(CLIENTS);
  for (let i = 0; i < CLIENTS; i++) {
    const d = draw[i];
    const row = pick(points.get("stylist")[i]) * width;
    own[i] = fade.worthOfBase[d] + fade.stylist[row + d];
    own[i] += parameter.sd_client[d] * client[i] + parameter.sd_visit[d] * visit[i];
    centre[i] = fade.worthOfBase[draws] + fade.stylist[row + draws];
    for (const column of open) {
      own[i] += fade.table[column][drawn[column][i] * width + d];
      centre[i] += fade.table[column][drawn[column][i] * width + draws];
    }
  }
  const product = normalQuantiles(points.get("product")).map((z, i) => parameter.sd_product[draw[i]] * z);
  return { draw, own, centre, drawn, product, mixing: mixingAt(fade.recalibration.df, points.get("mixing")) };
}

/**
 * Rates of all clients' hair for a shade.
 * @param {Object} fade From `fadeTables`.
 * @param {Object} shade Values by column: root_level, root_tone, toner_tone, shampoo, zone; columns left out are
 *   averaged over the log's visits there.
 * @returns {{clients: Object, rate: Float64Array}} Progress in one reference of washes.
 */
export function fadeRates(fade, shade) {
  const { draws } = fade;
  const width = draws + 1;
  const { spread, df } = fade.recalibration;
  const asked = Object.keys(shade);
  const clients = clientsFor(fade, asked);
  const added = worthOfShade(fade, shade, width);
  const codes = fade.isAtRoots ? codesOf(fade, shade, clients) : null;
  const rate = new Float64Array(CLIENTS);
  for (let i = 0; i < CLIENTS; i++) {
    const d = clients.draw[i];
    let own = clients.own[i] + added[d];
    let centre = clients.centre[i] + added[draws];
    if (codes !== null) {
      const row = codes[i] * width;
      own += codes[i] < 0 ? clients.product[i] : fade.product[row + d];
      centre += codes[i] < 0 ? 0 : fade.product[row + draws];
    }
    rate[i] = rateOf(spread === 1 && df === null ? own : centre + spread * clients.mixing[i] * (own - centre));
  }
  return { clients, rate };
}

/** What the shade's own values add to log R, by draw. */
function worthOfShade(fade, shade, width) {
  const added = new Float64Array(width);
  for (const [column, value] of Object.entries(shade)) {
    const row = fade.columns[column].values.indexOf(value);
    if (row < 0) {
      throw new Error(`${column}: found ${value}, which the log never had; choose another`);
    }
    for (let d = 0; d < width; d++) {
      added[d] += fade.table[column][row * width + d];
    }
  }
  return added;
}

/** Place of every client's root shade among those that the log knows an effect of; -1 for another. */
function codesOf(fade, shade, clients) {
  const { products, columns } = fade;
  const placeOf = (level, tone) =>
    level === null || level === undefined ? -1 : products.indexOf(`${plain(level)} ${tone ?? ""}`.trim());
  const drawnOf = (column, i) => columns[column]?.values[clients.drawn[column][i]];
  if ("root_level" in shade && "root_tone" in shade) {
    return new Int32Array(CLIENTS).fill(placeOf(shade.root_level, shade.root_tone));
  }
  const known = new Map();
  return new Int32Array(CLIENTS).map((_, i) => {
    const level = shade.root_level ?? drawnOf("root_level", i);
    const tone = shade.root_tone ?? drawnOf("root_tone", i);
    const key = `${level} ${tone}`;
    if (!known.has(key)) {
      known.set(key, placeOf(level, tone));
    }
    return known.get(key);
  });
}

/**
 * Progress of all clients' hair after so many washes.
 * @param {Object} fade From `fadeTables`.
 * @param {Object} shade As in `fadeRates`.
 * @param {number} washes 0 or more.
 * @returns {Float64Array} Levels, or -log(share left).
 */
export function progressAfter(fade, shade, washes) {
  const { shape, saturating } = fade.draw;
  const { clients, rate } = fadeRates(fade, shade);
  const share = shape.map((theta, d) => progress(washes / fade.reference, theta, saturating[d] > 0));
  for (let i = 0; i < CLIENTS; i++) {
    rate[i] *= share[clients.draw[i]];
  }
  return rate;
}

/**
 * Washes until progress first passes a threshold; infinite where it never does.
 * @param {Object} fade From `fadeTables`.
 * @param {{clients: Object, rate: Float64Array}} rates From `fadeRates`.
 * @param {number} threshold Above 0, as progress.
 * @param {number} factor On every rate.
 * @returns {Float64Array} One a client.
 */
export function washesUntil(fade, { clients, rate }, threshold, factor = 1) {
  const { shape, saturating } = fade.draw;
  return rate.map((one, i) => {
    const theta = shape[clients.draw[i]];
    const share = threshold / (factor * one);
    if (!(saturating[clients.draw[i]] > 0)) {
      return fade.reference * share ** (1 / theta);
    }
    // a saturating curve never gets there where its ceiling lies below
    const left = 1 + share * Math.expm1(-1 / theta);
    return left > 0 ? fade.reference * -theta * Math.log(left) : Infinity;
  });
}
