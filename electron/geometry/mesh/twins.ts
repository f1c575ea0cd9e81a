/**
 * Edge connectivity of a triangle mesh.
 *
 * Corner c of face f is half-edge 3f+c, running from triangles[3f+c] to the next corner.
 */

/** The half-edge after `h` in its face. */
export function nextHalfedge(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}

/** The half-edge before `h` in its face. */
export function previousHalfedge(h: number): number {
  return h % 3 === 0 ? h + 2 : h - 1;
}

/** `twin[h]` values that are not half-edges. */
export const OPEN = -1;
export const NON_MANIFOLD = -2;

export interface Twins {
  /**
   * For each half-edge its partner on the other face, OPEN on a border, NON_MANIFOLD where an edge has
   * more than two faces. Partners that run the same way (badly oriented) are still partners.
   */
  readonly twin: Int32Array;
  readonly openEdges: number;
  /** Edges with more than two faces. */
  readonly nonManifoldEdges: number;
  /** Edges whose two faces run along it the same way. */
  readonly flippedEdges: number;
}

/** Marks, while pairing, the first half-edge of an edge that has two and of one that has more. */
const PAIRED = 1;
const CROWDED = 2;

/**
 * Pair the half-edges of all faces. O(faces): the first half-edge of each edge is kept in a chain at its lower vertex,
 * and each half-edge compared with the few there.
 */
export function findTwins(triangles: Uint32Array, vertexCount: number): Twins {
  const count = triangles.length;
  const head = new Int32Array(vertexCount).fill(-1);
  const chain = new Int32Array(count);
  const upper = new Uint32Array(count);
  const state = new Uint8Array(count);
  const twin = new Int32Array(count).fill(OPEN);
  let edges = 0;
  let pairs = 0;
  let nonManifoldEdges = 0;
  let flippedEdges = 0;
  for (let f = 0; f < count; f += 3) {
    let a = triangles[f + 2];
    for (let k = 0; k < 3; k++) {
      // From the last corner to the first, then on: each half-edge starts where the one before ended.
      const h = k === 0 ? f + 2 : f + k - 1;
      const b = triangles[f + k];
      const low = a < b ? a : b,
        high = a < b ? b : a;
      let first = head[low];
      while (first >= 0 && upper[first] !== high) first = chain[first];
      if (first < 0) {
        upper[h] = high;
        chain[h] = head[low];
        head[low] = h;
        edges++;
      } else if (state[first] === 0) {
        state[first] = PAIRED;
        twin[h] = first;
        twin[first] = h;
        pairs++;
        if (triangles[first] === a) flippedEdges++;
      } else {
        if (state[first] === PAIRED) {
          const second = twin[first];
          state[first] = CROWDED;
          pairs--;
          nonManifoldEdges++;
          if (triangles[first] === triangles[second]) flippedEdges--;
          twin[first] = twin[second] = NON_MANIFOLD;
        }
        twin[h] = NON_MANIFOLD;
      }
      a = b;
    }
  }
  return { twin, openEdges: edges - pairs - nonManifoldEdges, nonManifoldEdges, flippedEdges };
}
