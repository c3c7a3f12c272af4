import { make, newId } from "./elements.js";

/** Views behind tabs, as keyboards and screen readers know them: arrows move, and the view follows. */

/**
 * Tabs with their panels.
 * @param {string} label What the tabs choose.
 * @param {Array<{title: string, panel: HTMLElement}>} views
 * @param {Function} shown Called with the number of the view that is shown from now on, and whether nobody chose it.
 * @returns {{element: HTMLElement, show: Function}} The row of tabs; `show(number, isFirst)`.
 */
export function tabs(label, views, shown) {
  const buttons = views.map(({ title, panel }) => {
    const id = newId("tab");
    panel.id ||= newId("panel");
    panel.setAttribute("role", "tabpanel");
    panel.setAttribute("aria-labelledby", id);
    return make("button", { id, type: "button", role: "tab", "aria-controls": panel.id }, title);
  });
  const show = (number, isFirst = false) => {
    for (const [i, button] of buttons.entries()) {
      button.setAttribute("aria-selected", String(i === number));
      button.tabIndex = i === number ? 0 : -1;
      views[i].panel.hidden = i !== number;
    }
    shown(number, isFirst);
  };
  const last = buttons.length - 1;
  for (const [i, button] of buttons.entries()) {
    button.addEventListener("click", () => show(i));
    button.addEventListener("keydown", (event) => {
      const next = { ArrowRight: i === last ? 0 : i + 1, ArrowLeft: i === 0 ? last : i - 1, Home: 0, End: last }[event.key];
      if (next === undefined) return;
      event.preventDefault();
      show(next);
      buttons[next].focus();
    });
  }
  return { element: make("div", { role: "tablist", "aria-label": label, class: "tabs" }, ...buttons), show };
}
