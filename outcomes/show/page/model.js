/**
 * The model that a page carries, made ready: tables looked up and unknowns drawn before anybody asks.
 */
import { fadeTables } from "./fade_rates.js";
import { liftTables } from "./lift_tables.js";
import { lookGaps } from "./look_gaps.js";
import { unpack } from "./packed.js";
import { progressTable } from "./progress.js";
import { crossWithDraws, drawUnknowns } from "./unknowns.js";

const COURSES = 16384; // as the command line follows for an answer
const SINGLE = { draws: 200, courses: 256 }; // for the doubt about the chance today

const LONGEST_TABLE = 181; // minutes from 0 on

/**
 * Everything that doesn't depend on a question.
 * @param {Object} data JSON values as `page_model` wrote them.
 * @returns {Object} choices, and what the answers are worked out from.
 * @throws {Error} Data that is missing, damaged, or of another version.
 */
export function readyModel(data) {
  const { about, arrays } = unpack(data);
  const { lift } = about;
  const draw = drawsOf("lift", arrays);
  const model = {
    choices: about.choices,
    limit: about.limit,
    starterNote: about.starter_note,
    courseRule: about.course_rule,
    mostPast: about.most_past,
    rareNote: about.rare_note,
    fewCourses: about.few_courses,
    hardlyNote: about.hardly_note,
    noCourses: about.no_courses,
    lattice: about.lattice,
    lift,
    draw,
    draws: draw.shape.length,
    tables: liftTables(lift, arrays),
    gaps: lookGaps(lift.gaps),
    unseen: sharesWithOverall(lift.unseen, lift),
    reread: sharesWithOverall(lift.reread, lift),
    wholeMinutes: LONGEST_TABLE,
    byMinute: progressTable(draw, LONGEST_TABLE - 1, lift.reference),
    // followed at least to where the log's courses end: whether it covers a plan must not hang on the limit
    follow: Math.min(
      Math.max(about.limit, Math.max(0, ...Object.keys(lift.support.sessions).map(Number)) + 1),
      about.most_sessions,
    ),
  };
  model.unknowns = drawUnknowns(model, COURSES, model.follow);
  model.singleDraws = Math.min(SINGLE.draws, model.draws);
  model.single = crossWithDraws(drawUnknowns(model, SINGLE.courses, 1), model.singleDraws);
  model.fade = Object.fromEntries(
    Object.entries(about.fade).map(([measure, fade]) => [
      measure,
      fadeTables(measure, fade, drawsOf(measure, arrays), arrays, about.lattice),
    ]),
  );
  return model;
}

/** Draws of single numbers, by name. */
function drawsOf(part, arrays) {
  const found = {};
  for (const [name, { shape, values }] of Object.entries(arrays)) {
    if (name.startsWith(`${part}.`) && shape.length === 1) {
      found[name.slice(part.length + 1)] = values;
    }
  }
  return found;
}

/** Shares of stylists, and behind them that of one whom the log doesn't know, who works as they do by and large. */
function sharesWithOverall(shares, { stylists, stylist_visits: visits }) {
  if (!shares.length) {
    return new Float64Array(stylists.length + 1);
  }
  const total = visits.reduce((sum, count) => sum + count, 0);
  const weights = total ? visits : visits.map(() => 1);
  const all = total || visits.length;
  return Float64Array.from([...shares, shares.reduce((sum, share, s) => sum + share * weights[s], 0) / all]);
}
