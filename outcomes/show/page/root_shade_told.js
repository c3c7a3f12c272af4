import { answerRootShade } from "./answers.js";
import { count, likely } from "./wording.js";
import { plain, roundTo } from "./rounding.js";
import { readAfterWashes, untimed } from "./evidence.js";
import { picture, tenFigures } from "./ten.js";
import { table } from "./view.js";

/** The answer about root shades as the page tells it. */

/**
 * What the view of root shades says.
 * @param {Object} model
 * @param {Object} question
 * @returns {Object} `Told`, as view.js has it.
 */
export function rootShadeTold(model, question) {
  const answer = answerRootShade(model, question);
  const { said, inputs } = answer;
  const { choice } = said;
  const isFar = said.notes.length > 0;
  const support = said.told && !isFar ? said.told.support : "outside";
  const drawn = () => (said.tens ? blendPicture(said.tens, inputs.washes) : null);
  const washes = `after ${plain(inputs.washes)} washes`;
  const then = choice ? [[`Level ${washes}`, `${levelThen(choice.level_then)}, 8 times in 10`], ["Still blends", likely(choice.blends)]] : [];
  const rule = ["Blending", `level ${plain(inputs.natural)} to ${plain(inputs.limit)} ${washes}`];
  return {
    sentence: answer.sentence,
    picture: drawn(),
    facts: [...then, rule],
    // past the washes that were followed no number stands, whatever the shade
    tables: isFar ? [] : [shadeTable(said, washes)],
    support,
    reasons: isFar ? said.notes : supportReasons(said.told),
    isStarter: Boolean(answer.basis.starter),
    basis: [
      ["Rests on", readAfterWashes(answer.basis)],
      ["Never read", isFar ? "" : said.missing],
      ["Time, cost", untimed("root shade")],
    ],
    handout: {
      title: "A root shade that blends",
      plan: `Natural level ${plain(inputs.natural)}, lengths of level ${plain(inputs.lengths)}`,
      sentence: answer.sentence,
      picture: drawn(),
      facts: then,
      tables: [],
      visits: answer.basis.visits,
      isOutside: support === "outside",
    },
  };
}

function supportReasons(one) {
  if (!one || one.support === "inside") return [];
  return [`of level ${plain(one.root_level)} ${one.root_tone} the log has ${count(one.visits, "visit")} read after washes`];
}

function blendPicture({ blend, not }, washes) {
  const groups = [
    { people: blend, kind: "full", sign: "yes" },
    { people: not, kind: "bare", sign: "no" },
  ];
  const after = `after ${plain(washes)} washes`;
  const rest = not ? `, with ${not} it doesn't` : "";
  return picture(tenFigures(groups), `With ${blend} of 10 clients like this it still blends ${after}${rest}.`);
}

function levelThen({ median, low, high }) {
  return `${tenth(median)} (${tenth(low)} to ${tenth(high)})`;
}

function tenth(level) {
  return roundTo(level, 1).toFixed(1);
}

/**
 * Of each level the tone that blends most often, the chosen shade in any case; lightest first.
 * @param {Object[]} candidates
 * @param {?Object} choice
 * @returns {Object[]}
 */
export function bestByLevel(candidates, choice) {
  const best = new Map();
  const isChoice = (one) => choice && one.root_level === choice.root_level && one.root_tone === choice.root_tone;
  for (const one of candidates) {
    const kept = best.get(one.root_level);
    if (!kept || isChoice(one) || (one.blends > kept.blends && !isChoice(kept))) best.set(one.root_level, one);
  }
  return [...best.values()].toSorted((a, b) => b.root_level - a.root_level);
}

function shadeTable({ candidates, choice }, washes) {
  const rows = bestByLevel(candidates, choice).map((one) => {
    const isOutside = one.support === "outside";
    const read = one.support === "inside" ? String(one.visits) : `${one.visits}, ${one.support}`;
    const then = isOutside ? "–" : levelThen(one.level_then);
    return [`${plain(one.root_level)} ${one.root_tone}`, then, isOutside ? "–" : likely(one.blends), read];
  });
  return table("Of each level the tone that blends most often", ["Root shade", `Level ${washes}`, "Blends", "Read before"], rows);
}
