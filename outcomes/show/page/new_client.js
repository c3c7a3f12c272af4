/** The next client begins with nothing of the last one's; for a while a tap by mistake can be taken back. */

const KEPT = 20_000; // milliseconds

/**
 * Make the buttons work.
 * @param {Object} of
 * @param {{fresh: HTMLButtonElement, undo: HTMLButtonElement}} of.buttons
 * @param {Function} of.current Gives the client who is shown.
 * @param {Function} of.meetNew Gives one of whom nothing is entered.
 * @param {Function} of.show Shows a client.
 * @param {Function} of.say
 */
export function newClients({ buttons: { fresh, undo }, current, meetNew, show, say }) {
  let last = null;
  let timer = 0;
  const forget = () => {
    last = null;
    undo.hidden = true;
  };
  const turnTo = (client, words) => {
    clearTimeout(timer);
    show(client);
    document.querySelector("[role=tab][aria-selected=true]").focus();
    say(words);
  };
  fresh.addEventListener("click", () => {
    last = current();
    turnTo(meetNew(), "New client: everything is as at first. Undo brings the last one back.");
    undo.hidden = false;
    timer = setTimeout(forget, KEPT);
  });
  undo.addEventListener("click", () => {
    turnTo(last, "The last client is back.");
    forget();
  });
  fresh.hidden = false;
}
