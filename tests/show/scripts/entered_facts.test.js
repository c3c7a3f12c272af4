import assert from "node:assert";
import { test } from "node:test";

import { conditionBasis, conditionFacts, conditionRows } from "../../../outcomes/show/page/condition_told.js";
import { enteredBasis, enteredFacts, hoursSaid, knownFacts, moneySaid, wholeMoney } from "../../../outcomes/show/page/entered_facts.js";

const total = (median, low, high, entered = []) => ({
  median, low, high, coverage: 0.8, entered, rests_on: "the minutes entered",
});

const session = (number, below) => ({ session: number, median: 4, low: 3, high: 4, below });

test("hours are said to the quarter, long ones to the half", () => {
  const said = [[5, "15 min"], [165, "2 h 45 min"], [232, "3 h 45 min"], [300, "5 h"], [314, "5 h"], [316, "5 h 30 min"]];
  for (const [minutes, words] of said) assert.strictEqual(hoursSaid(minutes), words);
});

test("money is said to about two figures, or as it is", () => {
  for (const [amount, words] of [[1234, "1,250"], [372.6, "375"], [42.3, "42"]]) assert.strictEqual(moneySaid(amount), words);
  for (const [amount, words] of [[300, "300"], [1234567, "1,234,567"], [1099.5, "1,099.50"]]) {
    assert.strictEqual(wholeMoney(amount), words);
  }
});

test("chair time, cost and calendar in the words of the command line", () => {
  const answer = {
    inputs: { limit: 6 },
    support: "inside",
    chair_time: total(300, 150, 450),
    cost: total(240, 120, null),
    calendar: total(6, 0, 12),
  };
  assert.deepStrictEqual(enteredFacts(answer), [
    ["Chair time", "about 5 h until the goal is read; 80 % band 2 h 30 min to 7 h 30 min"],
    ["Cost", "about 240 in the currency of your price; 80 % band 120 or more"],
    ["Calendar", "about 6 weeks from today's session to the last; 80 % band 0 to 12 weeks"],
  ]);
  assert.deepStrictEqual(enteredBasis({ ...answer, cost: undefined, calendar: undefined }), [["Chair time", "the minutes entered"]]);
});

test("no weeks at all are said as they are", () => {
  const calendar = total(0, 0, 6);
  assert.deepStrictEqual(enteredFacts({ inputs: { limit: 6 }, support: "inside", calendar }), [
    ["Calendar", "0 weeks from today's session to the last; 80 % band 0 to 6 weeks"],
  ]);
});

test("beyond the sessions followed there is no middle, and outside no headline", () => {
  const cost = total(null, 300, null);
  assert.deepStrictEqual(enteredFacts({ inputs: { limit: 6 }, support: "edge", cost }), [
    ["Cost", "beyond 6 sessions; 80 % band 300 or more"],
  ]);
  assert.deepStrictEqual(enteredFacts({ inputs: { limit: 6 }, support: "outside", cost }), [
    ["Cost", "wide band 300 or more in the currency of your price"],
  ]);
});

test("a known client's rate beside that of others", () => {
  assert.deepStrictEqual(knownFacts({ inputs: {} }), []);
  const client = { visits: 2, ratio: 1.1234, low: 0.9, high: 1.4 };
  assert.deepStrictEqual(knownFacts({ client, inputs: { same_course: true, past: [{}, {}] } }), [
    ["This client", "2 sessions before, the same course goes on; this hair lifts 1.12 times as fast as that of clients like this (8 in 10 chances: 0.90 to 1.40)"],
  ]);
});

test("far from the last result a new course begins, and it's said why", () => {
  const client = { visits: 1, ratio: 0.9, low: 0.8, high: 1.1 };
  const inputs = { same_course: false, start: 4, hair: "natural", past: [{ achieved: 6 }] };
  const far = "1 session before, level 4 isn't near what the last one reached, level 6, so a new course begins on natural hair";
  assert.deepStrictEqual(knownFacts({ client, inputs, support: "outside" }), [["This client", far]]);
  assert.ok(knownFacts({ client, inputs, support: "edge" })[0][1].startsWith(`${far}; this hair lifts 0.90 times`));
  const other = { ...inputs, start: 5, goal: 9, past: [{ achieved: 6, goal: 6.5 }] };
  const why = "1 session before, the last one's goal was level 6.5, so a new course begins on natural hair";
  assert.deepStrictEqual(knownFacts({ client, inputs: other, support: "outside" }), [["This client", why]]);
  const near = { ...inputs, start: 4.5, goal: 7, past: [{ achieved: 6, goal: 7 }] };
  assert.deepStrictEqual(knownFacts({ client, inputs: near, support: "outside" }), [["This client", "1 session before, a new course begins on natural hair"]]);
  // what can hardly be tells no rate
  assert.deepStrictEqual(knownFacts({ client: null, inputs, support: "outside" }), [["This client", far]]);
});

test("strand condition is told as far as courses come, and without a middle outside", () => {
  const condition = {
    before: 4, floor: 2, low: 2, high: 5, stops_first: 0.13, stops_within_sessions: 6,
    rests_on: "900 visits", notes: ["none", "one", "two"],
    sessions: [session(1, 0), session(2, 0.1), session(3, 0.2)],
  };
  assert.deepStrictEqual(conditionRows(condition, [0.4, 0.6, 0]), [
    ["before", "4", ""],
    ["1", "4", "3 to 4; below 2: fewer than 1 in 100"],
    ["2", "4", "3 to 4; below 2: about 1 in 10"],
  ]);
  const stops = "falls below 2 before the goal is read, within 6 sessions: about 1 in 7; none";
  assert.deepStrictEqual(conditionFacts({ condition }), [["Condition", stops]]);
  assert.deepStrictEqual(conditionBasis({ condition }), [["Condition", "900 visits; taken for granted: one; two"]]);
  const outside = { ...condition, stops_first: null };
  assert.deepStrictEqual(conditionFacts({ condition: outside }), [["Condition", "at the end, wide band 2 to 5"]]);
  assert.deepStrictEqual(conditionFacts({}), []);
});
