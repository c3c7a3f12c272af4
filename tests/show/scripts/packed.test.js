import assert from "node:assert/strict";
import test from "node:test";

import { openModel } from "../../../outcomes/show/page/answers.js";
import { crc32, unpack } from "../../../outcomes/show/page/packed.js";

const base64 = (numbers) => Buffer.from(numbers.buffer).toString("base64");

/** A page's data around some arrays, with a checksum that is right. */
function packed(arrays, index, changes = {}) {
  const about = JSON.stringify({ arrays: index });
  const whole = { format: "outcomes-page-model", version: 1, about, arrays };
  return { ...whole, checksum: crc32(about + arrays), ...changes };
}

const THREE = base64(Float32Array.of(1.5, -2, 0.25));
const INDEX = { "lift.shape": { at: 0, shape: [3], kind: "f4" } };

test("the checksum is that of the published check value", () => {
  // CRC-32/ISO-HDLC of "123456789" (Koopman, P., and every catalogue of such checks)
  assert.equal(crc32("123456789"), "cbf43926");
  assert.equal(crc32(""), "00000000");
});

test("arrays are found by name", () => {
  const { arrays } = unpack(packed(THREE, INDEX));
  assert.deepEqual(arrays["lift.shape"], { shape: [3], values: Float64Array.of(1.5, -2, 0.25) });
});

test("decimal numbers of seven digits come back as they were", () => {
  const decimals = Float64Array.of(0.6212345, -1.234567, 9.876543e-3);
  const index = { x: { at: 0, shape: [3], kind: "f4", digits: 7 } };
  assert.deepEqual(unpack(packed(base64(new Float32Array(decimals)), index)).arrays.x.values, decimals);
});

test("16 bits stand for evenly spread values", () => {
  const index = { x: { at: 0, shape: [2], kind: "u2", low: -1, step: 0.5 } };
  assert.deepEqual(unpack(packed(base64(Uint16Array.of(0, 3)), index)).arrays.x.values, Float64Array.of(-1, 0.5));
});

test("what is damaged is refused in a sentence for people", () => {
  const cases = [
    [null, /no model/],
    [{}, /no model/],
    [{ format: "outcomes-model", version: 4 }, /no model/],
    [packed(THREE, INDEX, { version: 2 }), /version 2; it reads 1/],
    [packed(THREE, INDEX, { checksum: "00000000" }), /damaged.*checksum/],
    [packed(THREE, INDEX, { arrays: THREE.slice(0, 8) }), /damaged.*checksum/],
    [packed(THREE, INDEX, { arrays: undefined }), /damaged.*checksum/],
    [packed(THREE, INDEX, { about: "{" }), /damaged.*checksum/],
    [packed(THREE, { "lift.shape": { at: 0, shape: [4], kind: "f4" } }), /damaged.*lift\.shape is cut short/],
    [packed(base64(Float32Array.of(1, NaN)), { x: { at: 0, shape: [2], kind: "f4" } }), /damaged.*no number/],
  ];
  for (const [data, message] of cases) {
    assert.throws(() => openModel(data), message);
    assert.throws(() => openModel(data), /Make the page anew/);
  }
});
