/**
 * How many sessions does this goal need?
 */
import { courseCosts, enteredFigures } from "./costs.js";
import { followCourses, todayByDraw } from "./courses.js";
import { earlierSessions, ofTheCourse, writtenDown } from "./earlier.js";
import { knownClient, rateOfClient } from "./known_client.js";
import { outOfTen } from "./out_of_ten.js";
import { supportOfPlan } from "./plan_support.js";
import { checkedPlan } from "./question.js";
import { roundTo } from "./rounding.js";
import { courseCondition } from "./strand_condition.js";
import { chanceInWords, held, outsideSentence, sessionsSentence, spanned } from "./wording.js";

const COVERAGE = 0.8;
const WIDE = 0.95; // where a plan is outside what the log covers; a session wider at both ends besides
const SHOWN = 0.005; // numbers of sessions rarer than this at the far end share a place

/**
 * The answer; see `answerSessions`.
 * @param {Object} model Opened.
 * @param {Object} question As `answerSessions` takes it.
 * @returns {Object} The answer.
 */
export function sessionsAnswer(model, question) {
  const asked = checkedPlan(model.choices, question);
  const past = earlierSessions(model, asked, question.past ?? []);
  const plan = ofTheCourse(asked, past);
  const told = past && knownOnce(model, past, plan);
  // what can hardly be tells nothing: the forecast is then that of a new client, with an open end
  const known = told && told.rate.courses >= model.noCourses ? told : null;
  const { limit, lift } = model;
  const found = followCourses(model, plan, model.follow, known);
  const needed = (past ? past.ofCourse : 0) + (fewest(found.sessions, 0.5) ?? found.sessions.length);
  const { support, notes } = supportOfPlan(model, plan, needed, past, told?.rate.courses);
  const chances = [...found.sessions.slice(0, limit), sumOf(found.sessions.slice(limit))];
  const isOutside = support === "outside";
  const median = fewest(chances, 0.5);
  const band = wholeBand(chances, isOutside, told !== known);
  const { basis } = lift;
  const course = { chances, band, isOutside, isLater: Boolean(past?.ofCourse), minutes: plan.minutes };
  const rests = { isEdge: support === "edge", isStarter: basis.starter === true, isKnown: past !== null };
  return {
    inputs: { ...plan, limit, seed: model.lattice.seed, averaged: averagedOver(lift, plan.hair), ...pastOf(past) },
    sessions: asShares(chances),
    median: isOutside ? null : median,
    band,
    reach_today: reachToday(model, plan, chances[0], known),
    levels: found.levels.slice(0, limit).map((of, k) => levelBand(model, k + 1, of)),
    coverage: COVERAGE,
    support,
    support_notes: notes,
    basis,
    cautions: model.choices.cautions,
    sentence: isOutside ? outsideSentence(rests.isStarter) : sessionsSentence(chances, { ...band, median }, rests),
    ...clientOf(told, known),
    ...courseCosts(lift.times, enteredFigures(question), course),
    ...conditionOf(model, plan, question, course),
    said: isOutside ? outsideSaid(limit, band) : saidOf(chances, limit, band),
  };
}

function conditionOf(model, plan, { condition = null, floor = null }, course) {
  if (condition === null && floor !== null) {
    throw new Error("floor: found no condition beside it; enter the condition too");
  }
  return condition === null ? {} : { condition: courseCondition(model, plan, { condition, floor }, course) };
}

/** The client; kept, since most questions in a row are about the same one. */
function knownOnce(model, past, plan) {
  // a goal says something of a session that was stopped at it; today's start says nothing of those before
  const told = past.visits.map(({ goal, notYet, ...one }) => (one.isStoppedAtGoal ? [one, goal, notYet] : one));
  const key = JSON.stringify([told, plan.hair, plan.stylist]);
  if (model.lastKnown?.key !== key) {
    const known = knownClient(model, past, plan);
    model.lastKnown = { key, known: { ...known, rate: rateOfClient(model, known) } };
  }
  return { ...model.lastKnown.known, past };
}

function pastOf(past) {
  return past ? { past: past.visits.map(writtenDown), same_course: past.continues } : {};
}

function clientOf(told, known) {
  if (!known) {
    return told ? { client: null } : {};
  }
  const { visits, coverage, ratio, low, high } = known.rate;
  return { client: { visits, coverage, ratio, low, high } };
}

