/**
 * What log R (levels in the reference minutes, as a logarithm) is made of, term by term and draw by draw.
 *
 * Every table has D + 1 columns: the D draws of the parameters, then their mean. Row r stands at r * width.
 */

/**
 * What rows of the design are worth.
 * @param {number[][]} rows Encoded, p numbers each.
 * @param {{shape: number[], values: Float64Array}} coefficients D draws of p coefficients.
 * @returns {Float64Array} rows.length times D + 1.
 */
export function worthOf(rows, coefficients) {
  const [draws, p] = coefficients.shape;
  const width = draws + 1;
  const found = new Float64Array(rows.length * width);
  rows.forEach((row, r) => {
    for (let d = 0; d < draws; d++) {
      let sum = 0;
      for (let j = 0; j < p; j++) {
        sum += row[j] * coefficients.values[d * p + j];
      }
      found[r * width + d] = sum;
      found[r * width + draws] += sum / draws;
    }
  });
  return found;
}

/**
 * Effects of codes (stylists, products), a row each, and a last row of zeros for a code that isn't known.
 * @param {{shape: number[], values: Float64Array}} effects D draws of S effects.
 * @returns {Float64Array} S + 1 times D + 1.
 */
export function byCode(effects) {
  const [draws, codes] = effects.shape;
  const width = draws + 1;
  const found = new Float64Array((codes + 1) * width);
  for (let d = 0; d < draws; d++) {
    for (let s = 0; s < codes; s++) {
      const effect = effects.values[d * codes + s];
      found[s * width + d] = effect;
      found[s * width + draws] += effect / draws;
    }
  }
  return found;
}

/**
 * All tables of lift.
 * @param {Object} lift The model's facts about lift.
 * @param {Object} arrays Its arrays.
 * @returns {Object} base and later (D + 1); start by level, hair, heat, covariates, stylist, product (rows);
 *   strength (D + 1), to be taken log(peroxide / 6) times.
 */
export function liftTables(lift, arrays) {
  const { rows } = lift;
  const coefficients = arrays["lift.coefficients"];
  const covariates = {};
  for (const column of lift.covariate_columns) {
    covariates[column] = worthOf(rows[column], coefficients);
  }
  return {
    width: coefficients.shape[0] + 1,
    base: worthOf([rows.base], coefficients),
    later: worthOf([rows.later], coefficients),
    start: worthOf(rows.start_level, coefficients),
    hair: worthOf(rows.hair, coefficients),
    heat: worthOf(rows.heat, coefficients),
    strength: worthOf(rows.peroxide_pct, coefficients),
    covariates,
    stylist: byCode(arrays["lift.stylist"]),
    product: byCode(arrays["lift.product"]),
  };
}
