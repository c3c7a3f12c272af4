/**
 * What earlier sessions say of a client, course by course: how likely their results are, and what they leave.
 *
 * A session told at the chair has one reading, its result after the rinse; where hair plainly lifted by it (and not
 * to the top of the scale) it says a rate by itself.
 */
import { caseMix, hairLater, stylistEffects } from "./chair.js";
import { takenAt } from "./columns.js";
import { normalCdf } from "./normal.js";
import { progress, rateOf } from "./progress.js";
import { aimAtWeakInto, shortBy } from "./weak_result.js";

const WIDER = 1.2; // than what the readings seem to say: light tails would give single courses great weight
const UNAIMED = 4; // one course in so many is drawn without regard to the readings
const LEAST_SD = 1e-9; // levels; stands for a reading sd of 0
const LEAST_CHANCE = 1e-12; // beyond the accuracy of the distribution function; its logarithm is still a number
const SELDOM = 1e-3; // share of results read anew by who never does; only their proportions matter
const LEAST_RATE = 0.25; // levels in a reference time, of hair that seems not to have lifted
const PLAIN_GAIN = 2.5; // levels from which on a result goes along a line in log R
const NEVER = 1e-10; // no more than what keeps a chance from being 0

/**
 * Earlier sessions for n courses.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses, with as many past sessions.
 * @param {{visits: Object[]}} past From `earlierSessions`.
 * @param {Object} plan Checked; whose hands and which hair where the past doesn't say.
 * @returns {Object[]} A session each: `own` and `centre`, parts of log R without the client's and the session's
 *   deviations; `sd` of the latter, by draw; `share`, progress by the rinse, by draw; the visit; the stylists.
 */
export function readBefore(model, unknowns, past, plan) {
  const { tables, draw, draws, lift, choices } = model;
  const { width } = tables;
  const later = hairLater(model, unknowns, plan.hair);
  const cases = caseMix(model, unknowns, plan.hair);
  return past.visits.map((visit, j) => {
    const people = stylistEffects(model, unknowns, visit.stylist ?? plan.stylist);
    const heat = choices.heat.indexOf(visit.heat) * width;
    const start = Math.round((visit.start - 1) / lift.step) * width;
    const strength = Math.log(visit.peroxide / 6);
    const fixed = tables.base.map((base, d) => base + tables.heat[heat + d] + strength * tables.strength[d]
      + tables.start[start + d] + (visit.isLater ? tables.later[d] : 0));
    const own = new Float64Array(unknowns.n);
    const centre = new Float64Array(unknowns.n);
    for (let i = 0; i < unknowns.n; i++) {
      const d = unknowns.draw[i];
      const hair = (visit.hair === null ? later[i] : choices.hair.indexOf(visit.hair)) * width;
      own[i] = fixed[d] + tables.hair[hair + d] + people.own[i] + cases.own[i];
      centre[i] = fixed[draws] + tables.hair[hair + draws] + people.centre[i] + cases.centre[i];
    }
    const result = resultOf(visit);
    const sd = draw.sd_visit.map((one) => one * (j ? lift.recalibration.later : 1));
    return {
      visit, own, centre,
      // what the result says while the start isn't known, from `logEvidence`
      aim: new Float64Array(unknowns.n),
      precision: new Float64Array(unknowns.n),
      stylist: people.stylist,
      result,
      isPlain: result.side === 0 && result.bound >= PLAIN_GAIN,
      sd,
      variance: sd.map((one, d) => draw.sd_client[d] ** 2 + one ** 2),
      ...byDraw(model, visit),
    };
  });
}

/** Which side of what the levels gained lie on; 0: about it. */
function resultOf({ lower, upper }) {
  if (lower === -Infinity) {
    return { side: 1, bound: upper };
  }
  return upper === Infinity ? { side: -1, bound: lower } : { side: 0, bound: 0.5 * (lower + upper) };
}

/** What differs between draws alone. */
function byDraw({ draw, lift }, visit) {
  const scale = lift.recalibration.reading;
  const shareBy = (minutes) =>
    draw.shape.map((theta, d) => progress(minutes / lift.reference, theta, draw.saturating[d] > 0));
  const width = Number.isFinite(visit.upper - visit.lower) ? visit.upper - visit.lower : 0;
  const sdResult = draw.sd_result.map((sd) => Math.max(scale * sd, LEAST_SD));
  return {
    sdResult,
    sdLook: draw.sd_look.map((sd) => Math.max(scale * sd, LEAST_SD)),
    sure: sdResult.map((sd) => 1 / (sd ** 2 + width ** 2 / 12)),
    startSd: draw.sd_start.map((sd) => Math.max(sd, LEAST_SD)),
    share: shareBy(visit.minutes),
    ways: visit.ways.map(([chance, minute]) => ({ chance, share: minute === null ? null : shareBy(minute) })),
  };
}

