/** Places along a Z curve (Morton 1966), which keeps most of what is near in space near on the curve. */

/** Bits of a place per axis. */
const CURVE_BITS = 10;
/** Keeps the last middle inside the last step. */
const INSIDE = 1 - 2 ** -20;

/**
 * Put the boxes (6 per face: least, then greatest coordinates), and their faces, in the order of a Z curve through their
 * middles; gives their places on it. O(n).
 */
export function alongCurve(boxes: Float32Array, faces: Uint32Array, tick?: () => void): Uint32Array {
  const n = faces.length;
  const low = [Infinity, Infinity, Infinity],
    high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < boxes.length; i += 6) {
    for (let k = 0; k < 3; k++) {
      const middle = boxes[i + k] + boxes[i + 3 + k];
      if (middle < low[k]) low[k] = middle;
      if (middle > high[k]) high[k] = middle;
    }
  }
  const steps = 2 ** CURVE_BITS;
  const by = high.map((to, k) => (to > low[k] ? (steps * INSIDE) / (to - low[k]) : 0));
  let codes: Uint32Array = new Uint32Array(n);
  for (let i = 0, at = 0; i < n; i++, at += 6) {
    codes[i] =
      spread3((boxes[at] + boxes[at + 3] - low[0]) * by[0]) |
      (spread3((boxes[at + 1] + boxes[at + 4] - low[1]) * by[1]) << 1) |
      (spread3((boxes[at + 2] + boxes[at + 5] - low[2]) * by[2]) << 2);
  }
  tick?.();
  // Sorted by ten bits at a time.
  let order: Uint32Array = new Uint32Array(n);
  for (let i = 0; i < n; i++) order[i] = i;
  let nextCodes: Uint32Array = new Uint32Array(n),
    nextOrder: Uint32Array = new Uint32Array(n);
  for (let shift = 0; shift < 3 * CURVE_BITS; shift += CURVE_BITS) {
    const begins = new Uint32Array(steps + 1);
    for (let i = 0; i < n; i++) begins[((codes[i] >>> shift) & (steps - 1)) + 1]++;
    for (let d = 0; d < steps; d++) begins[d + 1] += begins[d];
    for (let i = 0; i < n; i++) {
      const to = begins[(codes[i] >>> shift) & (steps - 1)]++;
      nextCodes[to] = codes[i];
      nextOrder[to] = order[i];
    }
    tick?.();
    [codes, nextCodes] = [nextCodes, codes];
    [order, nextOrder] = [nextOrder, order];
  }
  const before = boxes.slice();
  const numbers = faces.slice();
  for (let i = 0; i < n; i++) {
    faces[i] = numbers[order[i]];
    for (let k = 0, to = i * 6, from = order[i] * 6; k < 6; k++) boxes[to + k] = before[from + k];
  }
  return codes;
}

/** The lowest ten bits, two apart. */
function spread3(x: number): number {
  let bits = x | 0;
  bits = (bits | (bits << 16)) & 0x030000ff;
  bits = (bits | (bits << 8)) & 0x0300f00f;
  bits = (bits | (bits << 4)) & 0x030c30c3;
  return (bits | (bits << 2)) & 0x09249249;
}

/** The first of [begin, end) that has the leading bit in which their places differ. */
export function leadingChange(places: Uint32Array, begin: number, end: number): number {
  const shift = 31 - Math.clz32(places[begin] ^ places[end - 1]);
  const head = places[end - 1] >>> shift;
  let low = begin,
    high = end - 1;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (places[middle] >>> shift < head) low = middle + 1;
    else high = middle;
  }
  return low;
}
