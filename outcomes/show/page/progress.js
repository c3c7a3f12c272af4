/**
 * The share g(x; theta) of the progress in one reference exposure that is reached after some exposure.
 */

const NO_EXPOSURE = 1e-300; // stands for 0, whose logarithm there is none of

/**
 * For one draw of the parameters.
 * @param {number} exposure In references, 0 or more.
 * @param {number} theta Of the shape.
 * @param {boolean} isSaturating Else a power.
 * @returns {number} 1 after one reference.
 */
export function progress(exposure, theta, isSaturating) {
  const kept = theta < 1e-3 ? 1e-3 : theta > 50 ? 50 : theta;
  if (isSaturating) {
    return Math.expm1(-exposure / kept) / Math.expm1(-1 / kept);
  }
  return Math.exp(kept * Math.log(exposure > NO_EXPOSURE ? exposure : NO_EXPOSURE));
}

/**
 * By draw and whole minute, since most looks are at whole minutes.
 * @param {{shape: Float64Array, saturating: Float64Array}} draw Of D draws.
 * @param {number} minutes The last one.
 * @param {number} reference Minutes of one reference.
 * @returns {Float64Array} D times minutes + 1.
 */
export function progressTable(draw, minutes, reference) {
  const found = new Float64Array(draw.shape.length * (minutes + 1));
  draw.shape.forEach((theta, d) => {
    for (let minute = 0; minute <= minutes; minute++) {
      found[d * (minutes + 1) + minute] = progress(minute / reference, theta, draw.saturating[d] > 0);
    }
  });
  return found;
}

/**
 * Progress in one reference; beyond any hair's, the rate stays where it is.
 * @param {number} logRate Its logarithm.
 * @returns {number} The rate.
 */
export function rateOf(logRate) {
  return Math.exp(logRate < -15 ? -15 : logRate > 15 ? 15 : logRate);
}
