/** Keeps the screen on while clocks run: a tablet that sleeps can't ring. */

const held = { lock: null, asked: false };

/**
 * Hold the screen on, or let it go.
 * @param {boolean} wanted
 * @returns {Promise<void>}
 */
export async function keepAwake(wanted) {
  if (!wanted) {
    const { lock } = held;
    held.lock = null;
    await lock?.release();
    return;
  }
  if (held.lock !== null || held.asked || document.hidden || !navigator.wakeLock) return;
  held.asked = true;
  try {
    held.lock = await navigator.wakeLock.request("screen");
    held.lock.addEventListener("release", () => {
      held.lock = null; // the browser lets go of it whenever the page is out of sight
    });
  } catch {
    held.lock = null; // a low battery, or not allowed: the page says that the screen may go off
  } finally {
    held.asked = false;
  }
}

/**
 * Whether the screen stays on.
 * @returns {boolean}
 */
export function isAwake() {
  return held.lock !== null;
}
