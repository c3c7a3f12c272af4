import { make, termList } from "./elements.js";
import { dayInWords } from "./dates.js";
import { count } from "./wording.js";

/**
 * One sheet for the client to take home, seen on paper alone. It says nothing of who works at the salon or of
 * what others had done, but for the number of visits behind it; and no recipe stands on it, which somebody might
 * try at home.
 */

/**
 * Put a sheet together anew.
 * @param {HTMLElement} sheet
 * @param {{sentence: string, handout: ?Object}} told `handout` is {title, plan, sentence, picture, facts, tables,
 *   visits, isOutside}; null where the view can't answer: then the sheet says why.
 * @param {string} first What is still to be done before anything else; may be empty.
 * @param {string[]} cautions
 * @param {Date} today
 */
export function fillHandout(sheet, told, first, cautions, today) {
  sheet.replaceChildren(
    make("p", { class: "day" }, dayInWords(today)),
    ...(told.handout ? answerParts(told.handout) : unansweredParts(told.sentence)),
    ...(first ? [make("p", { class: "reminder" }, first)] : []),
    make("ul", { class: "cautions" }, ...cautions.map((caution) => make("li", {}, caution))),
  );
}

function unansweredParts(why) {
  return [make("h1", {}, "Nothing to hand out"), make("p", { class: "sentence" }, why)];
}

function answerParts(of) {
  const basis = basisSaid(of);
  return [
    make("h1", {}, of.title),
    make("p", { class: "plan" }, of.plan),
    make("p", { class: "sentence" }, of.sentence),
    ...(of.picture ? [of.picture.cloneNode(true)] : []),
    termList(of.facts),
    ...of.tables.map((one) => one.cloneNode(true)),
    ...(basis ? [make("p", {}, basis)] : []),
  ];
}

/**
 * What an expectation rests on.
 * @param {{visits: number, isOutside: boolean}} handout Of a view.
 * @returns {string} Empty where the log doesn't cover the plan: then nothing on the sheet is an expectation.
 */
export function basisSaid({ visits, isOutside }) {
  if (isOutside) return "";
  const basis = visits ? `It rests on ${count(visits, "logged visit")}.` : "It rests on what is usual in the trade, not on logged visits.";
  return `${basis} It is an expectation, not a promise: hair differs.`;
}
