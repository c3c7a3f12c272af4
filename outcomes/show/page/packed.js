/**
 * The model's text as the page carries it: checked, and its arrays found by name.
 */

const FORMAT = "outcomes-page-model";
const VERSION = 1;
const AGAIN = "Make the page anew with: outcomes page MODEL --to page.html";

/**
 * What a page carries, if it's whole.
 * @param {Object} data JSON values as `page_model` wrote them.
 * @returns {{about: Object, arrays: Object<string, {shape: number[], values: Float64Array}>}} Facts, and arrays.
 * @throws {Error} Data that is missing, damaged, or of another version; its message is for people.
 */
export function unpack(data) {
  if (!data || data.format !== FORMAT) {
    throw new Error(`This page carries no model that it can read. ${AGAIN}`);
  }
  if (data.version !== VERSION) {
    throw new Error(`This page carries a model of version ${data.version}; it reads ${VERSION}. ${AGAIN}`);
  }
  const { about: text, arrays: packed, checksum } = data;
  if (typeof text !== "string" || typeof packed !== "string" || checksum !== crc32(text + packed)) {
    throw new Error(`The model in this page is damaged: it doesn't match its checksum. ${AGAIN}`);
  }
  const about = JSON.parse(text);
  const letters = atob(packed);
  const bytes = new Uint8Array(letters.length).map((_, i) => letters.charCodeAt(i));
  const arrays = {};
  for (const [name, entry] of Object.entries(about.arrays)) {
    arrays[name] = { shape: entry.shape, values: decoded(bytes.buffer, name, entry) };
  }
  return { about, arrays };
}

/** One array as 64-bit numbers. Numbers are little-endian, as on every device that browsers run on. */
function decoded(buffer, name, { at, shape, kind, low, step, digits }) {
  const size = shape.reduce((product, side) => product * side, 1);
  const width = kind === "u2" ? 2 : 4;
  if (at % width || at + width * size > buffer.byteLength) {
    throw new Error(`The model in this page is damaged: ${name} is cut short. ${AGAIN}`);
  }
  if (kind === "u2") {
    return new Float64Array(new Uint16Array(buffer, at, size)).map((whole) => low + step * whole);
  }
  const values = new Float64Array(new Float32Array(buffer, at, size));
  if (!values.every(Number.isFinite)) {
    throw new Error(`The model in this page is damaged: ${name} has a value that is no number. ${AGAIN}`);
  }
  return digits ? values.map((value) => Number(value.toPrecision(digits))) : values;
}

/**
 * CRC-32 (ISO-HDLC, as zip files have it) of a text.
 * @param {string} text In ASCII.
 * @returns {string} Eight hexadecimal digits.
 */
export function crc32(text) {
  const table = Int32Array.from({ length: 256 }, (_, byte) => {
    let rest = byte;
    for (let bit = 0; bit < 8; bit++) {
      rest = rest & 1 ? (rest >>> 1) ^ 0xedb88320 : rest >>> 1;
    }
    return rest;
  });
  let sum = -1;
  for (let i = 0; i < text.length; i++) {
    sum = (sum >>> 8) ^ table[(sum ^ text.charCodeAt(i)) & 255];
  }
  return (~sum >>> 0).toString(16).padStart(8, "0");
}
