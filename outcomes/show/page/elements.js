/** Elements made through the document itself, so that no text is ever taken for markup. */

const DRAWING = "http://www.w3.org/2000/svg";

let made = 0;

/**
 * An id that no other element of the page has.
 * @param {string} word What it begins with.
 * @returns {string}
 */
export function newId(word) {
  made += 1;
  return `${word}-${made}`;
}

/**
 * An element of HTML.
 * @param {string} tag
 * @param {Object<string, string|number|boolean|null|Function>} [attributes] By name; functions listen to the
 *   event of that name; true stands by its name alone, false and null are left out.
 * @param {...(Node|string|null|Array)} children
 * @returns {HTMLElement}
 */
export function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/**
 * An element of a drawing.
 * @param {string} tag
 * @param {Object<string, string|number|boolean|null>} [attributes] As in `make`.
 * @param {...(Node|string|null|Array)} children
 * @returns {SVGElement}
 */
export function draw(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(DRAWING, tag), attributes, children);
}

/**
 * Names and what is said of them, as a list of terms.
 * @param {Array<[string, string|Node]>} rows Those that say nothing are left out.
 * @returns {HTMLElement}
 */
export function termList(rows) {
  const told = rows.filter(([, said]) => said);
  return make("dl", {}, ...told.map(([name, said]) => make("div", {}, make("dt", {}, name), make("dd", {}, unbroken(said)))));
}

/** A number and its % stay on one line, as do hours and their minutes. */
function unbroken(said) {
  return typeof said === "string" ? said.replace(/(?<=\d) (?=(?:%|h|min)(?!\w))|(?<=\d h) (?=\d+ min)/g, "\u00a0") : said;
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(name, value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, String(value));
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return element;
}
