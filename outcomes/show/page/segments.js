import { make, newId } from "./elements.js";

/** One of a few words, all in sight: radio buttons, laid side by side. */

/**
 * A choice of a few.
 * @param {Object} of
 * @param {string} of.label
 * @param {Array<{value: any, word: string, under?: string}>} of.words `under` stands below the word, smaller.
 * @param {any} of.value One of the values; anything else leaves all of them open.
 * @param {Function} of.changed Called after every change.
 * @returns {{element: HTMLElement, value: any, take: Function, rename: Function}} `take(value)` changes it without
 *   calling `changed`; `rename(label)` calls it otherwise.
 */
export function segments({ label, words, value, changed }) {
  const own = { value };
  const name = newId("choice");
  const inputs = words.map((one) => {
    const pick = () => {
      own.value = one.value;
      changed();
    };
    return make("input", { type: "radio", name, change: pick });
  });
  const take = (next) => {
    own.value = next;
    for (const [i, one] of words.entries()) inputs[i].checked = one.value === next;
  };
  const labels = words.map((one, i) =>
    make("label", {}, inputs[i], make("span", {}, one.word, one.under ? make("small", {}, ` ${one.under}`) : null)),
  );
  take(value);
  const legend = make("legend", {}, label);
  return {
    element: make("fieldset", { class: "segments" }, legend, make("div", { class: "words" }, ...labels)),
    get value() {
      return own.value;
    },
    take,
    rename(next) {
      if (legend.textContent !== next) legend.textContent = next;
    },
  };
}

/**
 * Words of a log as choices: underscores become hyphens.
 * @param {string[]} words
 * @param {string} [none] A first choice that stands for null.
 * @returns {Array<{value: ?string, word: string}>}
 */
export function asChoices(words, none) {
  const found = words.map((word) => ({ value: word, word: word.replaceAll("_", "-") }));
  return none === undefined ? found : [{ value: null, word: none }, ...found];
}