/**
 * The same sessions for the courses chosen, which differ in nothing that these depend on.
 * @param {Object[]} sessions From `readBefore`, after `logEvidence`.
 * @param {Int32Array} chosen Which course each one takes after.
 * @returns {Object[]}
 */
export function chosenSessions(sessions, chosen) {
  return sessions.map((session) => ({
    ...session,
    own: takenAt(session.own, chosen),
    centre: takenAt(session.centre, chosen),
    stylist: takenAt(session.stylist, chosen),
    aim: takenAt(session.aim, chosen),
    precision: takenAt(session.precision, chosen),
  }));
}

const said = new Float64Array(3); // deviation, its precision, how far readings agree

/** Sum of the client's and a session's deviations as its result says, into `said`. */
function sayInto(session, i, d, factor, doubt, error) {
  const { result, own, centre } = session;
  const share = session.share[d];
  if (!session.isPlain) {
    const sd = Math.sqrt(1 / session.sure[d] + doubt);
    aimAtWeakInto(result, own[i], centre[i], factor, session.variance[d], share, sd, error, said);
    return;
  }
  const sure = session.sure[d] / (1 + doubt * session.sure[d]); // the start's doubt taken out
  const gained = result.bound - error;
  const rate = Math.max(gained / share, LEAST_RATE);
  const precision = sure * share * share * rate * rate;
  said[0] = centre[i] + (Math.log(rate) - centre[i]) / factor - own[i];
  said[1] = precision * factor * factor;
  said[2] = 0.5 * (Math.log(sure) - sure * (gained - rate * share) ** 2 - Math.log(precision));
}

/**
 * Log of how likely the results are given all but the deviations, nearly.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses.
 * @param {Object[]} sessions From `readBefore`.
 * @returns {Float64Array} One a course.
 */
export function logEvidence({ draw, lift }, unknowns, sessions) {
  const found = new Float64Array(unknowns.n);
  for (let i = 0; i < found.length; i++) {
    const d = unknowns.draw[i];
    const factor = lift.recalibration.spread * unknowns.mixing[i];
    const variance = draw.sd_client[d] ** 2;
    let inverse = 0;
    let mean = 0;
    let rest = 0;
    for (const session of sessions) {
      sayInto(session, i, d, factor, session.startSd[d] ** 2, 0);
      const aim = (session.aim[i] = said[0]);
      session.precision[i] = said[1];
      const own = said[1] / (1 + session.sd[d] ** 2 * said[1]);
      inverse += own;
      mean += own * aim;
      rest += own * aim * aim - Math.log(Math.max(own, LEAST_CHANCE)) - 2 * said[2];
    }
    const total = 1 + variance * inverse;
    found[i] = 0.5 * ((variance * mean * mean) / total - Math.log(total) - rest);
  }
  return found;
}

/**
 * Clients drawn near what the results say.
 * @param {Object} model Opened.
 * @param {Object} unknowns Of n courses.
 * @param {Object[]} sessions From `chosenSessions`, for these unknowns.
 * @returns {{client: Float64Array, level: Float64Array, logWeight: Float64Array, never: Uint8Array}} The client's
 *   deviation, the true level at the end, the log of how much a course counts, and whether a result can't be.
 */
export function drawNear(model, unknowns, sessions) {
  const { n } = unknowns;
  const found = {
    client: new Float64Array(n), level: new Float64Array(n), logWeight: new Float64Array(n), never: new Uint8Array(n),
  };
  const [start, visit, told, sure] = Array.from({ length: 4 }, () => new Float64Array(sessions.length));
  const room = { start, visit, said: told, sure, aim: 0, logChance: 0, isNever: false };
  for (let i = 0; i < n; i++) {
    const client = aimedClient(model, unknowns, sessions, i, room);
    found.level[i] = chanceOfPast(model, unknowns, sessions, i, client, room);
    found.client[i] = client;
    found.never[i] = Number(room.isNever);
    // both kinds of course stand for the same mixture of the two ways of drawing
    const aim = (1 - 1 / UNAIMED) * Math.exp(Math.min(room.aim, 700)) + 1 / UNAIMED;
    found.logWeight[i] = room.logChance - Math.log(aim);
  }
  return found;
}

