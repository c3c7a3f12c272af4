/**
 * Strand condition after each session, and the chance that it stops a course first.
 */
import { conditionAfter, followCondition } from "./condition_chain.js";
import { checkedNumber } from "./question.js";
import { roundTo } from "./rounding.js";
import { smallestWith } from "./tally.js";
import { count } from "./wording.js";

const STRONGEST = 5;
const FLOOR = 2; // below it, at 1, hair is breaking, and no sessions are forecast
const CONDITION_COVERAGE = 0.8;

/**
 * The condition over a course.
 * @param {Object} model Opened.
 * @param {Object} plan Checked.
 * @param {{condition: number, floor: ?number}} entered Whole points; condition before, and below which it stops.
 * @param {Object} course As `courseCosts` takes it.
 * @returns {Object} As JSON of the command line has it.
 * @throws {Error} No whole points, a floor above the condition, a model that doesn't know.
 */
export function courseCondition(model, plan, entered, course) {
  const { losses } = model.lift;
  const before = wholePoint("condition", entered.condition);
  const floor = (entered.floor ?? null) === null ? FLOOR : wholePoint("floor", entered.floor);
  if (floor > before) {
    throw new Error(`floor: found ${floor}, and condition ${before} is below it already; lower the floor`);
  }
  if (!losses.coefficients.length) {
    throw new Error("condition: this model doesn't know what sessions take off it; leave it out");
  }
  const chain = followCondition(losses, treatmentsOf(model, plan, course), before, floor, course.chances);
  const coverage = course.isOutside ? course.band.coverage : CONDITION_COVERAGE;
  const band = (chances) => conditionBand(chances, floor, coverage, course.isOutside);
  const sessions = chain.after.map((chances, k) => ({ session: k + 1, ...band(chances) }));
  const end = band(chain.end);
  if (course.isOutside && course.band.high === null) {
    end.low = Math.min(...sessions.map(({ low }) => low)); // nobody knows how often it's worked
  }
  return {
    ...end,
    coverage,
    before,
    floor,
    sessions,
    stops_first: course.isOutside ? null : roundTo(chain.stops, 6),
    stops_within_sessions: chain.after.length,
    entered: (entered.floor ?? null) === null ? ["condition"] : ["condition", "floor"],
    rests_on: conditionRestsOn(losses),
    notes: losses.pauses ? losses.notes.slice(0, 3) : losses.notes,
  };
}

function wholePoint(name, value) {
  const point = checkedNumber(name, value, FLOOR, STRONGEST);
  if (!Number.isInteger(point)) {
    throw new Error(`${name}: found ${point}; expected a whole number, 2 to 5; correct it`);
  }
  return point;
}

/** What each session does to hair. */
function treatmentsOf({ lift, choices }, plan, { chances, isLater }) {
  const worked = (hair, later) =>
    conditionAfter(lift.losses, [
      1, (plan.minutes - 30) / 15, Math.log(plan.peroxide / 6), choices.heat.indexOf(plan.heat),
      Number(hair === "coloured"), Number(hair === "lightened"), Number(later),
    ]);
  const later = Object.entries(lift.later_hair[plan.hair])
    .map(([hair, share]) => worked(hair, true).map((chance) => share * chance))
    .reduce((sum, other) => sum.map((chance, i) => chance + other[i]));
  const first = isLater ? later : worked(plan.hair, false);
  return chances.slice(0, -1).map((_, k) => (k ? later : first));
}

function conditionBand(chances, floor, coverage, isOutside) {
  const tail = (1 - coverage) / 2;
  const [median, low, high] = [0.5, tail, 1 - tail].map((share) => (smallestWith(chances, share) ?? 0) + 1);
  if (isOutside) {
    return { median: null, low: Math.max(low - 1, 1), high: Math.min(high + 1, STRONGEST), holds: null, below: null };
  }
  const sum = (from, to) => roundTo(chances.slice(from, to).reduce((all, chance) => all + chance, 0), 6);
  return { median, low, high, holds: sum(low - 1, high), below: sum(0, floor - 1) };
}

function conditionRestsOn({ visits, pauses }) {
  const said = `${count(visits, "visit")} with strand condition before and after`;
  return pauses ? `${said}, ${count(pauses, "pause")} between sessions` : said;
}
