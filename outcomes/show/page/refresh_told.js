import { answerRefresh } from "./answers.js";
import { likely, percent } from "./wording.js";
import { nearest, plain } from "./rounding.js";
import { readAfterWashes, untimed } from "./evidence.js";
import { picture } from "./ten.js";
import { lineEnd, washLine } from "./wash_line.js";

/** The answer about refreshing as the page tells it. */

/**
 * What the view of refreshing says.
 * @param {Object} model
 * @param {Object} question
 * @returns {Object} `Told`, as view.js has it.
 */
export function refreshTold(model, question) {
  const answer = answerRefresh(model, question);
  const { said, inputs, support } = answer;
  const isOutside = support === "outside";
  const drawn = () => (isOutside || answer.washes.low === null ? null : linePicture(answer));
  const never = answer.never > 0 && !isOutside ? `${likely(answer.never)} of such hair never fades so far` : "";
  const bands = [["Washes", bandSaid(said.washes, isOutside)], ["Weeks", bandSaid(said.weeks, isOutside)]];
  return {
    sentence: answer.sentence,
    picture: drawn(),
    facts: [...bands, ["Never", never]],
    tables: [],
    support,
    reasons: said.notes,
    isStarter: Boolean(answer.basis.starter),
    isCarriedOn: !answer.within_log && !isOutside,
    basis: [
      ["Rests on", readAfterWashes(answer.basis)],
      ["Never read", neverRead(answer)],
      ["Time, cost", untimed(inputs.zone === "roots" ? "root shade" : "toner")],
    ],
    handout: {
      title: "When it needs a refresh",
      plan: `${inputs.zone === "roots" ? "Root shade" : "Toner"}, ${plain(inputs.washes_per_week)} washes a week`,
      sentence: answer.sentence,
      picture: drawn(),
      facts: isOutside ? [] : bands,
      tables: [],
      visits: answer.basis.visits,
      isOutside,
    },
  };
}

function neverRead({ dropout: [{ missing }], said }) {
  return `${percent(missing)} of clients who had it were never read after washes. ${said.missing ?? ""}`.trim();
}

function wholeOrNever(value) {
  return value === null ? "never" : String(nearest(value));
}

function linePicture({ said, inputs }) {
  const { washes, weeks } = said;
  const words = {
    median: `${wholeOrNever(washes.median)} washes, ${wholeOrNever(weeks.median)} weeks`,
    low: wholeOrNever(washes.low),
    high: wholeOrNever(washes.high),
  };
  const drawing = washLine({ ...washes, said: words, end: lineEnd(washes, said.longest) });
  const half = washes.median === null ? "Fewer than half ever get there" : `Half are there after ${wholeOrNever(washes.median)} washes`;
  const ends = washes.high === null ? `from ${words.low} washes on, or never` : `between ${words.low} and ${words.high} washes`;
  return picture(drawing, `${half}; 8 in 10 ${ends}, at ${plain(inputs.washes_per_week)} a week.`);
}

/**
 * Washes or weeks with their band; of what the log doesn't cover the band alone.
 * @param {{median: ?number, low: ?number, high: ?number}} band
 * @param {boolean} isOutside
 * @returns {string}
 */
export function bandSaid({ median, low, high }, isOutside) {
  if (isOutside) return `– (${wholeOrNever(low)} to ${wholeOrNever(high)})`;
  if (median === null) return "more often than not never";
  return `${wholeOrNever(median)} (${wholeOrNever(low)} to ${wholeOrNever(high)})`;
}
