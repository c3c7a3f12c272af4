/** Visits made of random taps and texts, exported as three tables: `node random_visits.js BOOK.json SEED COUNT`. */

import { readFileSync } from "node:fs";

import { csvText } from "../../../outcomes/show/recorder/csv.js";
import { exportedRows } from "../../../outcomes/show/recorder/rows.js";
import { changed, newVisit, Refused } from "../../../outcomes/show/recorder/visit.js";

const [, , bookPath, seed, count] = process.argv;
const book = JSON.parse(readFileSync(bookPath, "utf8"));
const TEXTS = [
  "C1", "=1+1", '"half', 'say "so", he', "nan", "N/A", "#REF!", "a;-b", "  x  ", "é", "NA", "-", "'=1", "Total",
];
const NUMBERS = ["1", "1,25", "0.5", "3.05", "12", "12,5", "20 vol", "45", "180", "181", "0", "-3", "1:2", "7", "100"];
const TAPS = [
  "applied", "look", "look", "look", "look", "look", "look", "rinse", "takeBack", "heard", "minutes", "shift", "doubt",
  "addZone", "takeLook",
];
let state = Number(seed);

/** A number from 0 to 1 (mulberry32), the same for the same seed. */
function drawn() {
  state = (state + 0x6d2b79f5) | 0;
  let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
  mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
  return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
}

function one(of) {
  return of[Math.floor(drawn() * of.length)];
}

function typed(field) {
  if (field.choices.length > 0) return drawn() < 0.97 ? String(one(field.choices)) : "nonsense";
  if (field.kind === "date") return drawn() < 0.97 ? "2026-03-14" : "2026-02-30";
  if (field.kind === "text") return one(TEXTS);
  return drawn() < 0.5 ? one(NUMBERS) : (drawn() * 60).toFixed(one([0, 1, 2, 5]));
}

function written(visit, zone, form, share) {
  let now = visit;
  const { first, more } = book.forms[form];
  for (const name of [...first, ...more]) {
    const field = book.fields.visits.find((of) => of.name === name);
    if (drawn() > (field.needed ? 0.995 : share)) continue;
    now = changed(now, { type: "write", zone, name, text: sensible(now, zone, field) }, book);
  }
  return now;
}

/** Mostly what makes a visit complete, so that many are. */
function sensible(visit, zone, field) {
  const start = Number(visit.zones.find((of) => of.id === zone)?.values.start_level ?? 1);
  if (field.name === "goal_level" && drawn() < 0.95) return String(Math.min(start + one([0.5, 2, 4]), 10));
  if (field.name === "achieved_level" && drawn() < 0.9) return String(Math.min(start + one([0, 1, 3]), 10));
  if (field.name === "start_level") return String(one(field.choices.slice(0, 12)));
  const isPlan = ["peroxide_pct", "planned_minutes", "look_every"].includes(field.name);
  if (isPlan && drawn() < 0.97) return one(["6", "9", "12"]);
  if (["client", "stylist"].includes(field.name) && drawn() < 0.95) return one(["C1", "=1+1", "a;-b", 'b "c", d']);
  if (field.kind === "date" && drawn() < 0.9) return "2026-03-14";
  if (field.kind === "number" && field.choices.length === 0 && drawn() < 0.8) return one(["12", "1,5", "3", "24.25"]);
  if (field.name === "zone" && drawn() < 0.95) return field.choices[zone - 1];
  return typed(field);
}

function tapped(visit, at) {
  const { id, steps } = one(visit.zones);
  const levels = book.fields.checks.find((field) => field.name === "level").choices;
  const more = {
    look: { level: one(levels) }, heard: { what: one(["look", "limit"]) }, minutes: { minutes: drawn() * 60 },
    shift: { until: at - 60_000 * drawn() * 20, by: (drawn() - 0.5) * 600_000 },
  };
  const tap = one(TAPS);
  const type = tap !== "applied" ? tap : steps.length === 0 ? "start" : "again";
  if (["doubt", "addZone"].includes(type) && drawn() < 0.7) return visit;
  try {
    return changed(visit, { type, zone: id, at, ...more[type] }, book);
  } catch (error) {
    if (error instanceof Refused) return visit;
    throw error;
  }
}

function grown(number) {
  let at = 0;
  let visit = written(newVisit(`R-${number}`, 0, {}, {}), null, "visit", 0.5);
  visit = changed(visit, { type: "start", zone: 1, at }, book);
  for (let step = 0; step < 4 + drawn() * 20; step += 1) {
    at += drawn() * 12 * 60_000;
    visit = tapped(visit, at);
  }
  for (const zone of visit.zones) {
    const isRunning = zone.steps.length > 0 && zone.steps.at(-1).kind !== "rinsed";
    if (zone.steps.length === 0) visit = changed(visit, { type: "start", zone: zone.id, at }, book);
    const end = { type: "rinse", zone: zone.id, at: at + 90_000 };
    if (isRunning || zone.steps.length === 0) visit = changed(visit, end, book);
    visit = written(written(visit, zone.id, "plan", 0.3), zone.id, "result", 0.3);
    if (drawn() < 0.8) visit = changed(visit, { type: "write", zone: zone.id, name: "minutes", text: "" }, book);
  }
  return changed(written(visit, null, "finish", 0.5), { type: "finish" }, book);
}

function washed(number) {
  const values = { visit: `R-${Math.floor(drawn() * number)}` };
  for (const field of book.fields.washes.slice(1)) if (drawn() < 0.7) values[field.name] = typed(field);
  if (drawn() < 0.7) Object.assign(values, { zone: "roots", washes: one(["0", "7", "12,5"]), level: "6" });
  return { values };
}

const visits = Array.from({ length: Number(count) }, (_, number) => grown(number));
const washes = Array.from({ length: Number(count) }, () => washed(Number(count)));
const rows = exportedRows(book, { visits, washes, rows: [] });
const tables = Object.entries(rows).map(([table, found]) => [table, csvText(book.fields[table], found, book)]);
process.stdout.write(JSON.stringify(Object.fromEntries(tables)));
