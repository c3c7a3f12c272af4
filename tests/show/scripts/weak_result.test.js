import assert from "node:assert/strict";
import { test } from "node:test";
import { aimAtWeakInto, shortBy } from "../../../outcomes/show/page/weak_result.js";
import { normalCdf } from "../../../outcomes/show/page/normal.js";

const [own, centre, factor, variance, share, sd] = [1.7, 1.6, 1.1, 0.09, 0.9, 0.25];

/** Log of the chance, but for a constant, minus what the deviation costs. */
function worth({ side, bound }, w) {
  const z = (bound - share * Math.exp(centre + factor * (own + w - centre))) / sd;
  return (side ? Math.log(normalCdf(side * z)) : -0.5 * z * z) - (w * w) / (2 * variance);
}

/** The likeliest deviation, by thirds of an interval on which the worth rises and falls. */
function likeliest(result) {
  let [low, high] = [-1.6, 1];
  while (high - low > 1e-7) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
    [low, high] = worth(result, a) < worth(result, b) ? [a, high] : [low, b];
  }
  return low;
}

for (const result of [{ side: 1, bound: 1.25 }, { side: -1, bound: 5.75 }, { side: 0, bound: 4 }, { side: 0, bound: 1 }]) {
  test(`the likeliest deviation of a result: side ${result.side}, bound ${result.bound}`, () => {
    const found = new Float64Array(3);
    aimAtWeakInto(result, own, centre, factor, variance, share, sd, 0, found);
    const [aim, precision] = found;
    // a normal about the aim, times that of all deviations, has its middle there
    const middle = (aim * precision) / (precision + 1 / variance);
    assert.ok(Math.abs(middle - likeliest(result)) < 5e-4, `${middle} and ${likeliest(result)}`);
  });
}

test("how far a start would have to be off", () => {
  assert.equal(shortBy({ side: 1, bound: 0.25 }, 0.125), 0);
  assert.equal(shortBy({ side: 1, bound: 0.25 }, 2), -1.75);
  assert.equal(shortBy({ side: -1, bound: 1 }, 0.5), 0.5);
  assert.equal(Math.abs(shortBy({ side: -1, bound: 1 }, 2)), 0);
  assert.equal(shortBy({ side: 0, bound: 1 }, 0.25), 0.75);
});
