import { make } from "./elements.js";
import { segments } from "./segments.js";

/** Patch test and strand test: asked for, never assumed. */

const WORDS = [{ value: true, word: "yes" }, { value: false, word: "not yet" }];

/**
 * What is left to be said of the tests.
 * @param {Array<[string, ?boolean]>} tests Name and answer; null: not answered.
 * @returns {string} Empty where all are done.
 */
export function testsReminder(tests) {
  const open = tests.filter(([, done]) => done !== true);
  if (!open.length) return "";
  const isAlike = new Set(open.map(answerSaid)).size === 1;
  const names = open.map(([name], i) => (i === 0 ? name : name.toLowerCase()));
  const each = isAlike ? [`${names.join(" and ")}: ${answerSaid(open[0])}.`] : open.map((one) => `${one[0]}: ${answerSaid(one)}.`);
  return `${each.join(" ")} ${open.length > 1 ? "Both come" : "It comes"} first.`;
}

/**
 * The same for the client's sheet.
 * @param {Array<[string, ?boolean]>} tests As in `testsReminder`.
 * @returns {string} Empty where all are done.
 */
export function testsToDo(tests) {
  const open = tests.filter(([, done]) => done !== true).map(([name]) => name.toLowerCase());
  return open.length ? `Still to be done before anything else: ${open.join(" and ")}.` : "";
}

function answerSaid([, done]) {
  return done === false ? "not yet" : "not answered";
}

/**
 * The two questions, unanswered.
 * @param {Function} changed
 * @returns {{element: HTMLElement, reminder: Function, toDo: Function}} The last two as `testsReminder` and
 *   `testsToDo`.
 */
export function testsAsked(changed) {
  const names = ["Patch test", "Strand test"];
  const asked = names.map((name) => segments({ label: `${name} done?`, words: WORDS, value: null, changed }));
  const answers = () => names.map((name, i) => [name, asked[i].value]);
  return {
    element: make("div", { class: "pair tests" }, ...asked.map((one) => one.element)),
    reminder: () => testsReminder(answers()),
    toDo: () => testsToDo(answers()),
  };
}
