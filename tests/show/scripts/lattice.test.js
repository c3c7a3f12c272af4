import assert from "node:assert/strict";
import test from "node:test";

import { latticePoints, namedPoints } from "../../../outcomes/show/page/lattice.js";

const LATTICE = { generator: [1, 3535, 5337], shift: [0.25, 0.9, 0.5] };

test("a point is i times the generator over n, shifted, within 0 and 1", () => {
  const points = latticePoints(LATTICE, 32, 1);
  // 3535 = 110 * 32 + 15, so point 1 is 15/32 + 0.9 - 1; twice 15 is 30, three times 45 - 32 = 13
  const hand = [0.9, 15 / 32 - 0.1, 30 / 32 - 0.1, 13 / 32 - 0.1 + 0];
  hand.forEach((value, i) => assert.ok(Math.abs(points[i] - value) < 1e-15, `point ${i}`));
});

test("every one of n intervals holds exactly one point", () => {
  for (const dimension of [0, 1, 2]) {
    const cells = Array.from(latticePoints(LATTICE, 256, dimension), (point) => Math.floor(256 * point));
    assert.deepEqual(cells.toSorted((a, b) => a - b), Array.from({ length: 256 }, (_, i) => i));
  }
});

test("names take dimensions in their order, and a name that comes again takes none", () => {
  const points = namedPoints(LATTICE, 32, ["client", "draw", "client", "visit"]);
  assert.deepEqual([...points.keys()], ["client", "draw", "visit"]);
  assert.deepEqual(points.get("visit"), latticePoints(LATTICE, 32, 2));
});

test("a dimension that isn't there is refused", () => {
  assert.throws(() => latticePoints(LATTICE, 32, 3), /no dimension 3/);
});
