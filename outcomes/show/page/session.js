/**
 * One session at the chair, look by look, for many courses.
 *
 * A course's hair follows one path; what is read off it is uncertain. So a course isn't read once but carries a
 * weight, the chance that nothing has been read at the goal so far, and every look takes its part of it.
 */
import { PERIOD } from "./chair.js";
import { nextGap } from "./look_gaps.js";
import { normalCdf, normalQuantile } from "./normal.js";
import { progress, rateOf } from "./progress.js";

const GONE = 1e-6; // a course this surely at its goal isn't followed further
const TOO_LITTLE = 1e-9; // nor is it looked at again in the session
const UNREAD = 6; // sds below the goal: so much is misread in fewer than one of TOO_LITTLE

// places in a tally: of the course at hand, then of all courses
const REMAINING = 0; // chance that the goal wasn't read
const REACHED = 1; // chance that it was, in this session
const TOLD = 2; // that it was and this reading is the result; then that it was one step above, and two
const BELOW = 5; // of the course at hand: chance that the result at the rinse reads below the goal

/**
 * Work a session of the courses that are still followed. `courses` is changed: those left, their true levels and
 * weights.
 * @param {Object} model Opened.
 * @param {Object} session What is alike in all courses (`openSession`).
 * @param {{left: number, at: Int32Array, level: Float64Array, weight: Float64Array}} courses Places of the first
 *   `left` courses, their true levels, and chances that the goal wasn't read before.
 * @param {{done: Float64Array, below: Float64Array}} read Chances are added to: of levels read as the result of
 *   who is done, and of who isn't.
 * @returns {number} Sum of the chances that the goal was read in this session.
 */
export function workSession(model, session, courses, read) {
  const { step, top } = model.lift;
  const { at, level, weight } = courses;
  const { goal, tally } = session;
  tally.fill(0);
  let all = 0;
  let left = 0;
  for (let j = 0; j < courses.left; j++) {
    const i = at[j];
    tally[REMAINING] = weight[j];
    tally[REACHED] = 0;
    const end = workCourse(model, session, i, level[j], read.done);
    const remaining = tally[REMAINING];
    all += tally[REACHED];
    if (remaining <= GONE) {
      all += remaining;
      tally[TOLD] += remaining;
      continue;
    }
    at[left] = i;
    level[left] = end < top ? end : top;
    weight[left] = remaining;
    const error = session.sdResult[session.draw[i]] * normalQuantile(session.reading[i] * tally[BELOW]);
    read.below[cellBelow(level[left] + error, goal, step)] += remaining;
    left += 1;
  }
  courses.left = left;
  tellLevels(read.done, tally, Math.round((goal - 1) / step));
  return all;
}

/** Chances of the level read where the reading at the goal is the result. */
function tellLevels(done, tally, goalCell) {
  const last = done.length - 1;
  done[goalCell] += tally[TOLD] - tally[TOLD + 1];
  done[Math.min(goalCell + 1, last)] += tally[TOLD + 1] - tally[TOLD + 2];
  done[Math.min(goalCell + 2, last)] += tally[TOLD + 2];
}

/**
 * Chance, by draw, that a first session reads the goal.
 * @param {Object} model Opened.
 * @param {Object} session A first one (`openSession`).
 * @param {Float64Array} level True levels of all courses.
 * @returns {Float64Array} Sums over the courses of each draw.
 */
export function reachedByDraw(model, session, level) {
  const { tally, draw } = session;
  const found = new Float64Array(model.draws);
  for (let i = 0; i < level.length; i++) {
    tally[REMAINING] = 1;
    tally[REACHED] = 0;
    workCourse(model, session, i, level[i], null);
    found[draw[i]] += 1 - tally[REMAINING];
  }
  return found;
}

/** Work one course; true level at the rinse. */
function workCourse(model, session, i, level, done) {
  const { tally, minutes } = session;
  const d = session.draw[i];
  const hair = session.hasHistory ? session.laterHair[i] : session.firstHair;
  const rate = rateOf(logRate(model, session, i, level, hair));
  const rinse = rinseAt(session.stops[hair], minutes, session.condition[i]);
  lookBeforeRinse(model, session, i, level, rate, rinse, done);
  const end = level + rate * progressAt(model, d, rinse);
  const sharp = session.sharpResult[d];
  takeReading(tally, (session.cut - end) * sharp, done ? model.lift.step * sharp : 0, 1);
  return end;
}

