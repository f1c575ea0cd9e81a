/** The holes of an oriented surface: closed loops of border half-edges. */
import { nextHalfedge, OPEN } from '../mesh/twins.ts';

/**
 * Loops of vertices round each hole, in the order in which new faces must run to agree with the old ones. The
 * surface must be manifold (`makeManifold`): then each border vertex lies on exactly one loop. O(half-edges).
 */
export function findHoleLoops(triangles: Uint32Array, twin: Int32Array, vertexCount: number): Uint32Array[] {
  // A hole runs against its border: from the end of each open half-edge to its start.
  const next = new Int32Array(vertexCount).fill(-1);
  for (let h = 0; h < twin.length; h++) if (twin[h] === OPEN) next[triangles[nextHalfedge(h)]] = triangles[h];
  const loops: Uint32Array[] = [];
  for (let start = 0; start < vertexCount; start++) {
    if (next[start] < 0) continue;
    const loop: number[] = [];
    let v = start;
    while (v >= 0 && next[v] >= 0) {
      loop.push(v);
      const to = next[v];
      next[v] = -1;
      v = to;
    }
    loops.push(Uint32Array.from(loop));
  }
  return loops;
}
