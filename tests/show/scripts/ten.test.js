import assert from "node:assert";
import { test } from "node:test";

import { sessionGroups, sessionsCaption } from "../../../outcomes/show/page/ten.js";

const people = (...counts) => {
  const names = ["1", "2", "3", "4", "5", "6", "7+"];
  return counts.map((number, i) => ({ sessions: names[i], people: number }));
};

test("nobody is drawn for a number of sessions that nobody needs", () => {
  const groups = sessionGroups(people(2, 7, 1, 0, 0, 0, 0));
  assert.deepStrictEqual(groups.map((group) => [group.people, group.sign, group.kind]), [
    [2, "1", "full"],
    [7, "2", "pale"],
    [1, "3", "bare"],
  ]);
  assert.strictEqual(sessionsCaption(groups), "Of 10 clients like this 2 are done in 1 session, 7 in 2 and 1 in 3.");
});

test("beyond the third number outlines are alike and the signs differ", () => {
  const groups = sessionGroups(people(0, 0, 0, 3, 3, 2, 2));
  assert.deepStrictEqual(groups.map((group) => group.kind), ["open", "open", "open", "open"]);
  assert.deepStrictEqual(groups.map((group) => group.sign), ["4", "5", "6", "7+"]);
  assert.strictEqual(
    sessionsCaption(groups),
    "Of 10 clients like this 3 are done in 4 sessions, 3 in 5, 2 in 6 and 2 in 7 or more.",
  );
});

test("one kind alone, and one client alone", () => {
  assert.strictEqual(sessionsCaption(sessionGroups(people(10))), "Of 10 clients like this 10 are done in 1 session.");
  const most = sessionGroups(people(1, 9));
  assert.strictEqual(sessionsCaption(most), "Of 10 clients like this 1 is done in 1 session and 9 in 2.");
});

test("of a known client sessions come on top", () => {
  const groups = sessionGroups(people(1, 9));
  const caption = "Of 10 clients with such sessions behind them 1 is done in 1 more session and 9 in 2.";
  assert.strictEqual(sessionsCaption(groups, true), caption);
  const many = sessionGroups([{ sessions: "1", people: 0 }, { sessions: "2+", people: 10 }]);
  assert.strictEqual(sessionsCaption(many), "Of 10 clients like this 10 are done in 2 or more sessions.");
});
