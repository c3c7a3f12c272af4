import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { alarmWords, ringing, zoneDues } from "../../../outcomes/show/recorder/alarms.js";
import { heardAgain } from "../../../outcomes/show/recorder/app.js";
import { inForce } from "../../../outcomes/show/recorder/force.js";
import {
  finishLacks, planLacks, resultLacks, rinseMinutes, testsFirst, visitLacks,
} from "../../../outcomes/show/recorder/ready.js";
import { changed, isReopened, isRunning, newVisit, Refused } from "../../../outcomes/show/recorder/visit.js";
import { applications, looksSince, minutesAt, stateOf } from "../../../outcomes/show/recorder/zone.js";

const book = JSON.parse(readFileSync(new URL("recorder_book.json", import.meta.url), "utf8"));
const MINUTE = 60_000;
const WHO = { client: "C1", stylist: "S1", date: "2026-03-14", patch_test: "yes", strand_test: "no" };
const PLAN = {
  zone: "lengths", hair: "natural", start_level: "4", goal_level: "8", peroxide_pct: "6", heat: "none",
  planned_minutes: "45", look_every: "10",
};

/** A visit after events, each [type, minute, more]; zone 1 unless said. */
function after(events, visit = newVisit("X-1", 0, WHO, PLAN)) {
  let now = visit;
  for (const [type, minute, more = {}] of events) {
    now = changed(now, { type, zone: 1, at: minute * MINUTE, ...more }, book);
  }
  return now;
}

const write = (name, text) => ["write", 31, { name, text }];

const words = (visit, minute) => ringing(book, [visit], minute * MINUTE).map(alarmWords);

const named = (one) => resultLacks(book, one).map((lack) => lack.name);

const levels = (visit, zone = 0) => looksSince(visit.zones[zone]).map(
  (look) => [look.level, minutesAt(visit.zones[zone], look.at)]);

test("a look is its level and the minutes since the application", () => {
  const visit = after([["start", 3], ["look", 13, { level: 5 }], ["look", 23, { level: 6.5 }], ["rinse", 33]]);
  assert.deepEqual(levels(visit), [[5, 10], [6.5, 20]]);
  assert.equal(stateOf(visit.zones[0]), "rinsed");
  assert.equal(rinseMinutes(book, visit.zones[0]), 30);
});

test("the visit that is given isn't touched, and each change counts", () => {
  const before = newVisit("X-1", 0, WHO, PLAN);
  const kept = structuredClone(before);
  const one = changed(before, { type: "start", zone: 1, at: 5 }, book);
  assert.deepEqual(before, kept);
  assert.equal(one.revision, before.revision + 1);
});

test("the last step can be taken back, down to the start", () => {
  const run = [["start", 0], ["look", 10, { level: 5 }], ["rinse", 12]];
  assert.equal(stateOf(after([...run, ["takeBack", 13]]).zones[0]), "running");
  assert.deepEqual(levels(after([...run, ["takeBack", 13], ["takeBack", 13]])), []);
  const start = after([...run, ["takeBack", 13], ["takeBack", 13], ["takeBack", 13]]);
  assert.equal(stateOf(start.zones[0]), "plan");
  assert.throws(() => after([["takeBack", 14]], start), Refused);
});

test("a second tap within a tenth of a minute corrects the first", () => {
  const visit = after([["start", 0], ["look", 10, { level: 5 }], ["look", 10.04, { level: 5.5 }]]);
  assert.deepEqual(levels(visit).map(([level]) => level), [5.5]);
});

test("looks before the first minute or after the last one that a log knows are refused", () => {
  const { low, high } = book.fields.checks.find((field) => field.name === "minutes");
  assert.throws(() => after([["start", 0], ["look", low - 0.1, { level: 5 }]]), Refused);
  assert.equal(levels(after([["start", 0], ["look", low, { level: 5 }]])).length, 1);
  assert.throws(() => after([["start", 0], ["look", high + 0.1, { level: 5 }]]), Refused);
});

