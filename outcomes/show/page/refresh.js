/**
 * When does it need a refresh? Washes, and weeks at a client's wash habit, until fade passes a threshold.
 */
import {
  FADE_COVERAGE, MISSING_RATES, bandOf, beyondLog, missingOf, mixedBand, roundedBand, withoutMiddle,
} from "./fade_bands.js";
import { fadeRates, washesUntil } from "./fade_rates.js";
import { checkedLevel, checkedNumber, checkedWord } from "./question.js";
import { rising } from "./rising.js";
import { nearest, plain, roundTo } from "./rounding.js";
import { assess } from "./support.js";

const MOST_A_WEEK = 14;
const POINTS = 60;

/**
 * The answer; see `answerRefresh`.
 * @param {Object} model Opened.
 * @param {Object} question As `answerRefresh` takes it.
 * @returns {Object} The answer.
 */
export function refreshAnswer(model, question) {
  const { fade, isAtRoots, amount, perWeek, given } = checkedRefresh(model, question);
  const hasZones = !isAtRoots && fade.columns.zone?.values.includes(question.zone);
  const rates = fadeRates(fade, hasZones ? { ...given, zone: question.zone } : given);
  const threshold = isAtRoots ? amount : -Math.log1p(-amount / 100);
  const until = washesUntil(fade, rates, threshold);
  until.sort();
  const tone = isAtRoots ? "root_tone" : "toner_tone";
  const missing = missingOf(fade, tone, given[tone]);
  const never = shareNever(until);
  const { root_level: level, ...words } = given;
  const { support, notes } = assess(fade.support, level === undefined ? {} : { root_level: level }, words);
  const isOutside = support === "outside";
  const bare = isOutside ? withoutMiddle : (band) => band;
  const whole = bandOf(rising(until));
  const far = beyondLog(fade, whole.high);
  const washes = bare(whole);
  const weeks = bare(bandOf(rising(until.map((one) => one / perWeek))));
  const dropout = MISSING_RATES.map((rate) => {
    const changed = washesUntil(fade, rates, threshold, rate);
    changed.sort();
    const band = bare(mixedBand(rising(until), rising(changed), missing));
    return { rate, band, never: (1 - missing) * never + missing * shareNever(changed) };
  });
  const longest = fade.support.numbers.washes[3];
  const gone = isAtRoots ? `${plain(amount)} level${amount === 1 ? "" : "s"}` : `${plain(amount)} % of the tone`;
  const isWithinLog = !far && !isOutside;
  const own = [...(far ? [far] : []), ...notes];
  return {
    inputs: { zone: question.zone, fade: amount, washes_per_week: perWeek, ...given },
    washes: roundedBand(washes),
    weeks: roundedBand(weeks),
    never: roundTo(never, 4),
    support,
    within_log: isWithinLog,
    dropout: dropout.map((one) => ({
      missing: roundTo(missing, 4),
      rate: one.rate,
      washes: roundedBand(one.band),
      never: roundTo(one.never, 4),
    })),
    coverage: FADE_COVERAGE,
    notes: [...own, ...fade.notes],
    basis: fade.basis,
    cautions: model.choices.cautions,
    sentence: sentenceOfRefresh({ washes, weeks, perWeek, gone, isOutside, isWithinLog, longest }),
    said: {
      gone,
      longest,
      washes,
      weeks,
      reached: reachedBy(until, washes, longest),
      missing: isOutside ? null : ifNeverRead(dropout),
      notes: own,
    },
  };
}

function checkedRefresh({ choices, fade }, question) {
  const zone = checkedWord("zone", question.zone, ["roots", "lengths"]);
  const isAtRoots = zone === "roots";
  const there = isAtRoots ? choices.roots : choices.toner;
  if (!there) {
    const why = choices.leftOut[isAtRoots ? "level" : "tone_left"];
    throw new Error(`this model says nothing of fade at the ${zone}: ${why}`);
  }
  const amount = isAtRoots
    ? checkedNumber("fade", question.fade, 0.5, 9, "levels")
    : checkedNumber("fade", question.fade, 5, 95, "% of the tone");
  const found = {
    isAtRoots, amount,
    fade: isAtRoots ? fade.level : fade.tone_left,
    perWeek: checkedNumber("washes_per_week", question.washes_per_week, 0.1, MOST_A_WEEK),
    given: {},
  };
  const isGiven = (name) => question[name] !== null && question[name] !== undefined;
  if (isAtRoots && isGiven("root_level")) {
    const level = checkedLevel("root_level", question.root_level);
    if (level + amount > found.fade.top) {
      throw new Error(
        `fade: found ${plain(amount)} from level ${plain(level)}; expected ${plain(found.fade.top - level)} at most, `
        + `since level ${plain(found.fade.top)} is the end of the scale; correct one of them`,
      );
    }
    found.given.root_level = level;
  }
  const tone = isAtRoots ? "root_tone" : "toner_tone";
  if (isGiven(tone)) {
    found.given[tone] = checkedWord(tone, question[tone], there.tones);
  }
  if (isGiven("shampoo")) {
    found.given.shampoo = checkedWord("shampoo", question.shampoo, there.shampoos);
  }
  return found;
}

function shareNever(sorted) {
  const first = sorted.indexOf(Infinity);
  return first < 0 ? 0 : (sorted.length - first) / sorted.length;
}

/** Washes, and the share of clients whose hair has faded so far by then; a little beyond the band, or the log. */
function reachedBy(sorted, { median, high }, longest) {
  const last = 1.15 * (high || Math.max(longest, median ?? 0));
  let passed = 0;
  return Array.from({ length: POINTS + 1 }, (_, k) => {
    const at = (last * k) / POINTS;
    while (passed < sorted.length && sorted[passed] <= at) {
      passed += 1;
    }
    return [at, passed / sorted.length];
  });
}

function sentenceOfRefresh({ washes, weeks, perWeek, gone, isOutside, isWithinLog, longest }) {
  if (isOutside) {
    return `Outside the log: when such hair has faded by ${gone} can't be said from it.`;
  }
  const { median, low, high } = washes;
  if (median === null) {
    return `More often than not it never fades by ${gone}.`;
  }
  const between = high === null ? `from about ${wholeWashes(low)} on` : `between ${wholeWashes(low)} and ${wholeWashes(high)}`;
  const said =
    `bout ${wholeWashes(median)} washes until it has faded by ${gone}, for 8 in 10 clients ${between}; `
    + `that's ${wholeWeeks(weeks.median)} at ${plain(perWeek)} a week.`;
  if (isWithinLog) {
    return `A${said}`;
  }
  if (median > longest) {
    return `The log followed hair for ${plain(longest)} washes only; carried on from there, a${said}`;
  }
  return `A${said} Not all of that was seen in the log.`;
}

/** As people say it: in tens beyond a hundred. */
function wholeWashes(washes) {
  if (washes === null) {
    return "?";
  }
  return String(washes > 100 ? 10 * nearest(washes / 10) : Math.max(nearest(washes), 1));
}

function wholeWeeks(weeks) {
  if (weeks === null) {
    return "beyond any number of weeks";
  }
  const whole = Math.max(nearest(weeks), 1);
  return `about ${whole} week${whole === 1 ? "" : "s"}`;
}

/** When half are there if the clients who were never read fade at another rate. */
function ifNeverRead(dropout) {
  const [slow, fast] = dropout.map(({ band }) =>
    band.median === null ? "more than half never get there" : `half are there after ${nearest(band.median)} washes`,
  );
  return `If they fade a quarter more slowly, ${slow}; a quarter faster, ${fast}.`;
}
