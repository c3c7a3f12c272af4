/**
 * Evenly spread points in many dimensions: the rank-1 lattice that the command line uses, shifted alike.
 */

/**
 * One dimension of n points.
 * @param {{generator: number[], shift: number[]}} lattice As the model carries it.
 * @param {number} n A power of 2, at most 16384.
 * @param {number} dimension From 0 on.
 * @returns {Float64Array} In [0, 1); every interval [i/n, (i+1)/n) holds exactly one of them.
 */
export function latticePoints(lattice, n, dimension) {
  const step = lattice.generator[dimension];
  const shift = lattice.shift[dimension];
  if (step === undefined || shift === undefined) {
    throw new Error(`The lattice has no dimension ${dimension}.`);
  }
  const points = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const point = ((step * i) % n) / n + shift;
    points[i] = point >= 1 ? point - 1 : point;
  }
  return points;
}

/**
 * Points for named unknowns, a dimension each.
 * @param {{generator: number[], shift: number[]}} lattice As the model carries it.
 * @param {number} n A power of 2, at most 16384.
 * @param {string[]} names In the order of the dimensions; one that comes again stands for its first place.
 * @returns {Map<string, Float64Array>} By name.
 */
export function namedPoints(lattice, n, names) {
  return new Map([...new Set(names)].map((name, j) => [name, latticePoints(lattice, n, j)]));
}
