import assert from "node:assert/strict";
import test from "node:test";

import { answerRootShade, answerSessions, openModel } from "../../../outcomes/show/page/answers.js";
import { normalCdf } from "../../../outcomes/show/page/normal.js";
import { madeModel } from "./made_model.js";

const PLAN = { start: 3, goal: 9, hair: "natural", peroxide: 6, heat: "none", minutes: 45, stylist: null };

const answered = (draws, changes, question = {}) =>
  answerSessions(openModel(madeModel(draws, changes)), { ...PLAN, ...question });

test("three levels in 45 minutes: level 3 to 9 takes two sessions of 45 minutes", () => {
  const found = answered();
  assert.deepEqual(found.sessions, { 1: 0, 2: 1, 3: 0, 4: 0, 5: 0, 6: 0, more: 0 });
  assert.deepEqual(found.levels.slice(0, 2).map(({ median, low, high, holds }) => [median, low, high, holds]), [
    [6, 6, 6, 1], [9, 9, 9, 1],
  ]);
  assert.deepEqual([found.median, found.band.low, found.band.high], [2, 2, 2]);
  assert.deepEqual(found.said.tens.map(({ sessions, people }) => [sessions, people]), [["1", 0], ["2", 10]]);
});

test("in a quarter of the time a square root lifts half as much: four sessions", () => {
  assert.equal(answered({}, {}, { minutes: 11.25 }).sessions[4], 1);
});

test("a saturating curve is at (1 - exp(-x / theta)) / (1 - exp(-1 / theta)) after x times 45 minutes", () => {
  // theta 1, x 1/3: 0.28347 / 0.63212 = 0.44844 of 3 levels is 1.3453; five times that is 6.73, four times 5.38
  const found = answered({ saturating: 1, shape: 1 }, {}, { minutes: 15, goal: 9.5 });
  assert.equal(found.sessions[5], 1);
  assert.equal(found.levels[0].median, 4.5);
});

test("clients who differ: the chance today is that of a lognormal rate", () => {
  const found = answered({ sd_client: 0.2, rate: 6 });
  const exact = normalCdf((Math.log(6) - Math.log(9 - 0.25 - 3)) / 0.2); // a reading at 8.75 is written as 9
  assert.ok(Math.abs(found.reach_today.probability - exact) < 5e-4, String(found.reach_today.probability));
});

test("errors of reading: the chance today is that of a normal error", () => {
  const found = answered({ sd_result: 0.4, rate: 5.5 });
  assert.ok(Math.abs(found.reach_today.probability - normalCdf((8.5 - 8.75) / 0.4)) < 1e-6);
});

test("a look at the goal ends the session before the time is up", () => {
  // looks every 5 minutes; 3 sqrt(t / 45) reaches 1.75 after 15.3 minutes, so at the look after 20: 2 levels
  const gaps = { minutes: [5], share: [1], by_stylist: [[1]] };
  const found = answered({}, { gaps }, { goal: 5 });
  assert.equal(found.sessions[1], 1);
  assert.equal(found.levels[0].median, 5);
  assert.equal(answered({}, {}, { goal: 5 }).levels[0].median, 6); // nobody looked, so it's rinsed after 45
});

test("hair that surely gives out after five minutes is rinsed by then", () => {
  const hazard = { coefficients: [300, 0, 0, 0, 0, 0, 0], drops: [null, null] };
  // 3 sqrt(t / 45) with t evenly between 1 and 5 minutes: 0.45 to 1 level
  const { levels, sessions } = answered({}, { hazard });
  assert.equal(sessions[1], 0);
  assert.ok(levels[0].low >= 3.5 && levels[0].high <= 4);
});

test("a client whose hair lifted half as much has lower chances, and more sessions come on top", () => {
  const spread = { sd_client: 0.3, sd_result: 0.2, sd_start: 0.2, sd_visit: 0.1, rate: 4 };
  const past = [{ start: 3, achieved: 5, minutes: 45, peroxide: 6, heat: "none", stop: "time" }];
  const [new_, known] = [[], past].map((told) => answered(spread, {}, { start: 5, goal: 8.5, past: told }));
  assert.ok(known.sessions[1] < new_.sessions[1] - 0.3);
  // shrunken towards 1: half as much was read, with an error
  assert.ok(known.client.ratio > 0.5 && known.client.ratio < 0.7, String(known.client.ratio));
  assert.match(known.sentence, /more session/);
  assert.equal(known.inputs.same_course, true);
});

test("what can hardly be makes a new client's forecast, outside and with an open end", () => {
  const spread = { sd_client: 0.1, sd_result: 0.1, sd_start: 0.1, sd_visit: 0.1, rate: 4 };
  const past = [{ start: 3, achieved: 3, minutes: 45, peroxide: 6, heat: "none", stop: "time" }];
  const [new_, known] = [[], past].map((told) => answered(spread, {}, { start: 3, goal: 8.5, past: told }));
  assert.deepEqual(known.sessions, new_.sessions);
  assert.deepEqual([known.support, known.client, known.median, known.band.high], ["outside", null, null, null]);
  assert.ok(known.support_notes.includes("hardly"));
});

test("a course goes on with the hair that its first session had", () => {
  const past = [{ start: 3, achieved: 5, minutes: 45, peroxide: 6, heat: "none", stop: "time", hair: "coloured" }];
  assert.equal(answered({}, {}, { start: 5, goal: 8.5, past }).inputs.hair, "coloured");
  assert.equal(answered({}, {}, { start: 8, goal: 8.5, past }).inputs.hair, "natural");
  const reached = [{ ...past[0], stop: "target" }];
  assert.equal(answered({}, {}, { start: 5, goal: 8.5, past: reached }).inputs.past[0].goal, 5);
});

test("what was told of earlier sessions is checked", () => {
  const session = { start: 3, achieved: 5, minutes: 45, peroxide: 6, heat: "none", stop: "time" };
  const wrong = [
    [{ achieved: 2 }, /past session 1: achieved: found level 2, darker/],
    [{ stop: "bored" }, /past session 1: stop/],
    [{ peroxide: 14 }, /past session 1: peroxide/],
    [{ goal: 3 }, /past session 1: goal/],
  ];
  for (const [change, message] of wrong) {
    assert.throws(() => answered({}, {}, { past: [{ ...session, ...change }] }), message);
  }
  const many = Array.from({ length: 13 }, () => session);
  assert.throws(() => answered({}, {}, { past: many }), /13 sessions; expected 12/);
});

test("outside what the log covers there is no median and no number in the sentence", () => {
  const found = answered({ rate: 1 }, {}, { goal: 9 });
  assert.equal(found.support, "outside");
  assert.equal(found.median, null);
  assert.equal(found.said.tens, null);
  assert.doesNotMatch(found.sentence, /\d/);
});

test("what the model says nothing of is refused with the reason", () => {
  const model = openModel(madeModel());
  assert.throws(() => answerRootShade(model, { natural: 3, lengths: 9, washes: 10 }), /root shades: nobody read it/);
});
