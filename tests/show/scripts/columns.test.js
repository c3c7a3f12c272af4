import assert from "node:assert/strict";
import test from "node:test";

import { placesUpTo, relative, takenAt } from "../../../outcomes/show/page/columns.js";

test("values are taken from their places, in the type that they have", () => {
  const found = takenAt(Uint8Array.of(7, 8, 9), Int32Array.of(2, 0, 2, 1));
  assert.ok(found instanceof Uint8Array);
  assert.deepEqual([...found], [9, 7, 9, 8]);
});

test("logarithms of any size become shares that are 1 on average", () => {
  // 1 : 2 : 5 by arithmetic, times e to the 2000 and its inverse, neither of which is a number by itself
  for (const shift of [2000, -2000]) {
    const logs = Float64Array.of(Math.log(1) + shift, Math.log(2) + shift, Math.log(5) + shift, -Infinity);
    const expected = [0.5, 1, 2.5, 0];
    relative(logs).forEach((one, i) => assert.ok(Math.abs(one - expected[i]) < 1e-12, `${one}`));
  }
});

test("places count from 0", () => {
  assert.deepEqual([...placesUpTo(3)], [0, 1, 2]);
  assert.equal(placesUpTo(0).length, 0);
});
