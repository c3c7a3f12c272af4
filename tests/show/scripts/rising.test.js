import assert from "node:assert/strict";
import test from "node:test";

import { bandOf, mixedBand, roundedBand, withoutMiddle } from "../../../outcomes/show/page/fade_bands.js";
import { countUpTo, placesInOrder, rising } from "../../../outcomes/show/page/rising.js";

const upTo = (n) => Float64Array.from({ length: n }, (_, i) => i + 1);

test("places in order are those of a sort that compares, equal values as they came", () => {
  // the fractional parts of multiples of the golden ratio, over ten powers of ten, of both signs
  const values = Float64Array.from(
    { length: 5000 },
    (_, i) => (((i * 0.6180339887) % 1) - 0.4) * 10 ** ((i % 11) - 5),
  );
  values.set([Infinity, 0, -Infinity, 1, 1 + 1e-12, 1, 1 - 1e-12, 1]);
  const places = placesInOrder(values);
  const compared = Array.from(values.keys()).toSorted((a, b) => values[a] - values[b] || a - b);
  assert.deepEqual(Array.from(places), compared);
  assert.equal(placesInOrder(new Float64Array(0)).length, 0);
});

test("how many are at most so large", () => {
  const values = rising(Float64Array.of(1, 2, 2, 5, Infinity));
  assert.deepEqual([0, 1, 2, 4.9, 5, Infinity].map((most) => countUpTo(values, most)), [0, 1, 3, 3, 4, 5]);
});

test("a band ends where a tenth lies below, and where a tenth lies above", () => {
  assert.deepEqual(bandOf(rising(upTo(10))), { median: 5, low: 1, high: 9 });
  assert.deepEqual(bandOf(rising(upTo(11))), { median: 6, low: 2, high: 10 });
});

test("what never gets there has no end", () => {
  assert.deepEqual(bandOf(rising(Float64Array.of(1, 2, Infinity, Infinity))), { median: 2, low: 1, high: null });
});

test("a share of clients that are otherwise moves a band", () => {
  const values = upTo(10);
  const later = values.map((value) => value + 100);
  assert.deepEqual(mixedBand(rising(values), rising(later), 0), bandOf(rising(values)));
  assert.deepEqual(mixedBand(rising(values), rising(later), 1), bandOf(rising(later)));
  // a quarter at 101 to 110: three quarters of 10 lie up to 10; 9 of 10 are reached with 0.25 k = 1.5, k = 6
  assert.deepEqual(mixedBand(rising(values), rising(later), 0.25), { median: 7, low: 2, high: 106 });
});

test("bands are told to two digits, and outside the log without a middle", () => {
  const band = { median: 1.236, low: 0.5, high: null };
  assert.deepEqual(roundedBand(band), { median: 1.24, low: 0.5, high: null });
  assert.equal(withoutMiddle(band).median, null);
});
