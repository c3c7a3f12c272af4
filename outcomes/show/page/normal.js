/**
 * The normal distribution: its distribution function read off a fine table, its quantiles by algorithm AS 241
 * (Wichura, M. J. 1988. Applied Statistics 37, 477-484. doi:10.2307/2347330).
 */

const REACH = 8; // beyond it either tail holds less than 1e-15
const CELLS = 1024; // to the unit; a straight line between two entries is then off by 3e-8 at most
const TAIL = 6.22096057427178e-16; // below -8

const [VALUE, RISE] = tables();

function density(z) {
  return Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
}

/**
 * The density summed up from the lower end to the middle, cell by cell, with its slopes at both ends of a cell: off
 * by less than 1e-13 of it. The upper half mirrors it, so that what it lacks of 1 is as right.
 */
function tables() {
  const middle = REACH * CELLS;
  const h = 1 / CELLS;
  const value = new Float64Array(2 * middle + 2);
  value[0] = TAIL;
  for (let i = 0; i < middle; i++) {
    const a = -REACH + i * h;
    const b = a + h;
    const [fa, fb] = [density(a), density(b)];
    // the slope of the density at z is -z times the density
    value[i + 1] = value[i] + 0.5 * h * (fa + fb) + ((h * h) / 12) * (b * fb - a * fa);
  }
  for (let i = 0; i <= middle; i++) {
    value[2 * middle - i] = 1 - value[i];
  }
  value[middle] = 0.5;
  value[2 * middle + 1] = value[2 * middle];
  return [value, value.subarray(1).map((above, i) => above - value[i])];
}

/**
 * Standard normal distribution function.
 * @param {number} z Any number; infinite ones allowed.
 * @returns {number} Chance, off by less than 5e-8.
 */
export function normalCdf(z) {
  const kept = z < -REACH ? -REACH : z > REACH ? REACH : z;
  const place = (kept + REACH) * CELLS;
  const cell = place | 0;
  return VALUE[cell] + (place - cell) * RISE[cell];
}

/**
 * Standard normal quantile.
 * @param {number} p Chance; 0 and 1 count as 1e-16 from the end.
 * @returns {number} Off by about 1e-15 of it.
 */
export function normalQuantile(p) {
  const inside = p < 1e-16 ? 1e-16 : p > 1 - 1e-16 ? 1 - 1e-16 : p;
  const q = inside - 0.5;
  if (Math.abs(q) <= 0.425) {
    return q * quantileCentre(0.180625 - q * q);
  }
  const tail = Math.sqrt(-Math.log(q < 0 ? inside : 1 - inside));
  const size = tail <= 5 ? quantileNear(tail - 1.6) : quantileFar(tail - 5);
  return q < 0 ? -size : size;
}

// Wichura's coefficients (PPND16), highest power first, written out because loops over them take thrice as long.
function quantileCentre(r) {
  const above = ((((((2509.0809287301227 * r + 33430.57558358813) * r + 67265.7709270087) * r
    + 45921.95393154987) * r + 13731.69376550946) * r + 1971.5909503065513) * r
    + 133.14166789178438) * r + 3.3871328727963665;
  const below = ((((((5226.495278852854 * r + 28729.085735721943) * r + 39307.89580009271) * r
    + 21213.794301586597) * r + 5394.196021424751) * r + 687.1870074920579) * r
    + 42.31333070160091) * r + 1;
  return above / below;
}

function quantileNear(r) {
  const above = ((((((0.0007745450142783414 * r + 0.022723844989269184) * r + 0.2417807251774506) * r
    + 1.2704582524523684) * r + 3.6478483247632045) * r + 5.769497221460691) * r
    + 4.630337846156546) * r + 1.4234371107496835;
  const below = ((((((1.0507500716444169e-09 * r + 0.0005475938084995345) * r + 0.015198666563616457) * r
    + 0.14810397642748008) * r + 0.6897673349851) * r + 1.6763848301838038) * r
    + 2.053191626637759) * r + 1;
  return above / below;
}

function quantileFar(r) {
  const above = ((((((2.0103343992922881e-07 * r + 2.7115555687434876e-05) * r + 0.0012426609473880784) * r
    + 0.026532189526576124) * r + 0.29656057182850487) * r + 1.7848265399172913) * r
    + 5.463784911164114) * r + 6.657904643501103;
  const below = ((((((2.0442631033999397e-15 * r + 1.421511758316446e-07) * r + 1.8463183175100548e-05) * r
    + 0.0007868691311456133) * r + 0.014875361290850615) * r + 0.1369298809227358) * r
    + 0.599832206555888) * r + 1;
  return above / below;
}

/**
 * Quantiles of many chances.
 * @param {Float64Array} chances Chances.
 * @returns {Float64Array} As many.
 */
export function normalQuantiles(chances) {
  return chances.map(normalQuantile);
}