/** Fewest sessions within which this share of courses is done; null beyond the limit. */
function fewest(chances, share) {
  let sum = 0;
  for (let k = 0; k + 1 < chances.length; k++) {
    sum += chances[k];
    if (sum >= share - 1e-9) {
      return k + 1;
    }
  }
  return null;
}

function wholeBand(chances, isOutside, isOpen) {
  const limit = chances.length - 1;
  const coverage = isOutside ? WIDE : COVERAGE;
  let low = fewest(chances, (1 - coverage) / 2);
  let high = fewest(chances, (1 + coverage) / 2);
  if (isOutside) {
    low = low === null ? limit : Math.max(low - 1, 1);
    high = high !== null && high < limit && !isOpen ? high + 1 : null;
  }
  return { coverage, low, high };
}

/** Rounded as running totals, so that what is told still adds up to 1. */
function asShares(chances) {
  const shares = {};
  let [sum, before] = [0, 0];
  chances.forEach((chance, k) => {
    const isLast = k + 1 === chances.length;
    sum += chance;
    const upto = isLast ? 1 : roundTo(sum, 6);
    shares[isLast ? "more" : String(k + 1)] = roundTo(upto - before, 6);
    before = upto;
  });
  return shares;
}

/** The chance today; its band is the doubt about the parameters, worked out for new clients alone. */
function reachToday(model, plan, reach, known) {
  if (known) {
    return { probability: roundTo(reach, 6) };
  }
  const today = todayByDraw(model, plan);
  today.sort();
  // single draws share fewer courses than the chance itself, so their mean is off a little
  const mean = sumOf(today) / today.length;
  const low = reach + quantileOf(today, (1 - COVERAGE) / 2) - mean;
  const high = reach + quantileOf(today, (1 + COVERAGE) / 2) - mean;
  return {
    probability: roundTo(reach, 6),
    low: roundTo(Math.min(Math.max(low, 0), reach), 6),
    high: roundTo(Math.max(Math.min(high, 1), reach), 6),
  };
}

/** Of sorted values, each standing in the middle of its share; between the two nearest. */
function quantileOf(sorted, share) {
  const last = sorted.length - 1;
  const at = Math.min(Math.max(share * sorted.length - 0.5, 0), last);
  const below = Math.floor(at);
  return sorted[below] + (at - below) * (sorted[Math.min(below + 1, last)] - sorted[below]);
}

function levelBand({ lift }, session, chances) {
  const cellAt = (share) => {
    let sum = 0;
    const found = chances.findIndex((chance) => (sum += chance) >= share - 1e-9);
    return found < 0 ? chances.length - 1 : found;
  };
  const [median, low, high] = [0.5, (1 - COVERAGE) / 2, (1 + COVERAGE) / 2].map(cellAt);
  const levelOf = (cell) => 1 + lift.step * cell;
  return {
    session,
    median: levelOf(median),
    low: levelOf(low),
    high: levelOf(high),
    holds: roundTo(sumOf(chances.slice(low, high + 1)), 6),
  };
}

function averagedOver({ averaged }, hair) {
  return Object.fromEntries(
    Object.entries(averaged[hair]).map(([column, shares]) => [
      column,
      Object.fromEntries(Object.entries(shares).map(([value, share]) => [value, roundTo(share, 4)])),
    ]),
  );
}

/** What a picture and the lines below it need. */
function saidOf(chances, limit, { low, high }) {
  let last = limit;
  while (last > 1 && sumOf(chances.slice(last - 1)) < SHOWN) {
    last -= 1;
  }
  const shown = chances.slice(0, last);
  const names = shown.map((_, k) => String(k + 1));
  const rest = sumOf(chances.slice(last));
  if (rest > 0) {
    shown.push(rest);
    names.push(`${last + 1}+`);
  }
  return {
    tens: outOfTen(shown).map((people, k) => ({ sessions: names[k], people, chance: shown[k] })),
    band: spanned(low, high, limit),
    held: chanceInWords(held(chances, low, high)),
    today: chanceInWords(chances[0]),
  };
}

function outsideSaid(limit, { low, high }) {
  return { tens: null, band: spanned(low, high, limit), held: null, today: null };
}

function sumOf(values) {
  return values.reduce((sum, value) => sum + value, 0);
}
