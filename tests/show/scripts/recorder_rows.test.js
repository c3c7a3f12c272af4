import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { csvText } from "../../../outcomes/show/recorder/csv.js";
import { washLacks } from "../../../outcomes/show/recorder/ready.js";
import {
  exportable, exportedRows, leftOf, looksTold, visitOfReading, visitRows, washKey,
} from "../../../outcomes/show/recorder/rows.js";
import { changed, newVisit } from "../../../outcomes/show/recorder/visit.js";

const book = JSON.parse(readFileSync(new URL("recorder_book.json", import.meta.url), "utf8"));
const MINUTE = 60_000;
const WHO = { client: "C1", stylist: "S1", date: "2026-03-14", patch_test: "yes", strand_test: "no", root_level: "6" };
const PLAN = {
  zone: "lengths", hair: "natural", start_level: "4", goal_level: "8", peroxide_pct: "6", heat: "none",
  planned_minutes: "45", look_every: "10", mix_ratio: "1,5", read_on: "product",
};

function made(events, code = "X-1") {
  let visit = newVisit(code, 0, WHO, PLAN);
  for (const [type, minute, more = {}] of events) {
    visit = changed(visit, { type, zone: 1, at: minute * MINUTE, ...more }, book);
  }
  return visit;
}

const RESULT = (stop) => Object.entries({ stop, achieved_level: "8" }).map(
  ([name, text]) => ["write", 31, { name, text }]);
const RUN = [["start", 0], ["look", 10.26, { level: 6 }], ["look", 28, { level: 8 }], ["rinse", 30.04]];

const looks = (events, stop) => visitRows(book, made([...events, ...RESULT(stop)])).visits[0].looks;

const wash = (visit) => ({ values: { visit, zone: "lengths", washes: "6", tone_left: "75" } });

test("a finished zone is a row of every canonical column", () => {
  const { visits, checks } = visitRows(book, made([...RUN, ...RESULT("target"), ["finish", 40]]));
  const [row] = visits;
  assert.deepEqual(Object.keys(row), book.fields.visits.map((field) => field.name));
  const expected = {
    visit: "X-1", client: "C1", zone: "lengths", start_level: 4, mix_ratio: 1.5, minutes: 30, applications: 1, looks: 1,
    achieved_level: 8, stop: "target", patch_test: "yes", root_level: 6, salon: null,
  };
  for (const [name, value] of Object.entries(expected)) assert.deepEqual(row[name], value, name);
  assert.deepEqual(checks, [
    { visit: "X-1", zone: "lengths", minutes: 10.3, level: 6, read_on: "product" },
    { visit: "X-1", zone: "lengths", minutes: 28, level: 8, read_on: "product" },
  ]);
});

test("a developer typed in volume is exported in per cent", () => {
  const vol = ["write", 31, { name: "peroxide_pct", text: "10 vol" }];
  assert.equal(visitRows(book, made([...RUN, vol, ...RESULT("target")])).visits[0].peroxide_pct, 3);
});

test("looks before the one that ended the visit", () => {
  assert.equal(looks(RUN, "target"), 1); // the second read the goal
  assert.equal(looks(RUN, "time"), 2);
  assert.equal(looks([["start", 0], ["rinse", 30]], "target"), null); // nobody counted
  assert.equal(looks([...RUN, ["write", 31, { name: "looks", text: "5" }]], "target"), 1);
  assert.equal(looks([["start", 0], ["rinse", 30], ["write", 31, { name: "looks", text: "5" }]], "target"), 5);
});

test("how many looks are counted is told with what ended the visit", () => {
  const told = (stop, events = RUN) => looksTold(book, made([...events, ...RESULT(stop)]).zones[0]);
  assert.equal(told("target"), "Looks before the one that ended it: 1; the last, 8, ended it.");
  assert.equal(told("time"), "Looks before the one that ended it: 2; none of those above ended it.");
  assert.equal(told("time", [["start", 0], ["rinse", 30]]), "");
  assert.equal(looksTold(book, made(RUN).zones[0]), ""); // nobody said yet why it was rinsed
});

