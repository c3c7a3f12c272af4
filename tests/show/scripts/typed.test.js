import assert from "node:assert";
import { test } from "node:test";

import { complaint } from "../../../outcomes/show/page/entered.js";
import { UNITS, typedNumber } from "../../../outcomes/show/page/typed.js";

test("a number may have a point or a comma, and its field's own unit", () => {
  const { developer, level, minutes, money, washes, washesPerWeek, weeks } = UNITS;
  const typed = [
    ["7.5", 7.5, level], ["7,5", 7.5, level], ["Level 6", 6, level], ["6 levels", 6, level], ["6,", 6, level], [",5", 0.5, washesPerWeek],
    [" 6 % ", 6, developer], ["6%", 6, developer], ["45 min", 45, minutes], ["45 Min.", 45, minutes], ["45minutes", 45, minutes],
    ["6 weeks", 6, weeks], ["6 wks", 6, weeks], ["18 washes", 18, washes], ["2,5 a week", 2.5, washesPerWeek],
    ["3 washes per week", 3, washesPerWeek], ["€99.50", 99.5, money], ["99,50 €", 99.5, money], ["120 EUR", 120, money],
  ];
  for (const [text, value, unit] of typed) assert.strictEqual(typedNumber(text, unit), value, text);
});

test("volume becomes per cent, as on the command line", () => {
  const typed = [
    ["10 vol", 3], ["12 v", 3.6], ["20vol.", 6], ["20-vol", 6], ["vol 30", 9], ["vol. 30", 9], ["40 VOLUME", 12], ["13 vols", 3.9],
    ["6.2 volumes", 1.86], ["20", 20],
  ];
  for (const [text, value] of typed) assert.strictEqual(typedNumber(text, UNITS.developer), value, text);
});

test("another unit is never taken for the field's own", () => {
  const { developer, level, minutes, money, percent, washes, weeks } = UNITS;
  const typed = [
    ["1h", minutes], ["1 hour", minutes], ["6 weeks", washes], ["6 washes", weeks], ["6 vol", level], ["20 vol", percent],
    ["6 %", level], ["12 oz", developer], ["2 min", money], ["5k", money], ["6 toString", level], ["6 constructor", level],
  ];
  for (const [text, unit] of typed) assert.strictEqual(typedNumber(text, unit), null, text);
});

test("what may be read in two ways, or in none, is no number", () => {
  for (const text of ["", "1.200,50", "7/8", "-3", "1e3", "six", "7 5", "7..5", "Infinity", "level 6 levels", "6-7", "6-"]) {
    assert.strictEqual(typedNumber(text, UNITS.level), null, text);
  }
});

test("a comma or point for thousands isn't taken for decimals", () => {
  const range = { low: 0.01, high: 1e7, step: 5 };
  for (const text of ["1,500", "1.500", "$1,200", "1,500 €", "1.2345"]) {
    assert.equal(typedNumber(text, UNITS.money), null);
    assert.match(complaint(text, range, UNITS.money), /may be meant in two ways/);
  }
  for (const [text, value] of [["125750,50", 125750.5], ["1500", 1500], ["99.5", 99.5]]) {
    assert.equal(typedNumber(text, UNITS.money), value);
  }
  assert.equal(typedNumber("0.125", UNITS.percent), 0.125);
});
