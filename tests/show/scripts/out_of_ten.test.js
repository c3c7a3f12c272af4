import assert from "node:assert/strict";
import test from "node:test";

import { outOfTen } from "../../../outcomes/show/page/out_of_ten.js";

test("ten clients, the first the nearest, the rest by their largest parts", () => {
  const cases = [
    [[0.24, 0.66, 0.1], [2, 7, 1]],
    [[1], [10]],
    [[0.25, 0.75], [2, 8]],
    [[0.3, 0.3, 0.4], [3, 3, 4]],
    [[0.04, 0.48, 0.48], [0, 5, 5]],
    [[0.96, 0.02, 0.02], [10, 0, 0]],
    [[0.15, 0.15, 0.15, 0.55], [2, 2, 1, 5]],
  ];
  for (const [chances, people] of cases) {
    assert.deepEqual(outOfTen(chances), people, String(chances));
  }
});

test("chances that don't add up to 1 are refused", () => {
  assert.throws(() => outOfTen([0.5, 0.4]), /add up to/);
  assert.throws(() => outOfTen([1.2, -0.2]), /must add up/);
});