/** The client's deviation; into `room` errors of starts, sessions' deviations, how much likelier the aim made all. */
function aimedClient({ draw, lift }, unknowns, sessions, i, room) {
  const d = unknowns.draw[i];
  const factor = lift.recalibration.spread * unknowns.mixing[i];
  const ofClient = draw.sd_client[d];
  room.aim = 0;
  let [inverse, mean] = [0, 0];
  for (let j = 0; j < sessions.length; j++) {
    const session = sessions[j];
    room.start[j] = session.isPlain ? startError(session, unknowns.pastStart[j][i], i, d, room) : 0;
    if (session.visit.isCopied || !session.isPlain) {
      room.said[j] = session.aim[i];
      room.sure[j] = session.precision[i];
    } else {
      sayInto(session, i, d, factor, 0, room.start[j]);
      room.said[j] = said[0];
      room.sure[j] = said[1];
    }
    const sure = room.sure[j] / (1 + session.sd[d] ** 2 * room.sure[j]);
    inverse += sure;
    mean += sure * room.said[j];
  }
  const total = 1 + ofClient ** 2 * inverse;
  const client = ofClient * drawnNear(unknowns.client[i], (ofClient * mean) / total, 1 / Math.sqrt(total), i, room);
  for (let j = 0; j < sessions.length; j++) {
    const session = sessions[j];
    const sd = session.sd[d];
    const spread = 1 + sd ** 2 * room.sure[j];
    const middle = (sd * room.sure[j] * (room.said[j] - client)) / spread;
    room.visit[j] = sd * drawnNear(unknowns.pastVisit[j][i], middle, 1 / Math.sqrt(spread), i, room);
    if (!session.isPlain && !session.visit.isCopied) {
      const logRate = session.centre[i] + factor * (session.own[i] + client + room.visit[j] - session.centre[i]);
      room.start[j] = startOfWeak(session, rateOf(logRate) * session.share[d], unknowns.pastStart[j][i], i, d, room);
    }
  }
  return client;
}

/** Error of a session's start; 0 where it's copied. One reading by itself tells nothing of it. */
function startError(session, z, i, d, room) {
  return session.visit.isCopied ? 0 : session.startSd[d] * drawnNear(z, 0, 1, i, room);
}

/** The same where the result is weak: as far as the rate doesn't do to make it likely. */
function startOfWeak(session, progressed, z, i, d, room) {
  const short = shortBy(session.result, progressed);
  const sd = session.startSd[d];
  const share = short === 0 ? 0 : sd ** 2 / (sd ** 2 + 1 / session.sure[d]);
  return sd * drawnNear(z, (share * short) / sd, Math.sqrt(1 - share), i, room);
}

/** A standard normal value drawn near a place, one in some of them not; how much likelier that is goes to `room`. */
function drawnNear(z, middle, sd, i, room) {
  const wide = WIDER * sd;
  // numbers of a lattice are in no order that matters, so every fourth one is a fair part
  const drawn = i % UNAIMED === 0 ? z : middle + wide * z;
  const away = (drawn - middle) / wide;
  room.aim += 0.5 * (drawn * drawn - away * away) - Math.log(wide);
  return drawn;
}

/** True level at the end; the log of the chance of all results goes to `room`. */
function chanceOfPast(model, unknowns, sessions, i, client, room) {
  const { lift, reread } = model;
  const offset = model.draw.look_offset[unknowns.draw[i]];
  const d = unknowns.draw[i];
  const factor = lift.recalibration.spread * unknowns.mixing[i];
  let level = 0;
  room.logChance = 0;
  room.isNever = false;
  for (let j = 0; j < sessions.length; j++) {
    const session = sessions[j];
    const { visit, own, centre } = session;
    const error = visit.isCopied ? level - visit.start : room.start[j];
    const rate = rateOf(centre[i] + factor * (own[i] + client + room.visit[j] - centre[i]));
    const gained = error + rate * session.share[d];
    const result = session.sdResult[d];
    const look = session.sdLook[d];
    let chance = between(visit, gained, result);
    if (visit.isStoppedAtGoal) {
      // either the result is the look that stopped it, or it was read anew
      let anew = reread[session.stylist[i]];
      let copied = 0;
      if (visit.upper <= visit.notYet) {
        // who copies a look at the goal can't have written less; where all do, one was read anew
        anew = Math.max(anew, SELDOM);
      } else {
        copied = (1 - anew) * between(visit, gained + offset, look);
      }
      const atGoal = 1 - normalCdf((visit.notYet - gained - offset) / look);
      chance = anew * atGoal * chance + copied;
    }
    chance += LEAST_CHANCE;
    if (session.ways.length) {
      let earlier = 0;
      for (const { chance: ofWay, share } of session.ways) {
        const unseen = share === null;
        earlier += ofWay * (unseen ? 1 : normalCdf((visit.notYet - error - rate * share[d] - offset) / look));
      }
      chance *= earlier + LEAST_CHANCE;
    }
    room.isNever ||= chance < NEVER;
    room.logChance += Math.log(chance);
    level = Math.min(visit.start + gained, lift.top);
  }
  return level;
}

/** Chance that levels gained are read between a session's bounds. */
function between({ lower, upper }, gained, sd) {
  return normalCdf((upper - gained) / sd) - normalCdf((lower - gained) / sd);
}
