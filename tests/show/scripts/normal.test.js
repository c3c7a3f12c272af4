import assert from "node:assert/strict";
import test from "node:test";

import { normalCdf, normalQuantile } from "../../../outcomes/show/page/normal.js";

// Abramowitz, M. & Stegun, I. A. (1964), Handbook of Mathematical Functions, table 26.1, P(x) to 15 places
const TABLE = [
  [0, 0.5],
  [0.5, 0.691462461274013],
  [1, 0.841344746068543],
  [1.5, 0.933192798731142],
  [2, 0.977249868051821],
  [2.5, 0.993790334674224],
  [3, 0.998650101968370],
];

test("the distribution function is that of a published table, to 15 places", () => {
  for (const [x, p] of TABLE) {
    assert.ok(Math.abs(normalCdf(x) - p) < 2e-15, `at ${x}`);
    assert.ok(Math.abs(normalCdf(-x) - (1 - p)) < 2e-15, `at -${x}`);
  }
});

test("between entries of its own table it's off by less than 5e-8", () => {
  // 1.96 is no multiple of 1/1024; Phi(1.96) by the same handbook's table 26.1
  assert.ok(Math.abs(normalCdf(1.96) - 0.975002104851780) < 5e-8);
});

test("it ends at 0 and 1", () => {
  assert.ok(normalCdf(-Infinity) >= 0 && normalCdf(-Infinity) < 1e-15);
  assert.ok(Math.abs(normalCdf(Infinity) - 1) < 1e-14);
  assert.ok(normalCdf(-8.5) <= normalCdf(-7.9));
});

test("quantiles are those that AS 241 gives for its own test", () => {
  // Wichura, M. J. (1988), Applied Statistics 37, 477-484: test values of PPND16
  assert.ok(Math.abs(normalQuantile(0.25) + 0.6744897501960817) < 1e-15);
  assert.ok(Math.abs(normalQuantile(0.001) + 3.090232306167814) < 1e-14);
  assert.equal(normalQuantile(0.5), 0);
  assert.ok(Math.abs(normalQuantile(0.975) - 1.959963984540054) < 1e-14);
});

test("quantiles of nothing and of everything are finite", () => {
  assert.ok(normalQuantile(0) < -8 && normalQuantile(0) > -9);
  assert.ok(normalQuantile(1) > 8 && normalQuantile(1) < 9);
});

test("one undoes the other", () => {
  for (const p of [1e-9, 0.02, 0.3, 0.6, 0.95, 1 - 1e-9]) {
    assert.ok(Math.abs(normalCdf(normalQuantile(p)) - p) < 5e-8);
  }
});
