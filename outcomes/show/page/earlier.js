/**
 * A client's earlier sessions as a stylist tells them at the chair, checked and laid out.
 */
import { checkedLevel, checkedNumber, checkedWord } from "./question.js";
import { plain } from "./rounding.js";

const WHY_RINSED = ["target", "time", "condition", "other"];
const HALF_STEP = 0.25; // half the recording step, levels
const OTHER_GOAL = 1; // levels below today's goal; nearer to it a result may have been misread
const DARKER = 0.5; // a result so much below its start is an error of reading; more of it is a slip

/**
 * Earlier sessions, laid out.
 * @param {Object} model Opened.
 * @param {Object} plan Checked (`checkedPlan`): what is asked today.
 * @param {Object[]} told start, achieved, minutes, peroxide, heat, stop; if known goal (by default today's; of a
 *   session that ended at its goal a level or more below that, what it reached), hair (by default the question's
 *   for the first, and for later ones what later sessions have) and stylist.
 * @returns {?{visits: Object[], continues: boolean, isCopied: boolean, ofCourse: number}} Null where nothing is
 *   told; whether today goes on with the last one's course, whether its start is that result written once more,
 *   and how many of that course there were.
 * @throws {Error} A value that's missing or can't be used; too many sessions.
 */
export function earlierSessions(model, plan, told) {
  const { mostPast, courseRule } = model;
  if (told.length > mostPast) {
    throw new Error(`past: found ${told.length} sessions; expected ${mostPast} at most; give the last ones`);
  }
  const visits = [];
  for (const values of told) {
    try {
      visits.push(earlierVisit(model, plan, values, visits.at(-1)));
    } catch (cause) {
      throw new Error(`past session ${visits.length + 1}: ${cause.message}`, { cause });
    }
  }
  if (!visits.length) {
    return null;
  }
  const continues = goesOn(courseRule, visits.at(-1), plan.start, plan.goal);
  const first = visits.findLastIndex((visit) => !visit.isLater);
  return {
    visits,
    continues,
    isCopied: plan.start === visits.at(-1).achieved,
    ofCourse: continues ? visits.length - Math.max(first, 0) : 0,
  };
}

/**
 * A plan that goes on with a course, with the hair there was before the course's first session.
 * @param {Object} plan Checked.
 * @param {?Object} past From `earlierSessions`.
 * @returns {Object} The same where no course goes on.
 */
export function ofTheCourse(plan, past) {
  return past?.ofCourse ? { ...plan, hair: past.visits.at(-past.ofCourse).hair ?? plan.hair } : plan;
}

/**
 * Whether a session goes on with the course of the one before.
 * @param {{start_within: number, goal_within: number}} rule Of the model.
 * @param {{achieved: number, goal: number}} before
 * @param {number} start Of the session.
 * @param {number} goal Of the session.
 * @returns {boolean}
 */
export function goesOn({ start_within: near, goal_within: alike }, before, start, goal) {
  return Math.abs(start - before.achieved) <= near && Math.abs(goal - before.goal) <= alike;
}

function earlierVisit(model, plan, values, before) {
  const { choices, courseRule, lift } = model;
  const start = checkedLevel("start", values.start);
  const achieved = checkedLevel("achieved", values.achieved);
  const stop = checkedWord("stop", values.stop, WHY_RINSED);
  const goal = checkedLevel("goal", values.goal ?? usualGoal(plan.goal, { stop, start, achieved }));
  if (goal <= start) {
    throw new Error(`goal: found level ${plain(goal)} at or below the start, level ${plain(start)}; give its goal`);
  }
  if (achieved < start - DARKER) {
    throw new Error(
      `achieved: found level ${plain(achieved)}, darker than the start, level ${plain(start)}; correct one of them`,
    );
  }
  const minutes = checkedNumber("minutes", values.minutes, ...choices.minutes);
  const stylist = values.stylist ? checkedWord("stylist", values.stylist, [...choices.stylists, "new"]) : null;
  const isLater = before !== undefined && goesOn(courseRule, before, start, goal);
  const hair = values.hair ?? (isLater ? null : plan.hair);
  const isTarget = stop === "target";
  const gained = achieved - start;
  return {
    start, achieved, goal, minutes, stylist, isLater,
    stop,
    hair: hair === null ? null : checkedWord("hair", hair, choices.hair),
    heat: checkedWord("heat", values.heat, choices.heat),
    peroxide: checkedNumber("peroxide", values.peroxide, ...choices.peroxide, "%"),
    isCopied: isLater && start === before.achieved,
    // bounds of the levels gained; infinite where open: at or below the start, and at the top of the scale
    lower: gained <= 0 ? -Infinity : gained - HALF_STEP,
    upper: achieved >= lift.top ? Infinity : Math.max(gained, 0) + HALF_STEP,
    notYet: goal - start - HALF_STEP,
    ways: isTarget ? waysLooked(lift, stylist ?? plan.stylist, minutes) : [],
    isStoppedAtGoal: isTarget,
  };
}

/**
 * A session's goal where none is told: today's; of one that ended at its goal far below that, what it reached.
 * @param {number} goal Today's.
 * @param {{stop: string, start: number, achieved: number}} session
 * @returns {number} Level.
 */
export function usualGoal(goal, { stop, start, achieved }) {
  return stop === "target" && start < achieved && achieved <= goal - OTHER_GOAL ? achieved : goal;
}

/** When the look before the one at the goal may have been: [chance, minute], the minute null without a look. */
function waysLooked({ gaps, stylists }, stylist, minutes) {
  const at = stylists.indexOf(stylist);
  const share = at < 0 ? gaps.share : gaps.by_stylist[at];
  const total = Math.max(share.reduce((sum, one) => sum + one, 0), 1e-300);
  return gaps.minutes
    .map((gap, g) => [share[g] / total, gap < minutes ? minutes - gap : null])
    .filter(([chance]) => chance > 0);
}

/**
 * An earlier session as a salon would write it down.
 * @param {Object} visit From `earlierSessions`.
 * @returns {Object} JSON values.
 */
export function writtenDown({ start, achieved, goal, hair, peroxide, heat, minutes, stop, stylist }) {
  return { start, achieved, goal, hair, peroxide, heat, minutes, stop, stylist };
}
