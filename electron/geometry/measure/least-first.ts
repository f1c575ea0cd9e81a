/** A binary heap of numbers by a key, the least first (Williams 1964). Push and take O(log n). */
export class LeastFirst {
  readonly #keys: number[] = [];
  readonly #items: number[] = [];

  get size(): number {
    return this.#keys.length;
  }

  /** The least key, or infinity when nothing is left. */
  get least(): number {
    return this.#keys.length > 0 ? this.#keys[0] : Infinity;
  }

  push(key: number, item: number): void {
    let at = this.#keys.length;
    while (at > 0) {
      const up = (at - 1) >> 1;
      if (this.#keys[up] <= key) break;
      this.#keys[at] = this.#keys[up];
      this.#items[at] = this.#items[up];
      at = up;
    }
    this.#keys[at] = key;
    this.#items[at] = item;
  }

  /** The item with the least key; the heap must not be empty. */
  take(): number {
    const first = this.#items[0];
    const key = this.#keys.pop() as number;
    const item = this.#items.pop() as number;
    const count = this.#keys.length;
    if (count === 0) return first;
    let at = 0;
    for (;;) {
      let down = 2 * at + 1;
      if (down >= count) break;
      if (down + 1 < count && this.#keys[down + 1] < this.#keys[down]) down++;
      if (this.#keys[down] >= key) break;
      this.#keys[at] = this.#keys[down];
      this.#items[at] = this.#items[down];
      at = down;
    }
    this.#keys[at] = key;
    this.#items[at] = item;
    return first;
  }
}
