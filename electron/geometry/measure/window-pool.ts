/** Windows of straight ways, kept in flat arrays: there may be millions, and none is freed before the path is traced. */

/**
 * Ways that go straight from one bend, unfolded, through a part of an edge into a face. In the edge's own plane: from
 * its start at the origin along x, the face entered above, the bend below.
 */
export interface Window {
  /** Half-edge of the face entered. */
  readonly halfedge: number;
  readonly x0: number;
  readonly x1: number;
  readonly bendX: number;
  readonly bendY: number;
  /** Length from the start to the bend. */
  readonly before: number;
  readonly bend: number;
  /** Number of the window it came through, -1 for the first after a bend. */
  readonly parent: number;
}

const LENGTHS = 5;
const NUMBERS = 3;

export class WindowPool {
  #count = 0;
  #lengths = new Float64Array(1024 * LENGTHS);
  #numbers = new Int32Array(1024 * NUMBERS);

  /** Keep a window and give its number. */
  add({ halfedge, x0, x1, bendX, bendY, before, bend, parent }: Window): number {
    const number = this.#count++;
    const at = number * LENGTHS;
    if (at === this.#lengths.length) this.#grow();
    const lengths = this.#lengths;
    lengths[at] = x0;
    lengths[at + 1] = x1;
    lengths[at + 2] = bendX;
    lengths[at + 3] = bendY;
    lengths[at + 4] = before;
    const numbers = this.#numbers;
    numbers[number * NUMBERS] = halfedge;
    numbers[number * NUMBERS + 1] = bend;
    numbers[number * NUMBERS + 2] = parent;
    return number;
  }

  get(number: number): Window {
    const at = number * LENGTHS;
    const lengths = this.#lengths;
    const numbers = this.#numbers;
    return {
      halfedge: numbers[number * NUMBERS],
      x0: lengths[at],
      x1: lengths[at + 1],
      bendX: lengths[at + 2],
      bendY: lengths[at + 3],
      before: lengths[at + 4],
      bend: numbers[number * NUMBERS + 1],
      parent: numbers[number * NUMBERS + 2],
    };
  }

  #grow(): void {
    const [lengths, numbers] = [this.#lengths, this.#numbers];
    this.#lengths = new Float64Array(lengths.length * 2);
    this.#lengths.set(lengths);
    this.#numbers = new Int32Array(numbers.length * 2);
    this.#numbers.set(numbers);
  }
}
