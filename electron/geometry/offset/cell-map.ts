/** Open-addressed map from whole numbers below 2^53 to the order in which they were added. */
export class CellMap {
  size = 0;
  keys = new Float64Array(1 << 14);
  #table = new Int32Array(1 << 15).fill(-1);

  /** Place in the order of adding, or -1. */
  find(key: number): number {
    const table = this.#table;
    const mask = table.length - 1;
    for (let at = slotOf(key, mask); ; at = (at + 1) & mask) {
      const index = table[at];
      if (index < 0 || this.keys[index] === key) return index;
    }
  }

  /** Add a key that is not there yet; gives its place. */
  add(key: number): number {
    if (this.size === this.keys.length) this.#grow();
    const index = this.size++;
    this.keys[index] = key;
    this.#insert(index);
    return index;
  }

  #insert(index: number): void {
    const table = this.#table;
    const mask = table.length - 1;
    let at = slotOf(this.keys[index], mask);
    while (table[at] >= 0) at = (at + 1) & mask;
    table[at] = index;
  }

  #grow(): void {
    const keys = new Float64Array(this.keys.length * 2);
    keys.set(this.keys);
    this.keys = keys;
    this.#table = new Int32Array(keys.length * 2).fill(-1);
    for (let i = 0; i < this.size; i++) this.#insert(i);
  }
}

/** Both halves of the number, mixed (constants of the murmur finaliser). */
function slotOf(key: number, mask: number): number {
  let h = (key | 0) ^ Math.imul((key / 4294967296) | 0, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) & mask;
}

/** The array, or a copy twice as long when it is full. */
export function roomFor<T extends Float64Array | Float32Array | Int32Array | Uint32Array | Uint8Array>(
  array: T,
  needed: number,
): T {
  if (array.length >= needed) return array;
  const bigger = new (array.constructor as new (length: number) => T)(Math.max(needed, array.length * 2));
  bigger.set(array as never);
  return bigger;
}
