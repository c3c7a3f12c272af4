import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { deviceLetters, localDay, nextCode } from "../../../outcomes/show/recorder/codes.js";
import { fieldOf, inVolume, readField, spokenOf, strengthTold } from "../../../outcomes/show/recorder/fields.js";

const book = JSON.parse(readFileSync(new URL("recorder_book.json", import.meta.url), "utf8"));

function read(name, text, table = "visits") {
  return readField(fieldOf(book, table, name), text, book);
}

test("numbers with a decimal comma or point", () => {
  assert.equal(read("mix_ratio", "1,5").value, 1.5);
  assert.equal(read("mix_ratio", " 1.5 ").value, 1.5);
  assert.equal(read("mix_ratio", "1:2").value, 2);
  assert.equal(read("mix_ratio", "2:3").value, 1.5);
  assert.equal(read("planned_minutes", "45 min").value, 45);
});

test("peroxide above 12 % can't be entered", () => {
  assert.equal(read("peroxide_pct", "12").value, 12);
  assert.equal(read("peroxide_pct", "40 vol").value, 12);
  for (const text of ["12.1", "12,5", "14", "20", "50 vol", "1.4", "-6", "1e1", "six"]) {
    const { value, fault } = read("peroxide_pct", text);
    assert.equal(value, null, text);
    assert.match(fault, /expected 1.5 to 12 % \(20 volume is 6 %\)/);
  }
});

test("a developer in volume is told and kept in per cent", () => {
  for (const [text, percent] of [["10 vol", 3], ["20 vol", 6], ["30Vol.", 9], ["40 volume", 12], ["20v", 6]]) {
    assert.deepEqual(read("peroxide_pct", text), { value: percent, fault: "" }, text);
  }
  const told = (text) => strengthTold(fieldOf(book, "visits", "peroxide_pct"), text, book);
  assert.equal(told("20 vol"), "20 vol is 6 %");
  assert.equal(told("10"), "taken as 10 %; 10 volume is 3 %");
  for (const text of ["6", "12", "9 %", "50 vol", ""]) assert.equal(told(text), "", text);
  assert.equal(strengthTold(fieldOf(book, "visits", "planned_minutes"), "10", book), "");
  assert.deepEqual(book.strengths.map((one) => inVolume(one, book)), [10, 20, 30, 40]);
});

test("minutes are minutes: hours, seconds and clock times are refused", () => {
  for (const text of ["1h", "1 h", "30 s", "30s", "45 sec", "1:30", "0:45", "-5", "45 m 5"]) {
    assert.match(read("planned_minutes", text).fault, /1 to 180 minutes/, text);
  }
});

test("a value off its grid or out of its range is told with what was expected", () => {
  assert.equal(read("start_level", "7.5").value, 7.5);
  for (const text of ["7.3", "10.5", "0.5"]) assert.match(read("start_level", text).fault, /1 to 10 in steps of 0.5/);
  assert.match(read("looks", "2.5").fault, /whole number/);
  assert.match(read("planned_minutes", "181").fault, /1 to 180 minutes/);
  assert.equal(read("tone_left", "75", "washes").value, 75);
  assert.equal(read("tone_left", "0", "washes").value, 0);
});

test("words of the schema alone", () => {
  assert.equal(read("heat", "low").value, "low");
  assert.match(read("heat", "hot").fault, /one of none, low, medium, high/);
});

test("days of the calendar alone", () => {
  assert.equal(read("date", "2028-02-29").value, "2028-02-29");
  assert.notEqual(read("date", "2026-02-29").fault, "");
  assert.notEqual(read("date", "14.3.2026").fault, "");
});

test("codes that a log takes for an empty or broken cell are refused", () => {
  assert.equal(read("client", " C014 ").value, "C014");
  assert.equal(read("client", "NA").value, "NA");
  assert.equal(read("client", "e\u0301").value, "\u00e9");
  for (const text of ["nan", "N/A", "#REF!", "#GETTING_DATA", '"C1', "EXAMPLE", "x".repeat(61)]) {
    assert.notEqual(read("client", text).fault, "", text);
  }
});

test("reasons for rinsing are said in the words of a salon, and kept in those of the log", () => {
  const stop = fieldOf(book, "visits", "stop");
  assert.deepEqual(stop.choices.map((word) => spokenOf(stop, word, book)),
    ["goal reached", "time was up", "hair condition", "other"]);
  assert.equal(read("stop", "target").value, "target");
  assert.equal(spokenOf(fieldOf(book, "visits", "warmth"), "pale_yellow", book), "pale yellow");
});

test("nothing typed is nothing", () => {
  assert.deepEqual(read("client", undefined), { value: null, fault: "" });
  assert.deepEqual(read("mix_ratio", "  "), { value: null, fault: "" });
});

test("visit codes begin with the device's letters, and their number never comes again", () => {
  const letters = deviceLetters([0, 1, 2, 19, 20, 7]);
  assert.equal(letters, "BCDZB");
  let device = { letters, count: 0 };
  const codes = ["2026-03-14", "2026-03-14", "2026-03-15", "2026-03-14"].map((day) => {
    const { code, count } = nextCode(device, day, []);
    device = { letters, count };
    return code;
  });
  assert.deepEqual(codes, ["BCDZB-20260314-1", "BCDZB-20260314-2", "BCDZB-20260315-3", "BCDZB-20260314-4"]);
  // where an earlier count began anew each day
  assert.deepEqual(nextCode({ letters, count: 1 }, "2026-03-14", codes), { code: "BCDZB-20260314-3", count: 3 });
});

test("the day is that of the place, not of Greenwich", () => {
  assert.equal(localDay(new Date(2026, 0, 5, 0, 10)), "2026-01-05");
  assert.equal(localDay(new Date(2026, 11, 31, 23, 50)), "2026-12-31");
});
