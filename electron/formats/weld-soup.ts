import { PositionTable } from '../geometry/mesh/position-table.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import type { Mesh } from '../../shared-types/mesh.ts';

/** Give every corner of a triangle soup its vertex: corners with the same coordinates become one. O(corners). */
export function weldSoup(corners: Float64Array, run: RunContext): Mesh {
  const count = corners.length / 3;
  const table = new PositionTable(count);
  const triangles = new Uint32Array(count);
  for (let i = 0; i < count; i++) {
    if ((i & 0xffff) === 0) run.step('read', count + i, 2 * count);
    triangles[i] = table.add(corners[i * 3], corners[i * 3 + 1], corners[i * 3 + 2]);
  }
  return { positions: table.positions.slice(0, table.count * 3), triangles };
}
