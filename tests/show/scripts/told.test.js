import assert from "node:assert";
import { test } from "node:test";

import { dayInWords, monthInWords } from "../../../outcomes/show/page/dates.js";
import { notAsked, readAfterWashes, restsOn } from "../../../outcomes/show/page/evidence.js";
import { basisSaid } from "../../../outcomes/show/page/handout.js";
import { lacking } from "../../../outcomes/show/page/past.js";
import { bandSaid } from "../../../outcomes/show/page/refresh_told.js";
import { bestByLevel } from "../../../outcomes/show/page/root_shade_told.js";
import { chanceList, levelRows, planSaid } from "../../../outcomes/show/page/sessions_told.js";
import { testsReminder, testsToDo } from "../../../outcomes/show/page/tests_asked.js";
import { lineEnd } from "../../../outcomes/show/page/wash_line.js";

const level = (session, median, low, high, holds) => ({ session, median, low, high, holds });
const shade = (root_level, root_tone, blends) => ({ root_level, root_tone, blends });
const asked = (patch, strand) => [["Patch test", patch], ["Strand test", strand]];

test("the chance of each number of sessions", () => {
  const tens = [["1", 0.206], ["2", 0.692], ["3", 0.098], ["4+", 0.004]].map(([sessions, chance]) => ({ sessions, chance }));
  assert.strictEqual(chanceList(tens), "21 % in 1, 69 % in 2, 10 % in 3, <1 % in 4 or more");
});

test("levels are told up to the session after which the band lies at the goal", () => {
  const levels = [level(1, 8, 6.5, 9.5, 0.84), level(2, 9.5, 9.5, 10, 0.93), level(3, 9.5, 9.5, 10, 0.92)];
  assert.deepStrictEqual(levelRows(levels, 9.5), [
    ["1", "8", "6.5 to 9.5, for about 8 in 10"],
    ["2", "9.5", "9.5 to 10, for about 19 in 20"],
  ]);
  assert.strictEqual(levelRows(levels, 10).length, 2);
});

test("levels are told as long as they change", () => {
  const stays = [level(1, 7, 6.5, 7.5, 0.8), level(2, 7.5, 7, 8, 0.8), level(3, 7.5, 7, 8, 0.85), level(4, 8, 7, 8.5, 0.8)];
  assert.deepStrictEqual(levelRows(stays, 9).map(([session]) => session), ["1", "2"]);
  assert.strictEqual(levelRows([stays[0], stays[1]], 9).length, 2);
});

test("the client's sheet says of which day the hair is, where today goes on with a course", () => {
  const inputs = { start: 6.5, goal: 9, hair: "natural" };
  assert.strictEqual(planSaid(inputs), "Level 6.5 to 9, natural hair");
  assert.strictEqual(planSaid({ ...inputs, same_course: false }), "Level 6.5 to 9, natural hair");
  assert.strictEqual(planSaid({ ...inputs, same_course: true }), "Level 6.5 to 9, natural hair before the first session");
});

test("of each level the tone that blends most often, but the choice in any case", () => {
  const all = [shade(5, "ash", 0.9), shade(5, "gold", 0.95), shade(6, "ash", 0.8), shade(6, "gold", 0.7)];
  assert.deepStrictEqual(bestByLevel(all, null).map((one) => one.root_tone), ["ash", "gold"]);
  assert.deepStrictEqual(bestByLevel(all, { root_level: 6, root_tone: "gold" }), [all[3], all[1]]);
  assert.deepStrictEqual(bestByLevel(all, { root_level: 5, root_tone: "ash" }), [all[2], all[0]]);
});

test("washes with their band; of what isn't covered no middle", () => {
  assert.strictEqual(bandSaid({ median: 14.84, low: 8.24, high: 26.5 }, false), "15 (8 to 26)");
  assert.strictEqual(bandSaid({ median: 14.84, low: 8.24, high: null }, false), "15 (8 to never)");
  assert.strictEqual(bandSaid({ median: null, low: 30, high: null }, false), "more often than not never");
  assert.strictEqual(bandSaid({ median: null, low: 8.24, high: 26.88 }, true), "– (8 to 27)");
});

