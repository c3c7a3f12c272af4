/**
 * Answers in words: chances and counts as people say them. The same sentences as the command line has.
 */
import { nearest } from "./rounding.js";

// [below this chance, in words]; between 0.175 and 0.925 chances are said in tenths
const RARE = [
  [0.005, "fewer than 1 in 100"],
  [0.015, "about 1 in 100"],
  [0.035, "about 1 in 50"],
  [0.075, "about 1 in 20"],
  [0.125, "about 1 in 10"],
  [0.175, "about 1 in 7"],
];
const SURE = [
  [0.965, "about 19 in 20"],
  [0.985, "about 49 in 50"],
  [0.995, "about 99 in 100"],
];

/**
 * A chance as people say it: 0.71 is "about 7 in 10".
 * @param {number} p 0 to 1.
 * @returns {string} Words.
 */
export function chanceInWords(p) {
  if (p < 0.175) {
    return RARE.find(([end]) => p < end)[1];
  }
  if (p < 0.925) {
    return `about ${nearest(10 * p)} in 10`;
  }
  return (SURE.find(([end]) => p < end) ?? [1, "more than 99 in 100"])[1];
}

/**
 * A chance as a whole percentage; what isn't impossible isn't 0 %, what isn't sure isn't 100 %.
 * @param {number} p 0 to 1.
 * @returns {string} Such as "71 %".
 */
export function percent(p) {
  if (p > 0 && p < 0.005) {
    return "<1 %";
  }
  return p >= 0.995 && p < 1 ? ">99 %" : `${nearest(100 * p)} %`;
}

/**
 * A chance that simulated clients tell, as a whole percentage: of them all or none isn't sure.
 * @param {number} p 0 to 1.
 * @returns {string} Such as "71 %".
 */
export function likely(p) {
  return percent(Math.min(Math.max(p, 1e-6), 1 - 1e-6));
}

/**
 * A number of things, thousands set off by a comma.
 * @param {number} number Whole.
 * @param {string} thing One of them; an s makes several.
 * @returns {string} Such as "2 sessions".
 */
export function count(number, thing = "session") {
  return `${thousands(number)} ${thing}${number === 1 ? "" : "s"}`;
}

/**
 * A whole number, thousands set off by a comma.
 * @param {number|string} number Whole.
 * @returns {string} Such as "12,345".
 */
export function thousands(number) {
  return String(number).replace(/\B(?=(\d{3})+$)/g, ",");
}

/**
 * A band of whole sessions.
 * @param {?number} low Its lower end; null lies beyond the limit.
 * @param {?number} high Its upper end; null lies beyond the limit.
 * @param {number} limit Sessions followed.
 * @returns {string} Such as "1 or 2".
 */
export function span(low, high, limit) {
  if (low === null) {
    return `more than ${limit}`;
  }
  if (high === null) {
    return `${low} or more`;
  }
  if (high === low) {
    return `${low}`;
  }
  return high === low + 1 ? `${low} or ${high}` : `${low} to ${high}`;
}

/**
 * The same with the word session.
 * @param {?number} low As in `span`.
 * @param {?number} high As in `span`.
 * @param {number} limit As in `span`.
 * @returns {string} Such as "1 or 2 sessions".
 */
export function spanned(low, high, limit) {
  return `${span(low, high, limit)} session${low === 1 && high === 1 ? "" : "s"}`;
}

/**
 * Chance that a band of whole sessions holds.
 * @param {number[]} sessions Chances of 1, 2, ..., limit sessions, then of more.
 * @param {?number} low Its lower end; null lies beyond the limit.
 * @param {?number} high Its upper end; null lies beyond the limit.
 * @returns {number} 0 to 1.
 */
export function held(sessions, low, high) {
  return sessions.slice((low ?? sessions.length) - 1, high ?? undefined).reduce((sum, p) => sum + p, 0);
}

/**
 * How many sessions, in a sentence to say out loud.
 * @param {number[]} sessions Chances of 1, 2, ..., limit sessions, then of more.
 * @param {{median: ?number, low: ?number, high: ?number}} band Whole sessions; null lies beyond the limit.
 * @param {{isEdge: boolean, isStarter: boolean, isKnown: boolean}} rests Whether few logged visits are like this
 *   plan; whether what is usual in the trade stands in for a log; whether the client's earlier sessions are known, so
 *   that these come on top.
 * @returns {string} The sentence.
 */
export function sessionsSentence(sessions, { median, low, high }, { isEdge, isStarter, isKnown }) {
  const limit = sessions.length - 1;
  const thing = isKnown ? "more session" : "session";
  const whom = isKnown ? "clients with such sessions behind them" : "clients like this";
  let said;
  if (median === null) {
    const within = chanceInWords(1 - sessions[limit]);
    said = `More than ${count(limit, thing)}, most likely; ${within} ${whom} are done within ${limit}.`;
  } else {
    const sure = sessions[median - 1] >= Math.max(...sessions) ? "most likely" : "as a middle";
    const isAnything = low === 1 && high === null; // a chance that it holds says nothing then
    const band = low === median && high === median ? "just that" : span(low, high, limit) + (isKnown ? " more" : "");
    said = `${count(median, thing)}, ${sure}; ${
      isAnything
        ? `but anything from 1 to more than ${count(limit, thing)} may be needed.`
        : `${chanceInWords(held(sessions, low, high))} ${whom} need ${band}.`
    }`;
  }
  said += ` Done today: ${chanceInWords(sessions[0])}.`;
  if (isStarter) {
    return `${said} That is what is usual in the trade, not this salon's own log, so take it with care.`;
  }
  return said + (isEdge ? " Few logged visits are like this, so take it with care." : "");
}

/**
 * The sentence for a plan that isn't covered: it must not hold a number.
 * @param {boolean} isStarter Whether what is usual in the trade, not a log, would have to cover it.
 * @returns {string} The sentence.
 */
export function outsideSentence(isStarter) {
  const reach = isStarter ? "what is usual in the trade" : "what the log covers";
  return (
    `This plan is outside ${reach}, so no number of sessions can be named; ` +
    "test a strand and plan from session to session."
  );
}
