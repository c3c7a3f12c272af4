/** What a screen reader says after a change, once the changes have come to rest. */

/**
 * A voice for a live region.
 * @param {HTMLElement} region With `aria-live`.
 * @param {number} [wait] Milliseconds without another change.
 * @returns {Function} `say(text, said)`; the same text twice is said once. `said` is called once it has been.
 */
export function voice(region, wait = 600) {
  let timer = 0;
  return (text, said = () => {}) => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      if (region.textContent !== text) region.textContent = text;
      said();
    }, wait);
  };
}
