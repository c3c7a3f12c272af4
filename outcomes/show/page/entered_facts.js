import { plain } from "./rounding.js";
import { count } from "./wording.js";

/** Chair time, cost and calendar of a course, where an answer has them, in the words of the command line. */

const NAMES = { chair_time: "Chair time", cost: "Cost", calendar: "Calendar" };
const UNTIL = {
  chair_time: "until the goal is read",
  cost: "in the currency of your price",
  calendar: "from today's session to the last",
};

const NEAR_GOAL = 1; // levels within which goals are those of one course
const NEAR_RESULT = 1.5; // levels within which a session's start is the last one's result

const LONG = 240; // minutes from which on half hours do

/**
 * Facts about time and money.
 * @param {Object} answer Of `answerSessions`; those of its keys chair_time, cost and calendar that it has are told:
 *   {median, low, high, coverage, entered, rests_on}, in minutes, money and weeks.
 * @returns {Array<[string, string]>} Names and words.
 */
export function enteredFacts(answer) {
  const isOutside = answer.support === "outside";
  return Object.keys(NAMES)
    .filter((key) => answer[key])
    .map((key) => [NAMES[key], totalInWords(key, answer[key], isOutside, answer.inputs.limit)]);
}

/**
 * What they rest on.
 * @param {Object} answer As in `enteredFacts`.
 * @returns {Array<[string, string]>} Names and words.
 */
export function enteredBasis(answer) {
  return Object.keys(NAMES)
    .filter((key) => answer[key])
    .map((key) => [NAMES[key], answer[key].rests_on]);
}

function totalInWords(key, total, isOutside, limit) {
  const band = totalBand(key, total, limit);
  if (isOutside) return `wide band ${band} ${UNTIL[key]}`;
  const middle = total.median === null
    ? `beyond ${count(limit)}`
    : `${total.median ? "about " : ""}${amountInWords(key, total.median, total)} ${UNTIL[key]}`;
  return `${middle}; ${Math.round(100 * total.coverage)} % band ${band}`;
}

function totalBand(key, total, limit) {
  if (total.low === null) return `beyond ${count(limit)}`;
  const low = amountInWords(key, total.low, total);
  if (total.high === null) return `${low} or more`;
  const high = amountInWords(key, total.high, total);
  if (low === high) return low;
  return `${key === "calendar" ? low.split(" ")[0] : low} to ${high}`;
}

function amountInWords(key, amount, { entered }) {
  if (key === "chair_time") return hoursSaid(amount);
  if (key === "calendar") return count(Math.floor(amount + 0.5), "week");
  return entered.includes("hours") ? moneySaid(amount) : wholeMoney(amount);
}

/**
 * Minutes as hours: to the quarter, from four hours on to the half.
 * @param {number} minutes In the chair.
 * @returns {string} Such as "2 h 45 min".
 */
export function hoursSaid(minutes) {
  const to = minutes < LONG ? 15 : 30;
  const said = Math.max(to * Math.floor(minutes / to + 0.5), 15);
  const [hours, left] = [Math.floor(said / 60), said % 60];
  return [hours ? `${hours} h` : "", left ? `${left} min` : ""].filter(Boolean).join(" ");
}

/**
 * Money to about two figures: 1,234 is "1,250".
 * @param {number} amount Above 0.
 * @returns {string} Text.
 */
export function moneySaid(amount) {
  const tens = 10 ** (Math.floor(Math.log10(amount)) - 1);
  const to = amount < 100 ? tens : tens / 2;
  return wholeMoney(Number((to * Math.floor(amount / to + 0.5)).toFixed(10)));
}

/**
 * Money as it is: in whole units where it is whole, else to the hundredth.
 * @param {number} amount In the currency of the price.
 * @returns {string} Text, with commas between thousands.
 */
export function wholeMoney(amount) {
  const [whole, rest] = (Number.isInteger(amount) ? String(amount) : amount.toFixed(2)).split(".");
  return whole.replace(/\B(?=(\d{3})+$)/g, ",") + (rest ? `.${rest}` : "");
}

/**
 * What this client's earlier sessions tell.
 * @param {Object} answer Of `answerSessions`; `inputs.past` where sessions were told.
 * @returns {Array<[string, string]>} Nothing for a new client; of a plan that the log doesn't cover no rate.
 */
export function knownFacts({ client, inputs, support }) {
  if (!inputs.past) return [];
  const course = `${count(inputs.past.length)} before, ${inputs.same_course ? "the same course goes on" : newCourse(inputs)}`;
  if (support === "outside") return [["This client", course]];
  const [ratio, low, high] = [client.ratio, client.low, client.high].map((one) => one.toFixed(2));
  const rate = `this hair lifts ${ratio} times as fast as that of clients like this (8 in 10 chances: ${low} to ${high})`;
  return [["This client", `${course}; ${rate}`]];
}

function newCourse({ start, goal, hair, past }) {
  const last = past.at(-1);
  const begins = `a new course begins on ${hair} hair`;
  if (Math.abs(start - last.achieved) > NEAR_RESULT) {
    return `level ${plain(start)} isn't near what the last one reached, level ${plain(last.achieved)}, so ${begins}`;
  }
  if (Math.abs(goal - last.goal) > NEAR_GOAL) {
    const ended = last.stop === "target" && last.achieved === last.goal;
    return `the last one${ended ? " ended at its goal," : "'s goal was"} level ${plain(last.goal)}, so ${begins}`;
  }
  return begins;
}
