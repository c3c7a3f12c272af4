import { draw, make } from "./elements.js";

/** Ten clients, drawn to be counted. Kinds differ by outline and by the sign on the chest, not by colour alone. */

const APART = 30; // from one figure to the next, in units of the drawing
const TALL = 46;

// rounder or squarer shoulders by kind; the class gives fill and line
const SHAPES = {
  full: "M4 44 v-9 a11 11 0 0 1 22 0 v9 z",
  pale: "M4 44 v-13 l6 -7 h10 l6 7 v13 z",
  bare: "M5 44 v-19 h20 v19 z",
  open: "M4 44 v-9 a11 11 0 0 1 22 0 v9 z",
};
const KINDS = Object.keys(SHAPES);

// signs drawn as lines, so that they look the same with every font
const SIGNS = { yes: "M10.5 34 l3.2 3.6 l6 -8", no: "M11 30 l8 8 M19 30 l-8 8" };

/**
 * A row of ten figures.
 * @param {Array<{people: number, kind: string, sign: string}>} groups In order; ten people in all. Kinds are
 *   full, pale, bare, open; a sign is a short text, or "yes" or "no", which are drawn.
 * @returns {SVGElement} Without a text of its own: the caption says the same.
 */
export function tenFigures(groups) {
  const everybody = groups.flatMap((group) => Array.from({ length: group.people }, () => group));
  const width = APART * everybody.length;
  return draw(
    "svg",
    { viewBox: `0 0 ${width} ${TALL}`, class: "ten", "aria-hidden": "true" },
    ...everybody.map((one, i) => figure(one, i * APART)),
  );
}

function figure({ kind, sign }, left) {
  const mark = sign in SIGNS
    ? draw("path", { d: SIGNS[sign], class: "sign" })
    : draw("text", { x: APART / 2, y: 40, "text-anchor": "middle", class: sign.length > 1 ? "long" : null }, sign);
  return draw(
    "g",
    { class: `one ${kind}`, transform: `translate(${left} 0)` },
    draw("circle", { cx: APART / 2, cy: 9, r: 7 }),
    draw("path", { d: SHAPES[kind] }),
    mark,
  );
}

/**
 * Clients by the sessions that they need, for `tenFigures`.
 * @param {Array<{sessions: string, people: number}>} tens By "1", "2", ...; the last may be "4+", so many or more.
 * @returns {Array<{people: number, kind: string, sign: string}>} Those with nobody left out.
 */
export function sessionGroups(tens) {
  return tens
    .filter(({ people }) => people > 0)
    .map(({ sessions, people }) => ({
      people,
      kind: KINDS[Math.min(Number.parseInt(sessions, 10), KINDS.length) - 1],
      sign: sessions,
    }));
}

/**
 * A number of sessions in words.
 * @param {string} sessions "2", or "4+".
 * @returns {string} "2", or "4 or more".
 */
export function orMore(sessions) {
  return sessions.replace("+", " or more");
}

/**
 * What the row of figures says, in words.
 * @param {Array<{people: number, sign: string}>} groups From `sessionGroups`.
 * @param {boolean} [isKnown] Whether the client's earlier sessions are known, on top of which these come.
 * @returns {string}
 */
export function sessionsCaption(groups, isKnown = false) {
  const parts = groups.map(({ people, sign }, i) => {
    if (i > 0) return `${people} in ${orMore(sign)}`;
    const noun = `${isKnown ? "more " : ""}${sign === "1" ? "session" : "sessions"}`;
    return `${people} ${people === 1 ? "is" : "are"} done in ${orMore(sign)} ${noun}`;
  });
  return `Of 10 clients ${isKnown ? "with such sessions behind them" : "like this"} ${listed(parts)}.`;
}

function listed(parts) {
  if (parts.length < 2) return parts.join("");
  return `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}`;
}

/**
 * A drawing with its words below.
 * @param {SVGElement} drawing
 * @param {string} caption
 * @returns {HTMLElement}
 */
export function picture(drawing, caption) {
  return make("figure", {}, drawing, make("figcaption", {}, caption));
}