test("looks before the last application aren't exported", () => {
  const { visits, checks } = visitRows(book, made([
    ["start", 0], ["look", 20, { level: 5 }], ["again", 25], ["look", 40, { level: 6 }], ["rinse", 45],
    ...RESULT("time")]));
  assert.deepEqual([visits[0].applications, visits[0].minutes, visits[0].looks], [2, 20, 1]);
  assert.deepEqual(checks.map((look) => [look.minutes, look.level]), [[15, 6]]);
});

test("only what is finished is exported, and a reading waits for its visit", () => {
  const done = made([...RUN, ...RESULT("time"), ["finish", 40]], "X-1");
  const open = made(RUN, "X-2");
  const rows = exportedRows(book, {
    visits: [done, open], washes: [wash("X-1"), wash("X-2"), wash("OLD-9")], rows: [],
  });
  assert.deepEqual(rows.visits.map((row) => row.visit), ["X-1"]);
  assert.deepEqual(rows.checks.length, 2);
  assert.deepEqual(rows.washes.map((row) => row.visit), ["X-1", "OLD-9"]);
  assert.deepEqual(rows.washes[0], {
    visit: "X-1", zone: "lengths", washes: 6, level: null, tone_left: 75, L: null, a: null, b: null, shampoo: null,
  });
});

test("the row of a visit that's deleted goes out again beside its reading, with its looks, and only then", () => {
  const done = made([...RUN, ...RESULT("time"), ["finish", 40]], "X-1");
  const rows = [leftOf(book, done), leftOf(book, made([...RUN, ...RESULT("time"), ["finish", 40]], "X-2"))];
  const kept = { visits: [], washes: [wash("X-1"), wash("OLD-9")], rows };
  const out = exportedRows(book, kept);
  assert.deepEqual(out.visits, visitRows(book, done).visits);
  assert.deepEqual(out.checks, visitRows(book, done).checks);
  assert.equal(out.checks.length, 2);
  // of what an older page kept, rows alone go out
  const older = rows.map(({ code, rows: own }) => ({ code, rows: own }));
  assert.deepEqual(exportedRows(book, { ...kept, rows: older }).checks, []);
  assert.deepEqual(out.washes.map((row) => row.visit), ["X-1", "OLD-9"]);
  assert.deepEqual(exportable(book, kept).strange.map((one) => one.values.visit), ["OLD-9"]);
  // what it was is still asked of a reading
  const of = (zone) => washLacks(book, { ...wash("X-1").values, zone }, visitOfReading(book, kept, wash("X-1").values));
  assert.deepEqual(of("lengths"), []);
  assert.deepEqual(of("ends").map((lack) => lack.name), ["zone"]);
});

test("a wash reading says something, of a zone that was there or of the roots", () => {
  const done = made([...RUN, ...RESULT("time"), ["finish", 40]]);
  const named = (values, visit = done) => washLacks(book, { visit: "X-1", washes: "6", ...values }, visit)
    .map((one) => one.name);
  assert.deepEqual(named({ zone: "lengths", tone_left: "0" }), []);
  assert.deepEqual(named({ zone: "roots", level: "6,5" }), []);
  assert.deepEqual(named({ zone: "ends", level: "6.5" }), ["zone"]);
  assert.deepEqual(named({ zone: "ends", level: "6.5" }, null), []);
  assert.deepEqual(named({ zone: "lengths" }), ["tone_left"]);
  assert.deepEqual(named({ zone: "lengths", L: "70", a: "1" }), ["L"]);
  assert.deepEqual(named({ zone: "lengths", L: "70", a: "-1,5", b: "14" }), []);
  assert.equal(washKey(book, { visit: " X-1", zone: "roots", washes: "6,0" }),
    washKey(book, { visit: "X-1", zone: "roots", washes: "6" }));
});

test("quotes, decimal points, and minutes that can't be taken for hours", () => {
  const fields = book.fields.visits.filter((field) => ["client", "mix_ratio", "toner_minutes"].includes(field.name));
  const rows = [
    { client: 'a,"b"', mix_ratio: 1.5, toner_minutes: 1.25 },
    { client: "=1+1", mix_ratio: 0.1 + 0.2, toner_minutes: 1.5 },
    { client: null, mix_ratio: null, toner_minutes: 12.25 },
  ];
  assert.equal(csvText(fields, rows, book),
    'client,mix_ratio,toner_minutes\n"a,""b""",1.5,1.250\n\'=1+1,0.3,1.5\n,,12.25\n');
});
