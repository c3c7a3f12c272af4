import assert from "node:assert";
import { test } from "node:test";

import { asTyped, complaint, movedSaid, stepped, within } from "../../../outcomes/show/page/entered.js";
import { UNITS } from "../../../outcomes/show/page/typed.js";

const LEVELS = { low: 1, high: 10, step: 0.5, only: true };
const STRENGTHS = { low: 1.5, high: 12, step: 0.5 };

test("steps go from place to place of the grid and stay within the range", () => {
  assert.strictEqual(stepped(3, 1, LEVELS), 3.5);
  assert.strictEqual(stepped(3, -1, LEVELS), 2.5);
  assert.strictEqual(stepped(10, 1, LEVELS), 10);
  assert.strictEqual(stepped(1, -1, LEVELS), 1);
  // from off the grid to the nearest place in that direction
  assert.strictEqual(stepped(42, 1, { low: 1, high: 180, step: 5 }), 45);
  assert.strictEqual(stepped(42, -1, { low: 1, high: 180, step: 5 }), 40);
  assert.strictEqual(stepped(2, -1, { low: 1, high: 180, step: 5 }), 1);
  assert.strictEqual(within(11, 1, 10), 10);
});

test("three tenths are reached by steps of a tenth", () => {
  const tenths = { low: 0, high: 1, step: 0.1 };
  assert.strictEqual(stepped(stepped(stepped(0, 1, tenths), 1, tenths), 1, tenths), 0.3);
});

test("a complaint says what can be entered", () => {
  assert.strictEqual(complaint("9,5", LEVELS, UNITS.level), "");
  assert.strictEqual(complaint("3.2", LEVELS, UNITS.level), "3.2 can't be: steps of 0.5.");
  assert.strictEqual(complaint("11", LEVELS, UNITS.level), "11 can't be: 1 to 10.");
  assert.strictEqual(complaint("dark", LEVELS, UNITS.level), "dark is no number. Write it in figures, such as 1.");
  assert.strictEqual(complaint("", LEVELS, UNITS.level), "Nothing is no number. Write it in figures, such as 1.");
  // between the steps, where that is allowed
  assert.strictEqual(complaint("7.2", STRENGTHS, UNITS.developer), "");
  assert.strictEqual(complaint("12.5", STRENGTHS, UNITS.developer), "12.5 can't be: 1.5 to 12.");
});

test("a price keeps all of its digits", () => {
  const prices = [[1234567, "1234567"], [125750.5, "125750.5"], [99999.99, "99999.99"], [9999999.99, "9999999.99"], [6.5, "6.5"]];
  for (const [price, text] of prices) assert.strictEqual(asTyped(price), text);
  assert.strictEqual(complaint("20000000,5", { low: 0.01, high: 1e7, step: 5 }, UNITS.money), "20000000.5 can't be: 0.01 to 10000000.");
});

test("another unit than the field's is complained of", () => {
  const minutes = { low: 1, high: 180, step: 5 };
  assert.strictEqual(complaint("1h", minutes, UNITS.minutes), "1h isn't in minutes. Write the number alone.");
  assert.strictEqual(complaint("6 weeks", minutes, UNITS.washes), "6 weeks isn't in washes. Write the number alone.");
  assert.strictEqual(complaint("6 oz", STRENGTHS, UNITS.developer), "6 oz isn't in % or volume. Write the number alone.");
  assert.strictEqual(complaint("45 min.", minutes, UNITS.minutes), "");
});

test("volume is held against the same limit of 12 %", () => {
  assert.strictEqual(complaint("40 vol", STRENGTHS, UNITS.developer), "");
  assert.strictEqual(complaint("50 vol", STRENGTHS, UNITS.developer), "15 can't be: 1.5 to 12.");
  assert.strictEqual(complaint("3 vol", STRENGTHS, UNITS.developer), "0.9 can't be: 1.5 to 12.");
});

test("what another number has moved is said, and what it was", () => {
  assert.strictEqual(movedSaid(9, 9.5), "Moved up from 9: at least 9.5 now.");
  assert.strictEqual(movedSaid(7, 6.5), "Moved down from 7: at most 6.5 now.");
  assert.strictEqual(movedSaid(9, 9), "");
});
