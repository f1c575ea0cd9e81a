/**
 * Nearest-surface queries where many are asked close together, as in a fold: a cell of space keeps the faces that can be
 * nearest to any place in it, nearest to its middle first, so that a query looks at a few of them instead of walking the
 * tree. A cell learns its faces at its third query; until then, and where too much would be kept, the tree answers.
 *
 * For a place q in the cell of middle c the triangle inequality gives d(q, face) >= d(c, face) - |q - c|: the faces
 * within d(c) + 2 r of c, r half the diagonal, suffice, and the list is over where d(c, face) - |q - c| exceeds what is
 * found. Measured on a head with ears: 292,000 walks of the tree became 50,000, and following the surface takes about two
 * thirds of the time.
 */
import { findNearest, nearestSlot, visitNear, type Bvh, type Nearest } from '../spatial/bvh.ts';
import { nearestOnTriangle, triangleHit } from '../spatial/on-triangle.ts';
import { CellMap, roomFor } from './cell-map.ts';

/** Edge of a cell, mm. */
const CELL_MM = 1;
const HALF_DIAGONAL_MM = (CELL_MM * Math.sqrt(3)) / 2;
/** Queries answered by the tree before a cell learns. */
const PATIENCE = 2;
/** Faces kept per cell, and in all. */
const MOST_HERE = 200;
const MOST_KEPT = 4_000_000;
/** Room for rounding. */
const LOOSE_MM = 2 ** -30;
/** Keys: so many cells each way from the origin. */
const HALF_SPAN = 2 ** 16;
const SPAN = 2 ** 17;

export class NearCells {
  readonly #tree: Bvh;
  readonly #cells = new CellMap();
  /** Queries so far; then where the cell's faces begin (as -1 - begin). */
  #state = new Int32Array(1 << 14);
  #slots = new Int32Array(1 << 14);
  #away = new Float64Array(1 << 14);
  #kept = 0;
  readonly #nearest = nearestSlot();

  constructor(tree: Bvh) {
    this.#tree = tree;
  }

  /** Fill `out` as `findNearest` without a limit does; false, and nothing filled, where the tree has to be asked. */
  find(x: number, y: number, z: number, out: Nearest): boolean {
    const i = Math.floor(x / CELL_MM),
      j = Math.floor(y / CELL_MM),
      k = Math.floor(z / CELL_MM);
    if (!(Math.abs(i) < HALF_SPAN && Math.abs(j) < HALF_SPAN && Math.abs(k) < HALF_SPAN)) return false;
    const key = ((i + HALF_SPAN) * SPAN + (j + HALF_SPAN)) * SPAN + (k + HALF_SPAN);
    let cell = this.#cells.find(key);
    if (cell < 0) {
      cell = this.#cells.add(key);
      this.#state = roomFor(this.#state, cell + 1);
    }
    const cx = (i + 0.5) * CELL_MM,
      cy = (j + 0.5) * CELL_MM,
      cz = (k + 0.5) * CELL_MM;
    let state = this.#state[cell];
    if (state >= 0) {
      if (state < PATIENCE) {
        this.#state[cell]++;
        return false;
      }
      if (state > PATIENCE || !this.#learn(cell, cx, cy, cz)) return false;
      state = this.#state[cell];
    }
    const { corners, faces } = this.#tree;
    const slots = this.#slots,
      away = this.#away;
    const off = Math.sqrt((x - cx) * (x - cx) + (y - cy) * (y - cy) + (z - cz) * (z - cz));
    let best = Infinity,
      reach = Infinity;
    for (let n = -1 - state; slots[n] >= 0 && away[n] <= reach; n++) {
      nearestOnTriangle(corners, slots[n] * 9, x, y, z);
      if (!(triangleHit[0] < best)) continue;
      best = triangleHit[0];
      reach = Math.sqrt(best) + off + LOOSE_MM;
      out.x = triangleHit[1];
      out.y = triangleHit[2];
      out.z = triangleHit[3];
      out.feature = triangleHit[4];
      out.face = faces[slots[n]];
    }
    out.distance = Math.sqrt(best);
    return true;
  }

  /** Keep the faces of a cell; false where there are too many. */
  #learn(cell: number, x: number, y: number, z: number): boolean {
    const tree = this.#tree;
    this.#state[cell] = PATIENCE + 1;
    if (this.#kept > MOST_KEPT || !findNearest(tree, x, y, z, this.#nearest)) return false;
    const first = this.#kept;
    this.#slots = roomFor(this.#slots, first + MOST_HERE + 1);
    this.#away = roomFor(this.#away, first + MOST_HERE + 1);
    const slots = this.#slots,
      away = this.#away;
    let count = 0;
    visitNear(tree, x, y, z, this.#nearest.distance + 2 * HALF_DIAGONAL_MM + LOOSE_MM, (slot, distance) => {
      if (count++ >= MOST_HERE) return;
      // Sorted as they come: there are few.
      let at = first + count - 1;
      for (; at > first && away[at - 1] > distance; at--) {
        away[at] = away[at - 1];
        slots[at] = slots[at - 1];
      }
      away[at] = distance;
      slots[at] = slot;
    });
    if (count > MOST_HERE) return false;
    this.#kept = first + count + 1;
    slots[first + count] = -1;
    this.#state[cell] = -1 - first;
    return true;
  }
}