/** Place of the recording step that a level is written as where it reads below the goal; 0 is level 1. */
function cellBelow(level, goal, step) {
  const most = Math.round((goal - 1) / step) - 1;
  const cell = Math.floor(level / step + 0.5) - Math.round(1 / step);
  return cell < 0 ? 0 : cell > most ? most : cell;
}

/** log R in this session. */
function logRate({ lift, tables, draws, draw }, session, i, level, hair) {
  const { step, recalibration } = lift;
  const { width } = tables;
  const d = session.draw[i];
  // nobody comes back with hair that was read at the goal
  const cell = session.isBack ? cellBelow(level, session.goal, step) : session.startCell;
  const visit = session.visitFactor * (draw.sd_visit[d] * session.visit[i]);
  const own = session.own[i] + session.fixed[d] + tables.start[cell * width + d] + tables.hair[hair * width + d] + visit;
  if (!session.isRescaled) {
    return own;
  }
  const centre = session.centre[i] + session.fixed[draws] + tables.start[cell * width + draws]
    + tables.hair[hair * width + draws];
  return centre + recalibration.spread * session.mixing[i] * (own - centre);
}

/** The time limit, or the minute at which the hair's condition ends the session before it. */
function rinseAt(stops, minutes, chance) {
  const last = stops.length - 1;
  if (chance >= stops[last]) {
    return minutes;
  }
  let period = 0;
  while (chance >= stops[period]) {
    period += 1;
  }
  const before = period ? stops[period - 1] : 0;
  const width = Math.max(stops[period] - before, 1e-12);
  const stopped = Math.max(PERIOD * (period + (chance - before) / width), 1);
  return stopped < minutes ? stopped : minutes;
}

/** Look before the rinse, at the stylist's intervals. */
function lookBeforeRinse(model, session, i, level, rate, rinse, done) {
  const { tally, gap, unseen, reread } = session;
  const { gaps } = model;
  const row = session.stylist[i];
  if (!gaps.minutes.length || gap[i] < unseen[row]) {
    return;
  }
  const d = session.draw[i];
  const drawn = (gap[i] - unseen[row]) / Math.max(1 - unseen[row], 1e-12);
  const sharp = session.sharpLook[d];
  const stepped = done ? model.lift.step * sharp : 0;
  const cut = session.cut - model.draw.look_offset[d];
  const copied = 1 - reread[row];
  let clock = nextGap(gaps, row, drawn, 0);
  for (let looks = 1; clock < rinse - 1e-9 && tally[REMAINING] > TOO_LITTLE; looks++) {
    const now = level + rate * progressAt(model, d, clock);
    clock += nextGap(gaps, row, drawn, looks);
    const z = (cut - now) * sharp;
    if (z > UNREAD) {
      continue;
    }
    const atGoal = takeReading(tally, z, stepped, copied);
    if (copied < 1 && done) {
      readAnew(model, session, i, now, reread[row] * atGoal, done);
    }
  }
}

/** One reading: what it takes of the course's weight. */
function takeReading(tally, z, step, isResult) {
  const before = tally[REMAINING];
  const below = normalCdf(z);
  const atGoal = before * (1 - below);
  tally[REMAINING] = before * below;
  tally[REACHED] += atGoal;
  tally[BELOW] = below;
  if (step > 0) {
    tally[TOLD] += isResult * atGoal;
    tally[TOLD + 1] += isResult * before * (1 - normalCdf(z + step));
    tally[TOLD + 2] += isResult * before * (1 - normalCdf(z + 2 * step));
  }
  return atGoal;
}

/** A result that is read anew after a look that read the goal, and may differ from that look. */
function readAnew(model, session, i, level, chance, done) {
  const error = session.sdResult[session.draw[i]] * session.readingZ[i];
  const cell = (level + error - 1) / model.lift.step + 0.5;
  const last = done.length - 1;
  done[cell < 0 ? 0 : cell > last + 0.5 ? last : cell | 0] += chance;
}

/** Share of the progress that draw d has made by then; read off a table at whole minutes. */
function progressAt(model, d, minutes) {
  const whole = minutes | 0;
  if (whole === minutes && whole < model.wholeMinutes) {
    return model.byMinute[d * model.wholeMinutes + whole];
  }
  return progress(minutes / model.lift.reference, model.draw.shape[d], model.draw.saturating[d] > 0);
}
