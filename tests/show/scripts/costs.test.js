import assert from "node:assert/strict";
import test from "node:test";

import { conditionAfter, followCondition } from "../../../outcomes/show/page/condition_chain.js";
import { courseCosts, enteredFigures } from "../../../outcomes/show/page/costs.js";
import { normalCdf } from "../../../outcomes/show/page/normal.js";
import { capped, raised, several, smallestWith, untilDone } from "../../../outcomes/show/page/tally.js";

const NONE = { step: 5, shares: [], count: 0 };
const UNKNOWN = { besides_first: NONE, besides_later: NONE, last: NONE, together: true, weeks: { ...NONE, step: 1 } };
const COURSE = {
  chances: [0.3, 0.5, 0.1, 0.1], band: { low: 1, high: null, coverage: 0.8 }, isOutside: false, isLater: false,
  minutes: 45,
};
const close = (found, wanted) => wanted.forEach((value, i) => assert.ok(Math.abs(found[i] - value) < 1e-12, `${i}`));

const ends = ({ median, low, high }) => [median, low, high];

test("sums of two dice", () => {
  const die = { shares: [0, 1, 1, 1, 1, 1, 1].map((one) => one / 6) };
  const [, two] = several(die, die, 2);
  close(two, [0, 0, 1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1].map((ways) => ways / 36));
  assert.equal(smallestWith(two, 0.5), 7); // 21 ways of 36 are at most 7, 15 at most 6
  close(untilDone([0.5, 0.5, 0], [die.shares, two]).slice(1, 3), [1 / 12, 1 / 12 + 1 / 72]);
});

test("a fixed amount more for each visit, to the nearest step of what it comes to", () => {
  // 58 minutes in steps of 5: 0, 11.6 and 23.2 before the last, which takes 3
  const later = raised([[1], [0, 1], [0, 0, 1]], 11.6, [0, 0, 0, 1]);
  assert.deepEqual(later.map((shares) => shares.indexOf(1)), [3, 16, 28]);
  assert.deepEqual(raised([[0.5, 0.5]], 0, [1]), [[0.5, 0.5]]);
  assert.deepEqual(capped({ shares: [0, 0.25, 0.25, 0.5] }, 2), [0, 0.25, 0.75]);
  assert.deepEqual(capped({ shares: [0, 1] }, 3), [0, 1, 0, 0]);
  assert.deepEqual(capped(NONE, 2), [0, 0, 1]); // where nothing is known, the whole time
});

test("entered minutes, price and weeks: so many times, once fewer for weeks; beyond the limit there's no end", () => {
  const found = courseCosts(UNKNOWN, enteredFigures({ minutes_per_visit: 150, price: 95, weeks_between: 6 }), COURSE);
  assert.deepEqual(ends(found.chair_time), [300, 150, 450]); // 0.3 + 0.5 pass a half, 0.9 is reached in 3
  assert.deepEqual(ends(found.cost), [190, 95, 285]);
  assert.deepEqual(ends(found.calendar), [6, 0, 12]);
  assert.equal(found.cost.rests_on, "your price of 95 a visit");
  const open = { ...COURSE, chances: [0.3, 0.3, 0.1, 0.3] };
  assert.equal(courseCosts(UNKNOWN, enteredFigures({ price: 95 }), open).cost.high, null);
});

test("a price for hours in the chair", () => {
  const figures = enteredFigures({ minutes_per_visit: 90, price: 40, hours: 1 });
  const { cost } = courseCosts(UNKNOWN, figures, COURSE);
  assert.deepEqual([cost.median, cost.entered], [120, ["price", "hours", "minutes_per_visit"]]);
  assert.equal(cost.rests_on, "your price of 40 for 1 hour in the chair and your 90 minutes a visit");
});

test("a course that was begun goes on with visits like later ones", () => {
  const times = { ...UNKNOWN, besides_first: { step: 5, shares: [0, 0, 0, 1], count: 30 }, together: false };
  times.besides_later = { step: 5, shares: [0, 1], count: 25 };
  const medianOf = (isLater) => courseCosts(times, enteredFigures({}), { ...COURSE, isLater }).chair_time.median;
  // 15 + 5 and 5 + 5 minutes besides 45 of processing, twice
  assert.deepEqual([medianOf(false), medianOf(true)], [110, 100]);
});

test("outside the log there's no middle", () => {
  const course = { ...COURSE, isOutside: true, band: { low: 1, high: 3, coverage: 0.95 } };
  const { cost } = courseCosts(UNKNOWN, enteredFigures({ price: 10 }), course);
  assert.deepEqual([cost.median, cost.low, cost.high, cost.coverage], [null, 10, 30, 0.95]);
});

test("figures that can't be used are refused", () => {
  for (const [figures, message] of [
    [{ hours: 1 }, /hours: found no price/],
    [{ price: -1 }, /price/],
    [{ price: 0.001 }, /0.01 to/],
    [{ price: 0.2, hours: 4 }, /0.2 for 4 hours; expected 0.1 an hour/],
    [{ minutes_per_visit: 5 }, /10 to 720 minutes/],
    [{ weeks_between: 60 }, /1 to 52 weeks/],
  ]) {
    assert.throws(() => enteredFigures(figures), message);
  }
  assert.throws(() => courseCosts(UNKNOWN, enteredFigures({ price: 9, hours: 2 }), COURSE), /enter the chair time/);
});

const LOSSES = {
  coefficients: [[0.3, 0, 0, 0, 0, 0, 0, 0]], nodes: [0], weights: [1], sd_client: 0, sd_session: 0.4,
  recovery: [[0, 0, 1, 0, 0], [0, 0, 0.8, 0.2, 0]],
};

test("what a session takes off is a rounded normal number of points, and hair never gets better in it", () => {
  const after = conditionAfter(LOSSES, [1, 0, 0, 0, 0, 0, 0]);
  // hair at 4, by points lost: at most 0, 1, 2; more is 1 at worst
  const upTo = [0.5, 1.5, 2.5].map((points) => normalCdf((points - 0.3) / 0.4));
  close(after.slice(15, 20), [1 - upTo[2], upTo[2] - upTo[1], upTo[1] - upTo[0], upTo[0], 0]);
  close([after[0]], [1]); // hair that breaks stays so
  for (let before = 0; before < 5; before++) {
    close([after.slice(5 * before, 5 * before + 5).reduce((sum, chance) => sum + chance, 0)], [1]);
  }
});

test("the chance of falling below the floor first, session by session", () => {
  // a point a session for sure: 3, 2, then below a floor of 2; no course is done before its third session
  const stays = [0, 0, 1, 0, 0];
  const sure = { ...LOSSES, coefficients: [[1, 0, 0, 0, 0, 0, 0, 0]], sd_session: 0.01, recovery: [stays, stays] };
  const treatment = conditionAfter(sure, [1, 0, 0, 0, 0, 0, 0]);
  const chain = (chances) => followCondition(sure, [treatment, treatment, treatment], 4, 2, chances);
  const late = chain([0, 0, 0.4, 0.6]);
  close([late.stops], [0.6]); // where the third session reads the goal, the goal comes first
  close(late.after.map((chances) => chances.indexOf(Math.max(...chances))), [2, 1, 0]);
  close([chain([0.5, 0.5, 0, 0]).stops], [0]);
  close(chain([0.5, 0.5, 0, 0]).end, [0, 0.5, 0.5, 0, 0]);
});
