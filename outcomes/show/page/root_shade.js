/**
 * Which root shade still blends after the washes until the next visit?
 */
import {
  FADE_COVERAGE, MISSING_RATES, bandOf, beyondLog, missingOf, mixedBand, roundedBand,
} from "./fade_bands.js";
import { progressAfter } from "./fade_rates.js";
import { outOfTen } from "./out_of_ten.js";
import { checkedLevel, checkedNumber, checkedWord } from "./question.js";
import { countUpTo } from "./rising.js";
import { plain, roundTo } from "./rounding.js";
import { FEW, assess, worse } from "./support.js";
import { chanceInWords, likely, percent } from "./wording.js";

const ALIKE = 0.05; // of the chance to blend: closer ones count as alike

/**
 * The answer; see `answerRootShade`.
 * @param {Object} model Opened.
 * @param {Object} question As `answerRootShade` takes it.
 * @returns {Object} The answer.
 */
export function rootShadeAnswer(model, question) {
  const asked = checkedRoots(model, question);
  const fade = model.fade.level;
  const candidates = [];
  for (let level = asked.natural; level <= asked.limit; level += 0.5) {
    for (const tone of asked.tone === null ? model.choices.roots.tones : [asked.tone]) {
      candidates.push(candidate(fade, level, tone, asked));
    }
  }
  const far = beyondLog(fade, asked.washes);
  const { choice, reason } = chosen(candidates, far);
  const covered = candidates.filter((one) => one.support !== "outside");
  const told = choice ?? most(covered, (one) => one.blends);
  return {
    inputs: asked,
    candidates: candidates.map(roundedCandidate),
    choice: choice && roundedCandidate(choice),
    reason,
    dropout: told ? roundedCandidate(told).dropout : [],
    coverage: FADE_COVERAGE,
    notes: [...(far ? [far] : []), ...fade.notes],
    basis: fade.basis,
    cautions: model.choices.cautions,
    sentence: sentenceOf(choice, reason, asked),
    said: {
      tens: choice && tensOf(choice.blends),
      missing: told && ifMissing(told),
      candidates: candidates.map(unrounded),
      choice: choice && unrounded(choice),
      told: told && unrounded(told),
      notes: far ? [far] : [],
    },
  };
}

function tensOf(blends) {
  const [blend, not] = outOfTen([blends, 1 - blends]);
  return { blend, not };
}

function checkedRoots({ choices }, question) {
  if (!choices.roots) {
    throw new Error(`this model says nothing of root shades: ${choices.leftOut.level}`);
  }
  const natural = checkedLevel("natural", question.natural);
  const lengths = checkedLevel("lengths", question.lengths);
  if (natural >= lengths) {
    throw new Error(
      `natural: found level ${plain(natural)}, and lengths of level ${plain(lengths)}; expected lengths lighter `
      + "than the natural level; correct one of them",
    );
  }
  const limit = question.limit === null || question.limit === undefined
    ? Math.ceil(natural + lengths) / 2
    : checkedLevel("limit", question.limit);
  if (limit <= natural || limit > lengths) {
    throw new Error(
      `limit: found level ${plain(limit)}; expected ${plain(natural + 0.5)} to ${plain(lengths)}, above the natural `
      + "level and up to the lengths; correct it",
    );
  }
  const [fewest, longest] = choices.washes;
  const word = (name, allowed) => {
    const value = question[name] ?? null;
    return value === null ? null : checkedWord(name, value, allowed);
  };
  return {
    natural, lengths, limit,
    washes: checkedNumber("washes", question.washes, fewest, longest, "washes"),
    tone: word("tone", choices.roots.tones),
    shampoo: word("shampoo", choices.roots.shampoos),
  };
}

/** A root shade, and what becomes of it. */
function candidate(fade, level, tone, { limit, washes, shampoo }) {
  const shade = { root_level: level, root_tone: tone, ...(shampoo === null ? {} : { shampoo }) };
  const progress = progressAfter(fade, shade, washes);
  progress.sort();
  const after = (factor) => ({
    n: progress.length,
    at: (k) => Math.min(level + factor * progress[k], fade.top),
  });
  // never darker than the natural level: hair only gets lighter
  const blending = (levels) => countUpTo(levels, limit) / levels.n;
  const read = after(1);
  const own = blending(read);
  const missing = missingOf(fade, "root_tone", tone);
  const visits = fade.support.categories.shade[`${plain(level)} ${tone}`] ?? 0;
  const words = { root_tone: tone, ...(shampoo === null ? {} : { shampoo }) };
  const judged = assess(fade.support, { root_level: level }, words).support;
  return {
    root_level: level,
    root_tone: tone,
    level_then: bandOf(read),
    blends: own,
    missing,
    moved: MISSING_RATES.map((factor) => {
      const unread = after(factor);
      const band = mixedBand(read, unread, missing);
      return { factor, band, blends: (1 - missing) * own + missing * blending(unread) };
    }),
    support: worse(judged, visits < FEW ? "edge" : "inside"),
    visits,
  };
}

function chosen(candidates, far) {
  const covered = candidates.filter((one) => one.support !== "outside");
  if (far) {
    return { choice: null, reason: far };
  }
  if (!covered.length) {
    return { choice: null, reason: "the log covers none of these shades" };
  }
  const best = Math.max(...covered.map((one) => one.blends));
  if (best < 0.5) {
    return { choice: null, reason: `none of them blends more often than not (best: ${chanceInWords(best)})` };
  }
  const alike = covered.filter((one) => one.blends >= best - ALIKE);
  const lightest = Math.max(...alike.map((one) => one.root_level));
  return {
    choice: most(alike.filter((one) => one.root_level === lightest), (one) => one.blends),
    reason: "the lightest of those that blend as often as any (within 5 in 100)",
  };
}

/** The first that has the most of something; null of none. */
function most(all, amount) {
  return all.reduce((best, one) => (best === null || amount(one) > amount(best) ? one : best), null);
}

/** As pictures and tables round it themselves. */
function unrounded({ root_level, root_tone, level_then, blends, support, visits }) {
  return { root_level, root_tone, level_then, blends, support, visits };
}

function roundedCandidate(one) {
  return {
    root_level: one.root_level,
    root_tone: one.root_tone,
    level_then: roundedBand(one.level_then),
    blends: roundTo(one.blends, 4),
    dropout: one.moved.map(({ factor, band, blends }) => ({
      missing: roundTo(one.missing, 4),
      rate: factor,
      level_then: roundedBand(band),
      blends: roundTo(blends, 4),
    })),
    support: one.support,
    visits: one.visits,
  };
}

function sentenceOf(choice, reason, { washes, tone }) {
  if (choice === null) {
    return `No root shade can be named: ${reason}.`;
  }
  return (
    `Level ${plain(choice.root_level)} ${choice.root_tone} still blends after ${plain(washes)} washes: `
    + `${chanceInWords(choice.blends)}. No lighter ${tone === null ? "" : `${tone} `}shade that the log covers blends as often.`
  );
}

/** What becomes of a candidate if the clients who were never read fade at another rate. */
function ifMissing(one) {
  const [slow, fast] = one.moved.map(({ blends }) => likely(blends));
  return (
    `${percent(one.missing)} of clients with ${one.root_tone} roots were never read after washes. If they `
    + `fade a quarter more slowly, level ${plain(one.root_level)} ${one.root_tone} blends ${slow} of the time; a `
    + `quarter faster, ${fast}.`
  );
}
