/**
 * A table of points by their exact coordinates (0 and -0 alike): open addressing on the bits of the doubles.
 * Expected O(1) an entry.
 */
export class PositionTable {
  /** xyz of entry i at 3i. */
  readonly positions: Float64Array;
  count = 0;
  readonly #table: Int32Array;
  readonly #key = new Float64Array(3);
  readonly #bits = new Uint32Array(this.#key.buffer);

  /** For at most `capacity` different points. */
  constructor(capacity: number) {
    let size = 16;
    while (size < capacity * 2) size *= 2;
    this.#table = new Int32Array(size).fill(-1);
    this.positions = new Float64Array(capacity * 3);
  }

  /** Slot of the point in the table, or of the free place where it belongs. */
  #slot(x: number, y: number, z: number): number {
    const key = this.#key,
      bits = this.#bits,
      table = this.#table,
      p = this.positions;
    key[0] = x + 0;
    key[1] = y + 0;
    key[2] = z + 0;
    let hash = 0;
    for (let k = 0; k < 6; k++) hash = Math.imul(hash ^ bits[k], 0x9e3779b1) ^ (hash >>> 15);
    hash ^= hash >>> 13;
    const mask = table.length - 1;
    for (let slot = hash & mask; ; slot = (slot + 1) & mask) {
      const entry = table[slot] * 3;
      if (entry < 0 || (p[entry] === key[0] && p[entry + 1] === key[1] && p[entry + 2] === key[2])) return slot;
    }
  }

  /** Number of the point, or -1. */
  find(x: number, y: number, z: number): number {
    return this.#table[this.#slot(x, y, z)];
  }

  /** Number of the point, entered if it is new. */
  add(x: number, y: number, z: number): number {
    const slot = this.#slot(x, y, z);
    if (this.#table[slot] >= 0) return this.#table[slot];
    const entry = this.count++;
    this.#table[slot] = entry;
    this.positions[entry * 3] = x + 0;
    this.positions[entry * 3 + 1] = y + 0;
    this.positions[entry * 3 + 2] = z + 0;
    return entry;
  }
}
