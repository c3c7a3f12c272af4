/**
 * What the page asks of a model. Answers have the keys and values of the JSON that the command line gives for
 * the same question (`outcomes sessions --json`, `root-shade --json`, `refresh --json`), and `said` besides:
 * what pictures and sentences need, worked out and worded already.
 */

import { readyModel } from "./model.js";
import { refreshAnswer } from "./refresh.js";
import { rootShadeAnswer } from "./root_shade.js";
import { sessionsAnswer } from "./sessions_answer.js";

/**
 * @typedef {Object} Choices What a question may be made of.
 * @property {string[]} hair Words.
 * @property {string[]} heat Words, in order.
 * @property {number[]} strengths Developer, %, of those usual in the trade the ones within what was logged.
 * @property {number[]} peroxide Weakest and strongest that may be entered, %.
 * @property {number[]} minutes Shortest and longest time that may be entered.
 * @property {number[]} levels Of the scale, half steps.
 * @property {string[]} stylists Codes of the log; never for the client's eyes.
 * @property {?{levels: number[], tones: string[], shampoos: string[], longest: number}} roots
 *   What was read after washes at the roots, `longest` in washes; null where nothing was.
 * @property {?{tones: string[], shampoos: string[], longest: number}} toner The same at the lengths.
 * @property {Object<string, string>} leftOut Why fade can't be answered, by measure ("level", "tone_left").
 * @property {boolean} chairTimes Whether the log tells how long visits take.
 * @property {boolean} condition Whether it tells what sessions take off strand condition.
 * @property {?number[]} lookMinutes Between which minutes most intervals from look to look lie; null: no looks.
 * @property {boolean} looksAssumed Whether those are usual ones because the log has none.
 * @property {Object} basis What lift rests on: visits, clients, stylists, calibrated; starter where it is one.
 * @property {string} until Month of the last visit, as "2024-06"; empty where it isn't known.
 * @property {string[]} cautions Sentences, to be shown once a view.
 */

/**
 * The model that a page carries, ready to answer.
 * @param {Object} data JSON values as `page_model` wrote them.
 * @returns {{choices: Choices}} Everything else in it is for the functions below alone.
 * @throws {Error} Data that is missing, damaged, or of another version; its message is one sentence for people.
 */
export function openModel(data) {
  return readyModel(data);
}

/**
 * How many sessions a goal needs.
 * @param {Object} model From `openModel`.
 * @param {Object} question {start, goal, hair, peroxide, heat, minutes, stylist}: levels; %; minutes; stylist null,
 *   "new" or a code. May be left out: past, a list of {start, achieved, minutes, peroxide, heat, stop}, and goal,
 *   hair, stylist of each where they're known; minutes_per_visit, price, hours, weeks_between; condition, floor.
 * @returns {Object} As JSON of `outcomes sessions`, for known clients without the band of `reach_today`; `said` has
 *   tens [{sessions: "1", people, chance}], null where the plan is outside; band "1 or 2 sessions";
 *   held "about 9 in 10"; today "about 3 in 10".
 * @throws {Error} A question that can't be answered; its message says what to do.
 */
export function answerSessions(model, question) {
  return sessionsAnswer(model, question);
}

/**
 * What becomes of every root shade between the natural level and the lengths.
 * @param {Object} model From `openModel`.
 * @param {Object} question {natural, lengths, washes, limit, tone, shampoo}; the last three may be null.
 * @returns {Object} As JSON of `outcomes root-shade`; `said` has tens {blend, not} of the choice, null without
 *   one; missing, a sentence; candidates, choice, and told, the one that the answer speaks of (null where there's
 *   none), all of them unrounded: what was rounded once must not be rounded again; notes about this answer alone.
 * @throws {Error} A question that can't be answered; its message says what to do.
 */
export function answerRootShade(model, question) {
  return rootShadeAnswer(model, question);
}

/**
 * Washes and weeks until a root shade or toner has faded by so much.
 * @param {Object} model From `openModel`.
 * @param {Object} question {zone: "roots" | "lengths", fade, washes_per_week, root_level, root_tone, toner_tone,
 *   shampoo}; the last four may be null. Fade in levels at the roots, in % of the tone at the lengths.
 * @returns {Object} As JSON of `outcomes refresh`; `said` has gone "1 level"; longest, in washes; the bands washes
 *   and weeks unrounded; reached [[washes, share]], a curve; missing, a sentence; notes about this answer alone.
 * @throws {Error} A question that can't be answered; its message says what to do.
 */
export function answerRefresh(model, question) {
  return refreshAnswer(model, question);
}
