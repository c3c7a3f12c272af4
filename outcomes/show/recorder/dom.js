/** Elements, made by hand: text is only ever set as text. */

/**
 * An element.
 * @param {string} tag
 * @param {Object} [attributes] Attributes by name; true stands for an empty one, false, null and undefined for
 *   none. A function under "on..." listens: {onclick: save}.
 * @param {...(Node|string|null)} children Strings become text; null is left out.
 * @returns {HTMLElement}
 */
export function made(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.flat().filter((child) => child !== null));
  return element;
}

/**
 * A button.
 * @param {string} id Unique in the page, so that the focus finds it again.
 * @param {string|Array<Node|string>} words
 * @param {function(Event): void} tapped
 * @param {Object} [more] Further attributes.
 * @returns {HTMLButtonElement}
 */
export function button(id, words, tapped, more = {}) {
  return made("button", { type: "button", id, onclick: tapped, ...more }, words);
}

/**
 * A value as a part of an id, plain enough for a selector.
 * @param {string|number} value
 * @returns {string}
 */
export function inId(value) {
  return String(value).replaceAll(/[^\w-]/g, "_");
}

/**
 * What is folded away, one tap from here. Whether it's open is kept as long as the page is.
 * @param {string} id
 * @param {string} words
 * @param {Set<string>} unfolded Ids of those that are open.
 * @param {...Node} children
 * @returns {HTMLDetailsElement}
 */
export function foldedAway(id, words, unfolded, ...children) {
  const details = made("details", { open: unfolded.has(id) }, made("summary", { id }, words), ...children);
  details.addEventListener("toggle", () => (details.open ? unfolded.add(id) : unfolded.delete(id)));
  return details;
}

/**
 * Put a new view in the place of another; focus and what is being typed stay.
 * @param {HTMLElement} place
 * @param {...Node} children
 */
export function replaced(place, ...children) {
  const active = document.activeElement;
  const id = place.contains(active) ? active.id : "";
  const typing = id && active.matches("input:not([type=radio])") ? active.value : null;
  const marked = typing === null ? null : [active.selectionStart, active.selectionEnd];
  place.replaceChildren(...children);
  if (!id) return;
  const again = document.getElementById(id);
  if (!again) {
    place.focus({ preventScroll: true }); // what had the focus is gone: go on from here, not from the top
    return;
  }
  if (typing !== null) again.value = typing;
  again.focus({ preventScroll: true });
  if (marked !== null && again.type === "text") again.setSelectionRange(...marked);
}
