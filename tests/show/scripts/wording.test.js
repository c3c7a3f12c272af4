import assert from "node:assert/strict";
import test from "node:test";

import { nearest, plain, roundTo } from "../../../outcomes/show/page/rounding.js";
import {
  chanceInWords, count, held, likely, outsideSentence, percent, sessionsSentence, span, spanned,
} from "../../../outcomes/show/page/wording.js";

test("chances as people say them", () => {
  const cases = {
    0: "fewer than 1 in 100",
    0.01: "about 1 in 100",
    0.02: "about 1 in 50",
    0.05: "about 1 in 20",
    0.1: "about 1 in 10",
    0.15: "about 1 in 7",
    0.175: "about 2 in 10",
    0.25: "about 2 in 10",
    0.35: "about 4 in 10",
    0.71: "about 7 in 10",
    0.92: "about 9 in 10",
    0.925: "about 19 in 20",
    0.97: "about 49 in 50",
    0.99: "about 99 in 100",
    1: "more than 99 in 100",
  };
  for (const [p, words] of Object.entries(cases)) {
    assert.equal(chanceInWords(Number(p)), words, p);
  }
});

test("percentages: what isn't impossible isn't 0 %, what isn't sure isn't 100 %", () => {
  assert.deepEqual([0, 0.004, 0.005, 0.125, 0.715, 0.994, 0.996, 1].map(percent), [
    "0 %", "<1 %", "0 %", "12 %", "72 %", "99 %", ">99 %", "100 %",
  ]);
  assert.deepEqual([0, 1].map(likely), ["<1 %", ">99 %"]);
});

test("counts and bands", () => {
  assert.deepEqual([count(1), count(2), count(12345, "visit")], ["1 session", "2 sessions", "12,345 visits"]);
  assert.deepEqual(
    [span(1, 1, 6), span(1, 2, 6), span(2, 4, 6), span(3, null, 6), span(null, null, 6)],
    ["1", "1 or 2", "2 to 4", "3 or more", "more than 6"],
  );
  assert.deepEqual([spanned(1, 1, 6), spanned(1, 2, 6)], ["1 session", "1 or 2 sessions"]);
  assert.ok(Math.abs(held([0.2, 0.5, 0.2, 0.1], 2, 3) - 0.7) < 1e-12);
  assert.ok(Math.abs(held([0.2, 0.5, 0.2, 0.1], 2, null) - 0.8) < 1e-12);
  assert.ok(Math.abs(held([0.2, 0.5, 0.2, 0.1], null, null) - 0.1) < 1e-12);
});

test("the sentence about sessions", () => {
  const calm = { isEdge: false, isStarter: false };
  assert.equal(
    sessionsSentence([0.2, 0.7, 0.1, 0], { median: 2, low: 1, high: 2 }, calm),
    "2 sessions, most likely; about 9 in 10 clients like this need 1 or 2. Done today: about 2 in 10.",
  );
  assert.equal(
    sessionsSentence([0.9, 0.1, 0, 0], { median: 1, low: 1, high: 1 }, { isEdge: true, isStarter: false }),
    "1 session, most likely; about 9 in 10 clients like this need just that. Done today: about 9 in 10. "
      + "Few logged visits are like this, so take it with care.",
  );
  assert.equal(
    sessionsSentence([0.1, 0.1, 0.1, 0.7], { median: null, low: 1, high: null }, calm),
    "More than 3 sessions, most likely; about 3 in 10 clients like this are done within 3. "
      + "Done today: about 1 in 10.",
  );
  assert.equal(
    sessionsSentence([0.4, 0.15, 0.2, 0.25], { median: 2, low: 1, high: null }, { isEdge: true, isStarter: true }),
    "2 sessions, as a middle; but anything from 1 to more than 3 sessions may be needed. "
      + "Done today: about 4 in 10. That is what is usual in the trade, not this salon's own log, so take it with "
      + "care.",
  );
});

test("outside the log no number is said", () => {
  for (const isStarter of [false, true]) {
    assert.doesNotMatch(outsideSentence(isStarter), /\d/);
  }
  assert.match(outsideSentence(true), /usual in the trade/);
});

test("numbers are rounded with halves to the even digit", () => {
  assert.deepEqual([0.5, 1.5, 2.5, 2.49, 7.51].map(nearest), [0, 2, 2, 2, 8]);
  assert.deepEqual([roundTo(0.0078125, 6), roundTo(0.0234375, 6)], [0.007812, 0.023438]);
  assert.equal(roundTo(2.675, 2), 2.67); // as a double it's a little less
  assert.deepEqual([6, 6.5, 7.75, 0.1 + 0.2].map(plain), ["6", "6.5", "7.75", "0.3"]);
});
