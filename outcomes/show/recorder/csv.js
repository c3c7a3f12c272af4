/**
 * Tables as text, in the canonical form: comma, line feed, quotes where they must be, decimal point. Text that a
 * spreadsheet would run as a formula gets an apostrophe, which reading a log takes off again.
 */

// also as written full width in East Asian text; the same rules as those by which a log is written elsewhere
const RUNS = "[=+\\-@\\uff1d\\uff0b\\uff0d\\uff20]";
const FIRST = new RegExp(`^(?:[ \\xa0]*${RUNS}|[\\t\\r])`);
const WITHIN = new RegExp(`([;\\t\\r\\n][ \\xa0]*)(?=${RUNS})`, "g");
const A_NUMBER = /^[+-]?(?:\p{Nd}+(?:[.,]\p{Nd}*)?|[.,]\p{Nd}+)(?:[eE][+-]?\p{Nd}{1,3})?$/u;

/**
 * Text that runs as nothing.
 * @param {string} text
 * @returns {string}
 */
export function harmlessText(text) {
  const first = FIRST.test(text) && !A_NUMBER.test(text) ? `'${text}` : text;
  return first.replace(WITHIN, "$1'");
}

/**
 * A table as CSV with every canonical column.
 * @param {Object[]} fields Of the book, in order.
 * @param {Object[]} rows Values by column: text, numbers, null where nothing stands.
 * @param {Object} book
 * @returns {string}
 */
export function csvText(fields, rows, book) {
  const clock = new RegExp(`^(?:${book.clockLike.pattern})$`);
  const cell = (field, value) => {
    if (value === null || value === undefined) return "";
    if (typeof value === "string") return quoted(harmlessText(value));
    const text = String(Number(value.toPrecision(12)));
    // 1.25 minutes would be read as an hour and 25
    const clockLike = field.reader === "minutes" && value < book.clockLike.below && clock.test(text);
    return clockLike ? `${text}0` : text;
  };
  const lines = rows.map((row) => fields.map((field) => cell(field, row[field.name])).join(","));
  return [fields.map((field) => field.name).join(","), ...lines, ""].join("\n");
}

function quoted(text) {
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
