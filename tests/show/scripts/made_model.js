/**
 * A model made by hand, so small that its answers can be worked out on paper.
 */
import { crc32 } from "../../../outcomes/show/page/packed.js";

const HALF_STEPS = Array.from({ length: 19 }, (_, k) => 1 + k / 2);
const none = (count) => Array.from({ length: count }, () => [0]);

/**
 * The data of a page: one draw, one stylist, nobody looking before the rinse, no errors unless given.
 * @param {Object} draws By name, over those that are: rate (levels in 45 minutes), shape, saturating, sds.
 * @param {Object} changes Fields of lift that are otherwise.
 * @returns {Object} As `openModel` takes it.
 */
export function madeModel(draws = {}, changes = {}) {
  const zero = { sd_client: 0, sd_stylist: 0, sd_visit: 0, sd_result: 0, sd_look: 0, look_offset: 0, sd_start: 0 };
  const { rate, ...single } = { rate: 3, shape: 0.5, saturating: 0, ...zero, ...draws };
  const values = { ...single, coefficients: [Math.log(rate)], stylist: [0], product: [] };
  const shapes = { coefficients: [1, 1], stylist: [1, 1], product: [1, 0] };
  const [arrays, numbers] = [{}, []];
  for (const [name, value] of Object.entries(values)) {
    arrays[`lift.${name}`] = { at: 4 * numbers.length, shape: shapes[name] ?? [1], kind: "f4", digits: 7 };
    numbers.push(...[value].flat());
  }
  const about = JSON.stringify({
    choices: madeChoices(),
    lattice: {
      generator: Array.from({ length: 64 }, (_, k) => 2 * ((k * k * 1237) % 8191) + 1),
      shift: Array.from({ length: 64 }, () => 0.3),
      seed: 1,
    },
    limit: 6, most_sessions: 12, most_past: 12, few_courses: 400, no_courses: 100,
    starter_note: "usual", rare_note: "rare", hardly_note: "hardly",
    course_rule: { start_within: 1.5, goal_within: 1 },
    lift: { ...madeLift(), ...changes },
    fade: {},
    arrays,
  });
  const text = Buffer.from(Float32Array.from(numbers).buffer).toString("base64");
  return { format: "outcomes-page-model", version: 1, about, arrays: text, checksum: crc32(about + text) };
}

function madeChoices() {
  return {
    hair: ["natural", "coloured", "lightened"],
    heat: ["none", "low", "medium", "high"],
    peroxide: [1.5, 12], minutes: [1, 180], washes: [1, 200],
    levels: HALF_STEPS, stylists: ["S1"], cautions: ["Patch test and strand test first."],
    roots: null, toner: null, leftOut: { level: "nobody read it" },
  };
}

const same = (words) => Object.fromEntries(words.map((word) => [word, word]));

const noTally = { step: 5, shares: [], count: 0 };

function madeLift() {
  return {
    step: 0.5, top: 10, reference: 45,
    rows: { base: [1], later: [0], start_level: none(19), hair: none(3), heat: none(4), peroxide_pct: [[0]] },
    covariate_columns: [], covariates: {}, averaged: { natural: {}, coloured: {}, lightened: {} },
    unnamed_products: 0, product_visits: [], products: [], stylists: ["S1"], stylist_visits: [100],
    recalibration: { spread: 1, reading: 1, df: null, later: 1 },
    stand_ins: { hair: same(["natural", "coloured", "lightened"]), heat: same(["none", "low", "medium", "high"]) },
    later_hair: {},
    hazard: { coefficients: [-300, 0, 0, 0, 0, 0, 0], drops: [null, null] },
    times: { together: true, besides_first: noTally, besides_later: noTally, last: noTally, weeks: noTally },
    losses: { coefficients: [] },
    gaps: { minutes: [], share: [], by_stylist: [[]] },
    reread: [], unseen: [], converged: true, notes: [],
    support: { numbers: {}, categories: {}, sessions: { 1: 50, 2: 40, 3: 30, 4: 20 } },
    basis: { visits: 100, clients: 50, stylists: 1, calibrated: true },
  };
}
