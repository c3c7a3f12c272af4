/**
 * Whether a log covers a plan of sessions.
 */
import { assess, worse } from "./support.js";

/**
 * Whether the log covers a plan that needs so many sessions, and what speaks against it.
 * @param {Object} model Opened.
 * @param {Object} plan Checked.
 * @param {number} needed Median number of sessions, those of the course that were included.
 * @param {?Object} [past] Of a known client, from `earlierSessions`.
 * @param {number} [courses] Theirs: so many of equal weight would tell as much.
 * @returns {{support: string, notes: string[]}} The word, and a sentence for everything that isn't inside.
 */
export function supportOfPlan({ lift, starterNote, ...model }, plan, needed, past = null, courses = Infinity) {
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
  const earlier = neverLogged(lift.support, past, isStarter);
  if (earlier.length) {
    support = worse(support, "edge");
    notes.push(...earlier);
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

/** What the log doesn't cover of earlier sessions: the client's rate goes beyond it there. */
function neverLogged(covered, past, usual) {
  return (past?.visits ?? []).flatMap(({ start, peroxide, minutes, hair, heat }, k) => {
    const numbers = { start_level: start, peroxide_pct: peroxide, minutes };
    const { support, notes } = assess(covered, numbers, hair === null ? { heat } : { hair, heat }, { usual });
    return support === "outside" ? notes.map((note) => `earlier session ${k + 1}: ${note}`) : [];
  });
}