test("the line of washes ends a little beyond its band, or the log", () => {
  assert.strictEqual(lineEnd({ median: 15, low: 8, high: 20 }, 38), 1.15 * 20);
  assert.strictEqual(lineEnd({ median: null, low: 8, high: null }, 38), 1.15 * 38);
});

test("a test that isn't done is said to be open, and never taken for granted", () => {
  assert.strictEqual(testsReminder(asked(null, null)), "Patch test and strand test: not answered. Both come first.");
  assert.strictEqual(testsReminder(asked(false, null)), "Patch test: not yet. Strand test: not answered. Both come first.");
  assert.strictEqual(testsReminder(asked(true, false)), "Strand test: not yet. It comes first.");
  assert.strictEqual(testsReminder(asked(true, true)), "");
  assert.strictEqual(testsToDo(asked(null, false)), "Still to be done before anything else: patch test and strand test.");
  assert.strictEqual(testsToDo(asked(true, true)), "");
});

test("what an answer rests on", () => {
  const basis = { visits: 2486, clients: 1, stylists: 14, calibrated: true };
  assert.strictEqual(restsOn(basis), "2,486 visits, 1 client, 14 stylists; checked out of sample");
  assert.strictEqual(
    restsOn({ visits: 0, clients: 0, stylists: 0, calibrated: false, starter: true }),
    "starter values of the trade, no source; 0 visits, 0 clients, 0 stylists; not yet checked out of sample",
  );
  assert.strictEqual(readAfterWashes(basis), "2,486 visits of 1 client read after washes; bands checked on clients left out");
  assert.strictEqual(notAsked({ texture: {}, mix_ratio: {} }, "natural"), "texture and mix ratio: as in the log's visits with natural hair");
  assert.strictEqual(notAsked({}, "natural"), "");
});

test("days and months are written the same in every language", () => {
  assert.strictEqual(dayInWords(new Date(2026, 2, 5)), "5 March 2026");
  assert.strictEqual(monthInWords("2024-06"), "June 2024");
  assert.strictEqual(monthInWords(""), "");
});

test("an earlier session counts once its levels and why it was rinsed are entered", () => {
  const entry = { start: 3, achieved: 5, stop: "time" };
  assert.strictEqual(lacking(entry, 9), "");
  assert.strictEqual(lacking({ ...entry, stop: null }, 9), "Counts once why it was rinsed is entered.");
  assert.strictEqual(lacking({ ...entry, achieved: null }, 9), "Counts once both levels are entered.");
  assert.strictEqual(lacking({ start: null, achieved: 5, stop: null }, 9), "Counts once both levels and why it was rinsed are entered.");
});

test("an earlier session that began at today's goal or above had another, and doesn't count", () => {
  const why = "This session began at level 9, at or above today's goal, so its goal was another: it can't be counted here. Is the level right?";
  const entry = { start: 9, achieved: 9.5, stop: "time" };
  assert.strictEqual(lacking(entry, 9), why);
  assert.strictEqual(lacking({ ...entry, achieved: null }, 8), why);
  assert.strictEqual(lacking(entry, 9.5), "");
});

test("the client's sheet says what an expectation rests on, where there is one", () => {
  const promise = "It is an expectation, not a promise: hair differs.";
  assert.strictEqual(basisSaid({ visits: 2486, isOutside: false }), `It rests on 2,486 logged visits. ${promise}`);
  assert.strictEqual(basisSaid({ visits: 0, isOutside: false }), `It rests on what is usual in the trade, not on logged visits. ${promise}`);
  assert.strictEqual(basisSaid({ visits: 2486, isOutside: true }), "");
});
