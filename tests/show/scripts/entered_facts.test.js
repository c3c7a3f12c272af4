import assert from "node:assert";
import { test } from "node:test";

import { enteredFacts, hoursSaid, knownFacts, moneySaid, wholeMoney } from "../../../outcomes/show/page/entered_facts.js";

const total = (median, low, high, entered = []) => ({
  median, low, high, coverage: 0.8, entered, rests_on: "the minutes entered",
});

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
  assert.deepStrictEqual(enteredFacts(answer, true), [
    ["Chair time", "about 5 h until the goal is read; 80 % band 2 h 30 min to 7 h 30 min"],
    ["Cost", "about 240 in the currency of your price; 80 % band 120 or more"],
    ["Calendar", "about 6 weeks from first to last session; 80 % band 0 to 12 weeks"],
  ]);
  assert.strictEqual(enteredFacts({ ...answer, cost: undefined, calendar: undefined }, false)[0][1].endsWith("; rests on the minutes entered"), true);
});

test("beyond the sessions followed there is no middle, and outside no headline", () => {
  const cost = total(null, 300, null);
  assert.deepStrictEqual(enteredFacts({ inputs: { limit: 6 }, support: "edge", cost }, true), [
    ["Cost", "beyond 6 sessions; 80 % band 300 or more"],
  ]);
  assert.deepStrictEqual(enteredFacts({ inputs: { limit: 6 }, support: "outside", cost }, true), [
    ["Cost", "wide band 300 or more in the currency of your price"],
  ]);
});

test("a known client's rate beside that of others", () => {
  assert.deepStrictEqual(knownFacts({ inputs: {} }), []);
  const client = { visits: 2, ratio: 1.1234, low: 0.9, high: 1.4 };
  assert.deepStrictEqual(knownFacts({ client, inputs: { same_course: true } }), [
    ["This client", "2 sessions before, these go on with their course; this hair lifts 1.12 times as fast as that of clients like this (8 in 10 chances: 0.90 to 1.40)"],
  ]);
});
