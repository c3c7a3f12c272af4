import { draw } from "./elements.js";

/** Washes until a refresh, on a line: the middle as a diamond, four in five clients as a bar. */

const [LEFT, RIGHT, MIDDLE] = [8, 312, 40]; // ends of the line and its height, in units of the drawing

/**
 * The line.
 * @param {Object} of
 * @param {?number} of.median Washes; null: more than half never get there.
 * @param {number} of.low Ends of the band, washes.
 * @param {?number} of.high Null: the band has no end.
 * @param {Object<string, string>} of.said The three in words, as they stand beside them.
 * @param {number} of.end Washes at the right end of the line.
 * @returns {SVGElement} Without a text of its own: the caption says the same.
 */
export function washLine({ median, low, high, said, end }) {
  const at = (washes) => LEFT + ((RIGHT - LEFT) * Math.min(washes, end)) / end;
  const [from, to] = [at(low), high === null ? RIGHT : at(high)];
  const bar = high === null
    ? `M${from} ${MIDDLE - 8} H${RIGHT} l6 8 l-6 8 H${from} z` // an arrow: it goes on
    : `M${from} ${MIDDLE - 8} H${to} v16 H${from} z`;
  return draw(
    "svg",
    { viewBox: "0 0 320 76", class: "line", "aria-hidden": "true" },
    draw("path", { d: `M${LEFT} ${MIDDLE} H${RIGHT} M${LEFT} ${MIDDLE - 5} v10`, class: "axis" }),
    draw("path", { d: bar, class: "band" }),
    median === null ? null : diamond(at(median)),
    median === null ? null : words(at(median), 20, said.median, "middle"),
    ...endWords(from, to, said),
  );
}

function diamond(x) {
  return draw("path", { d: `M${x} ${MIDDLE - 12} l9 12 l-9 12 l-9 -12 z`, class: "middle" });
}

function endWords(from, to, said) {
  const [y, apart] = [MIDDLE + 29, 60];
  // where the ends lie close together their words stand outside
  const close = to - from < apart;
  return [
    words(from, y, said.low, close ? "end" : "middle", "quiet"),
    words(to, y, said.high, close ? "start" : "middle", "quiet"),
  ];
}

function words(x, y, text, anchor, name = null) {
  // half of a longer text must not stick out at either side
  const half = anchor === "middle" ? 4.2 * text.length : 0;
  const inside = Math.min(Math.max(x, half), 320 - half);
  return draw("text", { x: inside, y, "text-anchor": anchor, class: name }, text);
}

/**
 * Washes at the right end of the line.
 * @param {{median: ?number, low: ?number, high: ?number}} washes
 * @param {number} longest Washes that the log followed.
 * @returns {number} A little beyond what is drawn.
 */
export function lineEnd({ median, low, high }, longest) {
  return 1.15 * (high ?? Math.max(longest, median ?? 0, low ?? 0));
}
