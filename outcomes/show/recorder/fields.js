/**
 * What may be typed into a field. Words, ranges and grids are those of the log's own schema, which the page
 * carries as data (the book); none of them stands here.
 */

/** @typedef {{value: (string|number|null), fault: string}} Read A value, or null and (if it's wrong) why. */

const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/;
const VOLUME = /^([\d.,]+)\s*v(ol(ume)?)?\.?$/;
const LONGEST_CODE = 60;
const NEAR = 1e-9;

/**
 * A field of the book.
 * @param {Object} book
 * @param {string} table "visits", "checks" or "washes".
 * @param {string} name Canonical name of the column.
 * @returns {Object}
 */
export function fieldOf(book, table, name) {
  return book.fields[table].find((field) => field.name === name);
}

/**
 * A typed text, read as the field wants it.
 * @param {Object} field Of the book.
 * @param {?string} text As typed; a decimal comma will do.
 * @param {Object} book
 * @returns {Read} Nothing typed is no fault here: whether a value is needed is another question.
 */
export function readField(field, text, book) {
  const typed = (text ?? "").trim();
  if (typed === "") return { value: null, fault: "" };
  if (field.kind === "text") return readCode(field, typed.normalize("NFC"), book);
  if (field.kind === "date") return readDate(field, typed, book);
  if (field.kind === "word") {
    return field.choices.includes(typed) ? { value: typed, fault: "" } : wrong(field, typed, book);
  }
  return readNumber(field, typed, book);
}

/**
 * A value as it stands in a control: what `readField` reads as the same.
 * @param {string|number|null} value
 * @returns {string}
 */
export function typedAs(value) {
  return value === null || value === undefined ? "" : String(value);
}

/**
 * A word or number of a drop-down as people read it.
 * @param {string|number} value
 * @returns {string}
 */
export function spoken(value) {
  return String(value).replaceAll("_", " ");
}

/**
 * What was typed as developer in per cent, where that might be unclear.
 * @param {Object} field Of the book.
 * @param {?string} text As typed.
 * @param {Object} book
 * @returns {string} Empty for per cents that no bottle has as its volume.
 */
export function strengthTold(field, text, book) {
  const typed = (text ?? "").trim();
  const { value } = readField(field, typed, book);
  if (field.reader !== "developer" || value === null) return "";
  if (VOLUME.test(typed.toLowerCase())) return `${typed} is ${value} %`;
  const isVolume = (strength) => inVolume(strength, book) === value;
  const meant = book.strengths.find(isVolume);
  return meant === undefined ? "" : `taken as ${value} %; ${value} volume is ${meant} %`;
}

/**
 * A strength in volume.
 * @param {number} strength %.
 * @param {Object} book
 * @returns {number}
 */
export function inVolume(strength, book) {
  return Number((strength / book.percentPerVolume).toPrecision(6));
}

/**
 * A value of a field as people say it, where its word says too little.
 * @param {Object} field Of the book.
 * @param {string|number} value
 * @param {Object} book
 * @returns {string}
 */
export function spokenOf(field, value, book) {
  return book.spoken[field.name]?.[value] ?? spoken(value);
}

function wrong(field, typed, book) {
  const volume = field.reader === "developer" ? ` (20 volume is ${20 * book.percentPerVolume} %)` : "";
  return { value: null, fault: `found ${typed}; expected ${field.expected}${volume}` };
}

function readCode(field, typed, book) {
  const quotes = typed.split('"').length - 1;
  const halfQuoted = quotes % 2 === 1 && (typed.startsWith('"') || typed.endsWith('"'));
  const reserved = book.noCodes.includes(typed) || new RegExp(`^(?:${book.errorCell})$`).test(typed);
  if (typed.length > LONGEST_CODE) return { value: null, fault: `a code has at most ${LONGEST_CODE} letters` };
  if (halfQuoted || reserved) return { value: null, fault: `${typed} can't be a code; take another` };
  return { value: typed, fault: "" };
}

function readDate(field, typed, book) {
  const parts = /^(\d{4})-(\d\d)-(\d\d)$/.exec(typed);
  const day = parts && new Date(Date.UTC(+parts[1], +parts[2] - 1, +parts[3]));
  const stands = day && day.toISOString().slice(0, 10) === typed;
  return stands ? { value: typed, fault: "" } : wrong(field, typed, book);
}

function readNumber(field, typed, book) {
  const value = numberIn(field, typed.toLowerCase(), book);
  if (value === null) return wrong(field, typed, book);
  const low = field.low === null || value >= field.low - NEAR;
  const high = field.high === null || value <= field.high + NEAR;
  const steps = field.step === null ? 0 : value / field.step;
  return low && high && Math.abs(steps - Math.round(steps)) <= NEAR ? { value, fault: "" } : wrong(field, typed, book);
}

function numberIn(field, typed, book) {
  const ratio = field.reader === "ratio" && /^([\d.,]+)\s*[:+]\s*([\d.,]+)$/.exec(typed);
  if (ratio) {
    const [one, other] = [plainNumber(ratio[1]), plainNumber(ratio[2])];
    return one > 0 && other !== null ? Number((other / one).toPrecision(12)) : null;
  }
  const volume = field.reader === "developer" && VOLUME.exec(typed);
  if (volume) {
    const strength = plainNumber(volume[1]);
    return strength === null ? null : Number((strength * book.percentPerVolume).toPrecision(6));
  }
  const unit = field.reader === "minutes" ? /\s*min(utes?)?\.?$/ : /\s*%$/;
  return plainNumber(typed.replace(unit, ""));
}

function plainNumber(typed) {
  return NUMBER.test(typed) ? Number(typed.replace(",", ".")) : null;
}
