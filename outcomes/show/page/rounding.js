/**
 * Numbers rounded and written as the command line has them.
 */

/**
 * To the nearest whole number; halves to the even one.
 * @param {number} x A number.
 * @returns {number} A whole number.
 */
export function nearest(x) {
  const below = Math.floor(x);
  const rest = x - below;
  if (rest !== 0.5) {
    return rest < 0.5 ? below : below + 1;
  }
  return below % 2 === 0 ? below : below + 1;
}

/**
 * To so many digits after the point; halves to the even digit.
 * @param {number} x A number.
 * @param {number} digits 0 to 12.
 * @returns {number} Rounded.
 */
export function roundTo(x, digits) {
  const scale = 10 ** digits;
  // a double is a half of the last digit only if its fraction has so few bits; x times scale is exact then
  const isHalf = Number.isInteger(x * 2 ** (digits + 1)) && Math.abs((x * scale) % 1) === 0.5;
  return isHalf ? nearest(x * scale) / scale : Number(x.toFixed(digits));
}

/**
 * A number without needless zeros: 6, 6.5, 7.75; six digits that count.
 * @param {number} x A number.
 * @returns {string} Text.
 */
export function plain(x) {
  return String(Number(x.toPrecision(6)));
}
