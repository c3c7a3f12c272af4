/**
 * Which time it is, although clocks are set and tablets sleep.
 *
 * Two clocks are read together: the device's own (the wall: may be set) and one that only counts on (steady:
 * can't be set, but may stand still while the device sleeps). What they say apart tells what happened:
 * - they agree: time went on by the steady one;
 * - the wall went back, or on by less: it was set, for the steady one never counts too much;
 * - the wall went on by more, and the page was out of sight: the device slept, and the wall is right;
 * - the wall went on by more while the page was in sight: nobody sleeps then, so it was set.
 * The last two are what is likely, not certain; the page says what it took, and one tap takes it back.
 * After a closed page only the wall is left. If it's behind what was seen last, nobody knows how long it was
 * closed, and minutes are asked for.
 */

/** Between two readings the clocks may part by so many ms before that means anything. */
export const APART = 2000;

/** A page that was closed for longer than so many ms says so. */
export const CLOSED = 60_000;

/**
 * @typedef {{wall: number, steady: number, hidden: boolean}} Reading Both clocks in ms; whether the page was out
 *   of sight at any time since the reading before.
 * @typedef {{wall: number, steady: number, now: number}} Clock `now` is the time by which visits are kept, ms.
 * @typedef {{kind: string, ms: number, now: number}} Notice kind is "slept", "forward", "back", "closed" or
 *   "unknown"; ms how far the clocks were apart; now the time before it happened.
 */

/**
 * The clock of a page that was just opened.
 * @param {Reading} reading
 * @param {?{wall: number, now: number}} kept What was seen last while clocks of visits ran; null where none did.
 * @returns {{clock: Clock, notice: ?Notice}}
 */
export function setClock(reading, kept) {
  const { wall, steady } = reading;
  if (kept === null) return { clock: { wall, steady, now: wall }, notice: null };
  const away = wall - kept.wall;
  if (away < -APART) {
    return { clock: { wall, steady, now: kept.now }, notice: { kind: "unknown", ms: -away, now: kept.now } };
  }
  const notice = away > CLOSED ? { kind: "closed", ms: away, now: kept.now } : null;
  return { clock: { wall, steady, now: kept.now + Math.max(away, 0) }, notice };
}

/**
 * The clock at another reading.
 * @param {Clock} clock
 * @param {Reading} reading
 * @returns {{clock: Clock, notice: ?Notice}}
 */
export function readClock(clock, reading) {
  const wall = reading.wall - clock.wall;
  const steady = Math.max(reading.steady - clock.steady, 0);
  const more = wall - steady;
  const on = (passed, kind) => ({
    clock: { wall: reading.wall, steady: reading.steady, now: clock.now + passed },
    notice: kind === null ? null : { kind, ms: Math.abs(more), now: clock.now },
  });
  if (more < -APART) return on(steady, "back");
  // short sleeps out of sight would add up unseen
  if (more <= APART) return on(reading.hidden ? Math.max(wall, steady) : steady, null);
  return reading.hidden ? on(wall, "slept") : on(steady, "forward");
}

/**
 * Minutes and seconds as a clock shows them.
 * @param {number} ms
 * @returns {string} As 0:05 or 75:10.
 */
export function clockFace(ms) {
  const seconds = Math.max(Math.floor(ms / 1000), 0);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
