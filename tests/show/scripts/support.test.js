import assert from "node:assert/strict";
import test from "node:test";

import { checkedLevel, checkedPlan } from "../../../outcomes/show/page/question.js";
import { assess, worse } from "../../../outcomes/show/page/support.js";

const SUPPORT = {
  numbers: { minutes: [5, 10, 60, 75] },
  categories: { hair: { natural: 700, coloured: 12, lightened: 1 } },
  sessions: { 1: 300, 2: 99, 3: 1 },
};

const ofMinutes = (minutes, more) => assess(SUPPORT, { minutes }, {}, more);
const ofHair = (hair) => assess(SUPPORT, {}, { hair });
const ofSessions = (needed) => assess(SUPPORT, {}, {}, { needed });

test("numbers within the bulk, at the ends, and beyond", () => {
  assert.deepEqual(ofMinutes(45), { support: "inside", notes: [] });
  assert.deepEqual(ofMinutes(70), {
    support: "edge",
    notes: ["a time of 70 minutes is among the highest logged (the log goes from 5 to 75)"],
  });
  assert.deepEqual(ofMinutes(4), {
    support: "outside",
    notes: ["a time of 4 minutes was never logged (the log goes from 5 to 75)"],
  });
  assert.deepEqual(ofMinutes(80, { usual: true }).notes, ["a time of 80 minutes is not usual (usual: 5 to 75)"]);
});

test("words by their visits", () => {
  assert.deepEqual(ofHair("natural").support, "inside");
  assert.deepEqual(ofHair("coloured"), { support: "edge", notes: ["only 12 logged visits had hair coloured"] });
  assert.deepEqual(ofHair("lightened"), { support: "outside", notes: ["only 1 logged visit had hair lightened"] });
  assert.deepEqual(ofHair("grey").notes, ["no logged visit has hair grey"]);
});

test("sessions within those that courses had", () => {
  assert.equal(ofSessions(2).support, "inside");
  assert.deepEqual(ofSessions(3).notes, ["fewer than 1 in 100 logged courses had 3 sessions or more"]);
  assert.deepEqual(ofSessions(4).notes, ["it would take more sessions than any logged course had (3)"]);
});

test("the worse of two words", () => {
  assert.equal(worse("edge", "inside"), "edge");
  assert.equal(worse("edge", "outside"), "outside");
});

const CHOICES = {
  hair: ["natural", "coloured", "lightened"],
  heat: ["none", "low"],
  peroxide: [1.5, 12],
  minutes: [1, 180],
  stylists: ["S1"],
};
const PLAN = { start: 3, goal: 8, hair: "natural", peroxide: 6, heat: "low", minutes: 45, stylist: null };

test("a plan that can be asked about comes back as it is", () => {
  assert.deepEqual(checkedPlan(CHOICES, PLAN), PLAN);
  assert.equal(checkedPlan(CHOICES, { ...PLAN, stylist: undefined }).stylist, null);
  assert.equal(checkedPlan(CHOICES, { ...PLAN, peroxide: 12 }).peroxide, 12);
});

test("what can't be asked about says what to do", () => {
  const wrong = [
    [{ peroxide: 12.1 }, /at most 12 %.*1223\/2009/],
    [{ peroxide: 1 }, /1\.5 to 12 %/],
    [{ peroxide: NaN }, /found NaN/],
    [{ peroxide: "6" }, /peroxide/],
    [{ goal: 3 }, /expected a lighter level/],
    [{ start: 3.2 }, /write 3 or 3\.5/],
    [{ goal: 10.5 }, /1 to 10/],
    [{ minutes: 181 }, /1 to 180/],
    [{ hair: "grey" }, /natural, coloured, lightened/],
    [{ heat: "high" }, /none, low/],
    [{ stylist: "S9" }, /S1, new/],
  ];
  for (const [change, message] of wrong) {
    assert.throws(() => checkedPlan(CHOICES, { ...PLAN, ...change }), message, JSON.stringify(change));
  }
  assert.equal(checkedLevel("start", 9.5), 9.5);
});
