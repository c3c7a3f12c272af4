/**
 * What a course takes: time in the chair, price, weeks from its first to its last session. All three are the same
 * chances of sessions over three grids.
 */
import { checkedNumber } from "./question.js";
import { plain, roundTo } from "./rounding.js";
import { always, capped, raised, several, smallestWith, untilDone } from "./tally.js";
import { count, thousands } from "./wording.js";

const CURRENCY = "currency of the price";
const CHEAPEST_HOUR = 0.1; // ten minutes of it are more than 0.01

/**
 * Figures that were entered, checked.
 * @param {Object} question minutes_per_visit (10 to 720), price (from 0.01 on), hours (0.25 to 24, goes with a price),
 *   weeks_between (1 to 52); each may be null or missing.
 * @returns {Object} The same; null where not entered.
 * @throws {Error} One out of range, hours without a price, or a price too small for its hours.
 */
export function enteredFigures(question) {
  const entered = (name, low, high, unit) =>
    (question[name] ?? null) === null ? null : checkedNumber(name, question[name], low, high, unit);
  const price = entered("price", 0.01, 1e7, "");
  if (price === null && (question.hours ?? null) !== null) {
    throw new Error("hours: found no price beside it; it says what a price is for; give a price too");
  }
  const hours = entered("hours", 0.25, 24, "hours");
  if (hours !== null && price / hours < CHEAPEST_HOUR) {
    throw new Error(
      `price: found ${plain(price)} for ${plain(hours)} hours; expected ${CHEAPEST_HOUR} an hour or more; correct one`,
    );
  }
  return {
    minutesPerVisit: entered("minutes_per_visit", 10, 720, "minutes"),
    price,
    hours,
    weeksBetween: entered("weeks_between", 1, 52, "weeks"),
  };
}

/**
 * Chair time, cost and calendar, those that the log or an entered figure tells.
 * @param {Object} times Of the model: besides_first, besides_later, last, together, weeks.
 * @param {Object} figures From `enteredFigures`.
 * @param {Object} course chances of sessions, band {low, high, coverage}, isOutside, isLater (whether it was begun),
 *   minutes (longest processing time of each).
 * @returns {Object} By name, totals as JSON of the command line has them.
 * @throws {Error} Hours where neither the log nor a figure tells the chair time; fewer minutes than processing takes.
 */
export function courseCosts(times, figures, course) {
  checkChair(figures, course.minutes);
  const limit = course.chances.length - 1;
  const found = {};
  const chair = chairOf(times, figures, course.minutes);
  const isKnown = chair.later.shares.length > 0;
  const besides = isKnown ? several(course.isLater ? chair.later : chair.first, chair.later, limit) : [];
  const more = course.minutes / chair.later.step;
  const sums = chair.entered.length ? besides : raised(besides, more, capped(times.last, Math.floor(more + 0.5)));
  if (isKnown) {
    found.chair_time = totalOf(course, sums, chair.later.step, { unit: "minutes", ...chair });
  }
  const { price, hours } = figures;
  if (price !== null && hours === null) {
    const visits = several(always(price), always(price), limit);
    const restsOn = `your price of ${priceFor(price, null)}`;
    found.cost = totalOf(course, visits, price, { unit: CURRENCY, entered: ["price"], restsOn });
  }
  if (price !== null && hours !== null) {
    if (!isKnown) {
      throw new Error("hours: too few logged visits tell how long they took; enter the chair time of a visit too");
    }
    const restsOn = `your price of ${priceFor(price, hours)} and ${chair.restsOn}`;
    const entered = ["price", "hours", ...chair.entered];
    const step = (chair.later.step * price) / (60 * hours);
    found.cost = totalOf(course, sums, step, { unit: CURRENCY, entered, restsOn });
  }
  const pause = pauseOf(times, figures);
  if (pause.weeks.shares.length) {
    const sum = several({ shares: [1] }, pause.weeks, limit); // no week from the first session to itself
    found.calendar = totalOf(course, sum, pause.weeks.step, { unit: "weeks", ...pause });
  }
  return found;
}

function checkChair({ minutesPerVisit }, minutes) {
  if (minutesPerVisit !== null && minutesPerVisit < minutes) {
    throw new Error(
      `Chair time a visit: found ${plain(minutesPerVisit)} minutes, fewer than the ${plain(minutes)} of processing; `
        + "enter the whole time in the chair",
    );
  }
}

function chairOf({ besides_first: first, besides_later: later, last, together }, { minutesPerVisit }, minutes) {
  if (minutesPerVisit !== null) {
    const each = always(minutesPerVisit);
    const restsOn = `your ${plain(minutesPerVisit)} minutes a visit`;
    return { first: each, later: each, entered: ["minutes_per_visit"], restsOn };
  }
  const visits = together
    ? count(first.count, "visit")
    : `${thousands(first.count)} first and ${count(later.count, "later visit")}`;
  const processing = `${plain(minutes)} minute${minutes === 1 ? "" : "s"} of processing a session`;
  const ends = last.shares.length
    ? `fewer in the last, as in ${count(last.count, "visit")} that read the goal`
    : "the last may end earlier";
  const restsOn = `${visits} with chair minutes in the log, and ${processing} (${ends})`;
  return { first, later, entered: [], restsOn };
}

function pauseOf({ weeks }, { weeksBetween }) {
  if (weeksBetween !== null) {
    const said = `your ${plain(weeksBetween)} week${weeksBetween === 1 ? "" : "s"} between sessions`;
    return { weeks: always(weeksBetween), entered: ["weeks_between"], restsOn: said };
  }
  return { weeks, entered: [], restsOn: `${count(weeks.count, "pause")} between sessions in the log` };
}

function totalOf(course, sums, step, { unit, entered, restsOn }) {
  const { chances, band, isOutside } = course;
  const limit = chances.length - 1;
  const tail = (1 - band.coverage) / 2;
  let places;
  if (isOutside) {
    // the sessions' band is one wider at both ends: the fewest at their shortest, the most at longest
    const high = band.high === null ? null : smallestWith(sums[band.high - 1], 1 - tail);
    places = [null, smallestWith(sums[(band.low ?? limit) - 1], tail), high];
  } else {
    const amounts = untilDone(chances, sums);
    places = [0.5, tail, 1 - tail].map((share) => smallestWith(amounts, share));
  }
  const [median, low, high] = places.map((place) => (place === null ? null : roundTo(place * step, 2)));
  return { unit, median, low, high, coverage: band.coverage, entered, rests_on: restsOn };
}

/** A price as it was entered, and what it's for. */
function priceFor(price, hours) {
  const [whole, rest] = Number.isInteger(price) ? [price, ""] : price.toFixed(2).split(".");
  const said = thousands(whole) + (rest && `.${rest}`);
  if (hours === null) {
    return `${said} a visit`;
  }
  return `${said} for ${plain(hours)} hour${hours === 1 ? "" : "s"} in the chair`;
}
