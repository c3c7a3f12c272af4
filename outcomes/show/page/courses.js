/**
 * Courses worked session by session: the client stays the same, every session has its own luck.
 */
import { caseMix, hairLater, stylistEffects, stopChances } from "./chair.js";
import { placesUpTo } from "./columns.js";
import { reachedByDraw, workSession } from "./session.js";

const EXACT = 1e-9; // levels; stands for a reading sd of 0

/**
 * What came of a plan.
 * @param {Object} model Opened.
 * @param {Object} plan start, goal, hair, peroxide, heat, minutes, stylist.
 * @param {number} limit Sessions at most.
 * @param {?Object} known The client, from `knownClient`; null for a new one.
 * @returns {{sessions: Float64Array, levels: Float64Array[]}} Chance that the goal is read in session 1, 2, ...,
 *   limit, or not within them; by session, chances of the result read after it, from level 1 on in recording
 *   steps (a course that is done keeps its last).
 */
export function followCourses(model, plan, limit, known = null) {
  const course = openCourse(model, known ? known.unknowns : model.unknowns, plan, known);
  const { n } = course.unknowns;
  const courses = {
    left: n,
    at: placesUpTo(n),
    level: trueStarts(model, course),
    weight: known ? known.weight.slice() : new Float64Array(n).fill(1),
  };
  const sessions = new Float64Array(limit + 1);
  const done = new Float64Array(model.choices.levels.length);
  const levels = [];
  for (let k = 0; k < limit; k++) {
    const below = new Float64Array(done.length);
    if (courses.left) {
      sessions[k] = workSession(model, openSession(model, course, k), courses, { done, below }) / n;
    }
    levels.push(below.map((chance, cell) => (chance + done[cell]) / n));
  }
  sessions[limit] = courses.weight.subarray(0, courses.left).reduce((sum, weight) => sum + weight, 0) / n;
  return { sessions, levels };
}

/**
 * Chance of reading the goal in the first session, for single draws of the parameters and a new client.
 * @param {Object} model Opened.
 * @param {Object} plan As in `followCourses`.
 * @returns {Float64Array} One a draw.
 */
export function todayByDraw(model, plan) {
  const { single, singleDraws } = model;
  const course = openCourse(model, single, plan, null);
  const sums = reachedByDraw(model, openSession(model, course, 0), trueStarts(model, course));
  return sums.slice(0, singleDraws).map((sum) => (sum * singleDraws) / single.n);
}

/** True levels when lightener first goes on. */
function trueStarts({ draw, lift }, { unknowns, plan, known }) {
  if (known?.past.isCopied) {
    return known.level.map((level) => Math.min(level, lift.top));
  }
  return unknowns.start.map((z, i) => Math.min(plan.start + draw.sd_start[unknowns.draw[i]] * z, lift.top));
}

/** What stays the same from session to session. */
function openCourse(model, unknowns, plan, known) {
  const { n, draw } = unknowns;
  const { sd_client: sd } = model.draw;
  const people = stylistEffects(model, unknowns, plan.stylist);
  const cases = caseMix(model, unknowns, plan.hair);
  const own = new Float64Array(n);
  const centre = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const client = known ? known.client[i] : sd[draw[i]] * unknowns.client[i];
    own[i] = people.own[i] + client + cases.own[i];
    centre[i] = people.centre[i] + cases.centre[i];
  }
  return {
    plan, unknowns, known, own, centre,
    stylist: people.stylist,
    laterHair: hairLater(model, unknowns, plan.hair),
  };
}

/** Whether recalibration does anything to rates. */
function isRescaling({ spread, df }) {
  return spread !== 1 || df !== null;
}

/** What is alike in all courses of session k, from 0 on. */
function openSession(model, { plan, unknowns, known, own, centre, stylist, laterHair }, k) {
  const { lift, tables, choices, draw } = model;
  const { width } = tables;
  const isLater = k > 0 || Boolean(known?.past.continues);
  const heat = choices.heat.indexOf(plan.heat) * width;
  const strength = Math.log(plan.peroxide / 6);
  const scale = lift.recalibration.reading;
  const sharpness = (sds) => sds.map((sd) => 1 / Math.max(scale * sd, EXACT));
  return {
    own, centre, stylist, laterHair,
    hasHistory: isLater,
    isBack: k > 0,
    isRescaled: isRescaling(lift.recalibration),
    goal: plan.goal,
    minutes: plan.minutes,
    cut: plan.goal - lift.step / 2,
    firstHair: choices.hair.indexOf(plan.hair),
    startCell: Math.round((plan.start - 1) / lift.step),
    fixed: tables.base.map(
      (base, d) => base + tables.heat[heat + d] + strength * tables.strength[d] + (isLater ? tables.later[d] : 0),
    ),
    visitFactor: k > 0 || known ? lift.recalibration.later : 1,
    stops: choices.hair.map((hair) => stopChances(model, plan, hair, isLater)),
    sdResult: draw.sd_result.map((sd) => scale * sd),
    sharpLook: sharpness(draw.sd_look),
    sharpResult: sharpness(draw.sd_result),
    unseen: model.unseen,
    reread: model.reread,
    tally: new Float64Array(6),
    draw: unknowns.draw,
    mixing: unknowns.mixing,
    visit: unknowns.visit[k],
    gap: unknowns.gap[k],
    condition: unknowns.condition[k],
    reading: unknowns.reading[k],
    readingZ: unknowns.readingZ[k],
  };
}