test("after another application minutes count anew, and looks before it are none of them", () => {
  const visit = after([
    ["start", 0], ["look", 10, { level: 5 }], ["again", 30], ["look", 42, { level: 6 }], ["rinse", 50]]);
  assert.deepEqual(levels(visit), [[6, 12]]);
  assert.equal(rinseMinutes(book, visit.zones[0]), 20);
  const thrice = after([["start", 0], ["again", 10], ["again", 20]]);
  assert.throws(() => after([["again", 30]], thrice), Refused);
});

test("a clock starts once: a second start changes no minutes, and is told", () => {
  const run = after([["start", 0], ["look", 10, { level: 5 }]]);
  assert.throws(() => after([["start", 12]], run), /this zone's clock runs already; its minutes stay as they are/);
  assert.throws(() => after([["rinse", 30], ["start", 31]], run), /rinsed already/);
  // nor is lightener applied again where no clock runs, or twice by a finger that slipped
  assert.throws(() => after([["again", 1]]), /no clock runs/);
  assert.throws(() => after([["again", 31]], after([["rinse", 30]], run)), /no clock runs/);
  assert.throws(() => after([["again", 12], ["again", 12.0003]], run), /a moment ago/);
  assert.equal(applications(after([["again", 12], ["again", 13]], run).zones[0]), 3);
});

test("zones have clocks of their own", () => {
  let visit = after([["start", 0], ["addZone", 1]]);
  assert.equal(visit.zones[1].values.hair, "natural");
  assert.equal(visit.zones[1].values.start_level, undefined);
  visit = after([["start", 8, { zone: 2 }], ["look", 20, { level: 6 }], ["look", 20, { zone: 2, level: 5 }]], visit);
  assert.deepEqual(levels(visit), [[6, 20]]);
  assert.deepEqual(levels(visit, 1), [[5, 12]]);
  assert.throws(() => after([["dropZone", 21, { zone: 2 }]], visit), Refused);
  assert.throws(() => after([["look", 21, { zone: 3, level: 5 }]], visit), Refused);
});

test("alarms: a look by the interval, the limit by the longest time, each until it's heard", () => {
  let visit = after([["start", 0]]);
  assert.deepEqual(words(visit, 9.9), []);
  assert.deepEqual(words(visit, 10), ["C1, lengths: look due"]);
  assert.deepEqual(words(visit, 30), ["C1, lengths: look due"]);
  visit = after([["heard", 12, { what: "look" }]], visit);
  assert.deepEqual([words(visit, 21.9), words(visit, 22)], [[], ["C1, lengths: look due"]]);
  visit = after([["look", 25, { level: 6 }]], visit);
  assert.deepEqual([words(visit, 34.9).length, words(visit, 35).length], [0, 1]);
  // at the limit nothing calls for a look any more, and the limit comes back until the rinse
  assert.deepEqual(words(visit, 45), ["C1, lengths: time limit reached"]);
  visit = after([["heard", 46, { what: "limit" }]], visit);
  assert.deepEqual([words(visit, 55.9), words(visit, 56)], [[], ["C1, lengths: time limit reached"]]);
  assert.deepEqual(words(after([["rinse", 57]], visit), 90), []);
});

test("a mute ends with the visit, and where no clock runs any more", () => {
  const muted = { letters: "BCDFG", muted: true };
  const runs = after([["start", 0]]);
  const rinsed = after([["start", 0], ["rinse", 30]]);
  assert.ok(heardAgain(muted, [runs, rinsed]).muted);
  assert.ok(!heardAgain(muted, [runs, rinsed], true).muted);
  for (const visits of [[], [rinsed], [newVisit("X-2", 0, WHO, PLAN)]]) assert.ok(!heardAgain(muted, visits).muted);
  assert.deepEqual(heardAgain(muted, []), { letters: "BCDFG", muted: false });
});

test("while a figure is being changed the last one that could be read is in force", () => {
  const due = (visit) => zoneDues(book, visit.zones[0]).end / MINUTE;
  const typed = (name, ...texts) => after([["start", 0], ...texts.map((text) => ["write", 20, { name, text }])]);
  for (const half of ["", "4x", "4", "400"]) assert.equal(due(typed("planned_minutes", half)), 45, half);
  assert.deepEqual(words(typed("planned_minutes", "4"), 9), []);
  assert.deepEqual(words(typed("look_every", ""), 10), ["C1, lengths: look due"]);
  assert.deepEqual(words(typed("look_every", "1"), 9), []);
  // typed to its end, it counts; what can't be read then still doesn't
  assert.equal(due(after([["settle", 21]], typed("planned_minutes", "4", "40"))), 40);
  assert.equal(due(after([["settle", 21]], typed("planned_minutes", "4", "400"))), 45);
  assert.equal(due(after([["start", 0], ["write", 1, { name: "planned_minutes", text: "50", whole: true }]])), 50);
  assert.equal(inForce(book, typed("peroxide_pct", "1").zones[0], "peroxide_pct"), 6);
  assert.equal(inForce(book, typed("peroxide_pct", "13").zones[0], "peroxide_pct"), 6);
});

test("what was typed before the clock starts is in force as it stands", () => {
  const visit = after([["write", 0, { name: "planned_minutes", text: "30" }], ["start", 0]]);
  assert.equal(zoneDues(book, visit.zones[0]).end, 30 * MINUTE);
  const again = after([["takeBack", 1], ["write", 1, { name: "planned_minutes", text: "50" }], ["start", 2]], visit);
  assert.equal(zoneDues(book, again.zones[0]).end, 52 * MINUTE);
});

test("tests that weren't done are told", () => {
  assert.equal(testsFirst({ values: { patch_test: "no", strand_test: "no" } }), "Patch test and strand test come first.");
  assert.equal(testsFirst({ values: { patch_test: "yes", strand_test: "no" } }), "The strand test comes first.");
  assert.equal(testsFirst({ values: { patch_test: "yes", strand_test: "yes" } }), "");
  assert.equal(testsFirst({ values: {} }), "");
});

test("an application anew sets the alarms anew", () => {
  const visit = after([["start", 0], ["heard", 44, { what: "look" }], ["again", 44]]);
  assert.deepEqual(zoneDues(book, visit.zones[0]), { look: 54 * MINUTE, limit: 89 * MINUTE, end: 89 * MINUTE });
});

test("what was slept can be taken off or added, before a moment only", () => {
  const run = after([["start", 0], ["look", 10, { level: 5 }], ["look", 30, { level: 6 }]]);
  const visit = after([["shift", 0, { until: 20 * MINUTE, by: 5 * MINUTE }]], run);
  assert.deepEqual(levels(visit), [[5, 10], [6, 25]]);
  // what would put a look before the first minute, or before another step, is refused
  assert.throws(() => after([["shift", 0, { until: 20 * MINUTE, by: 21 * MINUTE }]], run), Refused);
  assert.throws(() => after([["shift", 0, { until: 0, by: 9.5 * MINUTE }]], run), Refused);
});

test("minutes that somebody knows set the clock, and earlier looks keep theirs", () => {
  let visit = after([["start", 0], ["look", 10, { level: 5 }], ["doubt", 11]]);
  assert.throws(() => after([["look", 12, { level: 6 }]], visit), Refused);
  assert.deepEqual(ringing(book, [visit], 99 * MINUTE), []);
  assert.throws(() => after([["minutes", 12, { minutes: 9 }]], visit), Refused);
  visit = after([["minutes", 12, { minutes: 25 }]], visit);
  assert.equal(minutesAt(visit.zones[0], 12 * MINUTE), 25);
  assert.deepEqual(levels(visit), [[5, 10]]);
});

test("rinsed while the minutes are in doubt, they are asked for and never guessed", () => {
  const visit = after([["start", 0], ["doubt", 11], ["rinse", 12]]);
  assert.equal(rinseMinutes(book, visit.zones[0]), null);
  const told = after([["write", 12, { name: "minutes", text: "31,5" }]], visit);
  assert.equal(rinseMinutes(book, told.zones[0]), 31.5);
});

test("a clock can't start before both tests were asked for", () => {
  const { patch_test: _, ...rest } = WHO;
  assert.deepEqual(visitLacks(book, newVisit("X", 0, rest, PLAN)).map((lack) => lack.name), ["patch_test"]);
  assert.deepEqual(visitLacks(book, newVisit("X", 0, { ...WHO, patch_test: "no" }, PLAN)), []);
});

test("a plan's goal lies above its start, and its zone is there once", () => {
  const lacks = (plan) => {
    const visit = newVisit("X", 0, WHO, { ...PLAN, ...plan });
    return planLacks(book, visit, visit.zones[0]).map((lack) => lack.name);
  };
  assert.deepEqual(lacks({}), []);
  assert.deepEqual(lacks({ goal_level: "4" }), ["goal_level"]);
  assert.deepEqual(lacks({ peroxide_pct: "12,5" }), ["peroxide_pct"]);
  const twice = after([["addZone", 0], ["write", 0, { zone: 2, name: "zone", text: "lengths" }]]);
  assert.ok(planLacks(book, twice, twice.zones[1]).some((lack) => lack.name === "zone"));
});

test("a result that no log takes is told", () => {
  const run = [["start", 0], ["look", 20, { level: 6 }], ["rinse", 30]];
  const zone = (...values) => after([...run, ...values.map(([name, text]) => ["write", 31, { name, text }])]).zones[0];
  assert.deepEqual(named(zone()), ["stop", "achieved_level"]);
  assert.deepEqual(named(zone(["stop", "time"], ["achieved_level", "7"])), []);
  assert.deepEqual(named(zone(["stop", "time"], ["achieved_level", "3"])), ["achieved_level"]);
  assert.deepEqual(named(zone(["stop", "time"], ["achieved_level", "3.5"])), []);
  assert.deepEqual(named(zone(["stop", "time"], ["achieved_level", "7"], ["minutes", "19"])), ["minutes"]);
  assert.deepEqual(named(zone(["stop", "time"], ["achieved_level", "7"], ["minutes", "181"])), ["minutes"]);
  // hidden where looks were tapped, it can't stand in the way
  assert.deepEqual(named(zone(["stop", "time"], ["achieved_level", "7"], ["looks", "x"])), []);
});

test("a visit is finished when every zone is through, and whoever changes it finishes it again", () => {
  let visit = after([["start", 0], ["rinse", 30], write("stop", "time")]);
  assert.deepEqual(finishLacks(book, visit).map((lack) => lack.fault), ["not through"]);
  visit = after([write("achieved_level", "7"), ["finish", 32]], visit);
  assert.deepEqual(finishLacks(book, visit), []);
  assert.ok(visit.finished);
  assert.ok(!isReopened(visit));
  let again = after([write("warmth", "yellow")], visit);
  assert.ok(!again.finished);
  assert.ok(isReopened(after([write("evenness", "3")], again))); // until it's finished once more
  again = after([["finish", 40]], again);
  assert.ok(again.finished && !isReopened(again));
  assert.ok(!isReopened(newVisit("X-2", 0, WHO, PLAN)));
  assert.ok(isReopened({ ...newVisit("X-3", 0, WHO, PLAN), exported: 5 })); // kept by an older page
  assert.throws(() => after([["finish", 5]], after([["start", 0]])), Refused);
  assert.ok(!isRunning(visit));
});
