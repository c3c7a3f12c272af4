import assert from "node:assert/strict";
import { test } from "node:test";

import { APART, clockFace, readClock, setClock } from "../../../outcomes/show/recorder/clock.js";

const MINUTE = 60_000;
const NOON = Date.UTC(2026, 2, 14, 12);

/** Readings one after another, [wall, steady, hidden] in minutes since noon. */
function followed(...readings) {
  let { clock } = setClock({ wall: NOON, steady: 0, hidden: false }, null);
  const kinds = [];
  for (const [wall, steady, hidden = false] of readings) {
    const read = readClock(clock, { wall: NOON + wall * MINUTE, steady: steady * MINUTE, hidden });
    clock = read.clock;
    if (read.notice) kinds.push([read.notice.kind, read.notice.ms / MINUTE]);
  }
  return { minutes: (clock.now - NOON) / MINUTE, kinds };
}

test("time goes on by the steady clock where both agree", () => {
  assert.deepEqual(followed([1, 1], [2.01, 2], [45, 45]), { minutes: 45, kinds: [] });
});

test("a wall clock that is set while the page is in sight changes no minutes", () => {
  assert.deepEqual(followed([10, 10], [10 + 60, 10.02], [10 + 70, 20.02]), {
    minutes: 20.02, kinds: [["forward", 59.98]],
  });
  const back = followed([10, 10], [10 - 60, 10.02], [20 - 60, 20.02]);
  assert.equal(back.minutes, 20.02);
  assert.equal(back.kinds[0][0], "back");
});

test("what a device slept counts", () => {
  assert.deepEqual(followed([5, 5], [27, 5.01, true], [28, 6.01]), { minutes: 28, kinds: [["slept", 21.99]] });
});

test("short sleeps out of sight add up without a word", () => {
  const naps = Array.from({ length: 600 }, (_, k) => [(k + 1) * 2 / 60, (k + 1) / 60, true]);
  assert.ok(naps[0][0] * MINUTE - naps[0][1] * MINUTE < APART);
  const { minutes, kinds } = followed(...naps);
  assert.ok(Math.abs(minutes - 20) < 1e-6);
  assert.deepEqual(kinds, []);
});

test("time never runs backwards", () => {
  assert.equal(followed([10, 10], [-500, 10], [-500, 10]).minutes, 10);
});

test("a closed page counts on by the wall", () => {
  const kept = { wall: NOON, now: NOON - 7 * MINUTE };
  const { clock, notice } = setClock({ wall: NOON + 22 * MINUTE, steady: 5, hidden: false }, kept);
  assert.equal(clock.now, NOON + 15 * MINUTE);
  assert.deepEqual([notice.kind, notice.ms], ["closed", 22 * MINUTE]);
  assert.equal(setClock({ wall: NOON + 30_000, steady: 5, hidden: false }, kept).notice, null);
});

test("after a closed page a wall clock that went back is no clock", () => {
  const kept = { wall: NOON, now: NOON };
  const { clock, notice } = setClock({ wall: NOON - 3 * MINUTE, steady: 5, hidden: false }, kept);
  assert.equal(notice.kind, "unknown");
  assert.equal(clock.now, NOON);
  assert.equal(setClock({ wall: NOON - 900, steady: 5, hidden: false }, kept).notice, null);
});

test("a clock's face", () => {
  assert.deepEqual([0, 59_999, 60_000, 4_510_000, -5].map(clockFace), ["0:00", "0:59", "1:00", "75:10", "0:00"]);
});
