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

/**
 * Pair the half-edges of all faces. O(faces): half-edges are bucketed by their lower vertex, and the
 * few in a bucket are compared directly.
 */
export function findTwins(triangles: Uint32Array, vertexCount: number): Twins {
  const count = triangles.length;
  const start = new Uint32Array(vertexCount + 1);
  const upper = new Uint32Array(count);
  const lower = new Uint32Array(count);
  for (let h = 0; h < count; h++) {
    const a = triangles[h];
    const b = triangles[nextHalfedge(h)];
    const low = a < b ? a : b;
    lower[h] = low;
    upper[h] = a < b ? b : a;
    start[low + 1]++;
  }
  for (let v = 0; v < vertexCount; v++) start[v + 1] += start[v];
  const fill = start.slice(0, vertexCount);
  const bucket = new Uint32Array(count);
  for (let h = 0; h < count; h++) bucket[fill[lower[h]]++] = h;

  const twin = new Int32Array(count).fill(OPEN);
  let openEdges = 0;
  let nonManifoldEdges = 0;
  let flippedEdges = 0;
  const seen = new Uint8Array(count);
  for (let v = 0; v < vertexCount; v++) {
    const end = start[v + 1];
    for (let i = start[v]; i < end; i++) {
      const h = bucket[i];
      if (seen[h]) continue;
      let partner = -1;
      let faces = 1;
      for (let j = i + 1; j < end; j++) {
        const g = bucket[j];
        if (upper[g] !== upper[h]) continue;
        seen[g] = 1;
        partner = g;
        faces++;
      }
      if (faces === 1) {
        openEdges++;
      } else if (faces === 2) {
        twin[h] = partner;
        twin[partner] = h;
        if (triangles[h] === triangles[partner]) flippedEdges++;
      } else {
        nonManifoldEdges++;
        twin[h] = NON_MANIFOLD;
        for (let j = i + 1; j < end; j++) {
          if (upper[bucket[j]] === upper[h]) twin[bucket[j]] = NON_MANIFOLD;
        }
      }
    }
  }
  return { twin, openEdges, nonManifoldEdges, flippedEdges };
}
