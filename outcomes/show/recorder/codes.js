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
 * The next visit code. Its number never comes again on a device, whatever day its clock says and whatever was
 * deleted since: a clock that is set back would make a code twice otherwise. Codes of one date count up, which
 * is how a log tells what came first.
 * @param {{letters: string, count: number}} device With the number that was given out last.
 * @param {string} today As 2026-03-14.
 * @param {string[]} taken Codes that are on the device.
 * @returns {{code: string, count: number}}
 */
export function nextCode(device, today, taken) {
  let count = device.count + 1;
  const coded = () => `${device.letters}-${today.replaceAll("-", "")}-${count}`;
  while (taken.includes(coded())) count += 1;
  return { code: coded(), count };
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
