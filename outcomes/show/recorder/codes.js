/** Visit codes that two devices never make alike: the device's own letters, the day, and a number that counts up. */

// no vowels, so that no words come out; nothing that is taken for a digit
const LETTERS = "BCDFGHJKLMNPQRSTVWXZ";
const COUNT = 5;

/**
 * Letters of a device: 3.2 million different ones.
 * @param {Uint32Array|number[]} random As many whole numbers as letters, at least.
 * @returns {string}
 */
export function deviceLetters(random) {
  return Array.from(random.slice(0, COUNT), (number) => LETTERS[number % LETTERS.length]).join("");
}

/**
 * How many random numbers `deviceLetters` takes.
 * @returns {number}
 */
export function lettersNeeded() {
  return COUNT;
}

/**
 * The next visit code of a day. Codes of one date count up, which is how a log tells what came first.
 * @param {{letters: string, day: string, count: number}} device What was given out last.
 * @param {string} today As 2026-03-14.
 * @returns {{code: string, day: string, count: number}}
 */
export function nextCode(device, today) {
  const count = device.day === today ? device.count + 1 : 1;
  return { code: `${device.letters}-${today.replaceAll("-", "")}-${count}`, day: today, count };
}

/**
 * The day where the device is.
 * @param {Date} moment
 * @returns {string} As 2026-03-14.
 */
export function localDay(moment) {
  return `${moment.getFullYear()}-${twoDigits(moment.getMonth() + 1)}-${twoDigits(moment.getDate())}`;
}

function twoDigits(number) {
  return String(number).padStart(2, "0");
}
