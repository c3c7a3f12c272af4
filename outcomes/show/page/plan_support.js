/**
 * Whether a log covers a plan of sessions.
 */
import { assess, worse } from "./support.js";

/**
 * Whether the log covers a plan that needs so many sessions, and what speaks against it.
 * @param {Object} model Opened.
 * @param {Object} plan Checked.
 * @param {number} needed Median number of sessions, those of the course that were included.
 * @param {number} [courses] Of a known client: so many of equal weight would tell as much.
 * @returns {{support: string, notes: string[]}} The word, and a sentence for everything that isn't inside.
 */
export function supportOfPlan({ lift, starterNote, ...model }, plan, needed, courses = Infinity) {
  const isStarter = lift.basis.starter === true;
  const numbers = {
    start_level: plan.start,
    goal_level: plan.goal,
    gain: plan.goal - plan.start,
    peroxide_pct: plan.peroxide,
    minutes: plan.minutes,
  };
  const words = { hair: plan.hair, heat: plan.heat };
  if (plan.stylist !== null && plan.stylist !== "new") {
    words.stylist = plan.stylist;
  }
  const { notes, support: judged } = assess(lift.support, numbers, words, { needed, usual: isStarter });
  let support = judged;
  for (const column of ["hair", "heat"]) {
    const other = lift.stand_ins[column][words[column]];
    if (other !== words[column]) {
      notes.push(`${column} ${words[column]} is worked out as ${other}, the nearest that was logged`);
    }
  }
  if (!lift.converged) {
    support = "outside";
    notes.push("the fit of this log did not converge, so its numbers can't be relied on");
  }
  if (isStarter) {
    support = worse(support, "edge");
    notes.push(starterNote);
  }
  if (plan.stylist === "new" && lift.stylists.length === 1) {
    support = worse(support, "edge");
    notes.push("with a single stylist in the log, how much stylists differ isn't known");
  }
  if (courses < model.noCourses) {
    support = "outside";
    notes.push(model.hardlyNote);
  } else if (courses < model.fewCourses) {
    support = worse(support, "edge");
    notes.push(model.rareNote);
  }
  return { support, notes };
}
