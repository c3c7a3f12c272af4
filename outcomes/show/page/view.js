import { make, termList } from "./elements.js";
import { coverage } from "./evidence.js";

/** One view: what is asked on one side, what is told on the other. */

/**
 * @typedef {Object} Told What a view says to an answer.
 * @property {string} sentence To say out loud.
 * @property {?HTMLElement} picture With its caption.
 * @property {Array<[string, string|Node]>} facts Names and what is said of them.
 * @property {HTMLElement[]} tables Below the facts.
 * @property {string} support "inside", "edge" or "outside".
 * @property {string[]} reasons Why it isn't inside.
 * @property {boolean} isStarter Whether starter values stand in for a log.
 * @property {boolean} [isCarriedOn] Whether it goes on past the washes that the log followed.
 * @property {Array<[string, string|Node]>} basis What it rests on.
 * @property {Object} handout For `fillHandout`.
 */

/**
 * A view.
 * @param {Object} of
 * @param {string} of.title
 * @param {?{element: HTMLElement, question: Function}} of.controls Null: nothing can be answered here.
 * @param {string} of.missing Why nothing can, where that is so.
 * @param {Function} of.told Question in, `Told` out.
 * @param {string[]} of.cautions
 * @returns {{title: string, panel: HTMLElement, ask: HTMLElement, refresh: Function, answer: Function, told: ?Told}}
 *   `refresh(reminder)` answers the question as it stands and gives the sentence; `answer(question, reminder)`
 *   any question.
 */
export function view({ title, controls, missing = "", told, cautions }) {
  const parts = tellingParts(cautions);
  const ask = make("div", { class: "ask" }, controls?.element ?? null);
  const panel = make("section", { class: "view" }, ask, make("div", { class: "told" }, parts.say, parts.more));
  const own = { told: null };
  const tell = (found, reminder) => {
    own.told = found;
    show(parts, found, reminder);
    return found.sentence;
  };
  const answer = (question, reminder) => tell(answered(told, question), reminder);
  return {
    title,
    panel,
    ask,
    get told() {
      return own.told;
    },
    answer,
    refresh(reminder) {
      if (controls) return answer(controls.question(), reminder);
      return tell(unanswered(`Nothing can be said of it: ${missing}.`), reminder);
    },
  };
}

function answered(told, question) {
  try {
    return told(question);
  } catch (fault) {
    return unanswered(fault.message);
  }
}

function unanswered(why) {
  return {
    sentence: why, picture: null, facts: [], tables: [], support: null, reasons: [], isStarter: false, basis: [], handout: null,
  };
}

function tellingParts(cautions) {
  const parts = {
    sentence: make("p", { class: "sentence" }),
    reminder: make("p", { class: "reminder" }),
    picture: make("div", { class: "picture" }),
    facts: make("div", { class: "facts" }),
    basis: make("div", { class: "basis" }),
    print: make("button", { type: "button", class: "print", click: () => print() }, "Print for the client"),
  };
  const careful = make(
    "aside", { class: "cautions", "aria-label": "Cautions" },
    make("ul", {}, ...cautions.map((caution) => make("li", {}, caution))),
  );
  return {
    ...parts,
    say: make("div", { class: "say" }, parts.sentence, parts.reminder, parts.picture),
    more: make("div", { class: "more" }, parts.facts, careful, parts.basis, parts.print),
  };
}

function show(parts, told, reminder) {
  parts.say.classList.toggle("quiet", told.support === "outside" || told.support === null);
  parts.sentence.textContent = told.sentence;
  parts.reminder.textContent = reminder;
  parts.reminder.hidden = !reminder;
  parts.picture.replaceChildren(...(told.picture ? [told.picture] : []));
  parts.facts.replaceChildren(termList(told.facts), ...told.tables);
  parts.facts.hidden = !told.facts.length && !told.tables.length;
  parts.basis.hidden = !told.support;
  parts.print.hidden = !told.handout;
  if (!told.support) return;
  const cover = coverage(told.support, told.reasons, told.isStarter, told.isCarriedOn);
  parts.basis.replaceChildren(make("h2", {}, "What it rests on"), cover, termList(told.basis));
}

/**
 * A table.
 * @param {string} caption
 * @param {string[]} head
 * @param {Array<Array<string>>} rows The first cell names its row.
 * @param {string} [name] Class of the table.
 * @returns {HTMLElement}
 */
export function table(caption, head, rows, name = null) {
  // roles, since rows laid out as blocks would be none to a screen reader
  return make(
    "table", { class: name, role: "table" },
    make("caption", {}, caption),
    make("thead", { role: "rowgroup" }, make("tr", { role: "row" }, ...head.map((word) => make("th", { scope: "col", role: "columnheader" }, word)))),
    make("tbody", { role: "rowgroup" }, ...rows.map((row) => tableRow(head, row))),
  );
}

function tableRow([, ...head], [name, ...cells]) {
  return make(
    "tr", { role: "row" },
    make("th", { scope: "row", role: "rowheader" }, name),
    ...cells.map((cell, i) => make("td", { role: "cell", "data-head": head[i] }, cell)),
  );
}
