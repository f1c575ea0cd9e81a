/** How far mending moved the surface. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { keepFaces } from '../mesh/compact.ts';
import { PositionTable } from '../mesh/position-table.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';

/** Vertices, less one, between two calls of `tick`. */
const TABLE_STRIDE = 2 ** 14 - 1;
const QUERY_STRIDE = 2 ** 6 - 1;

/**
 * Distance of each vertex of the scan from the result. Those that are still vertices of it, to single precision,
 * are at rounding distance and not searched for. The others are measured against the faces that took their place, and
 * those round about: never less than the distance to the whole. O(n), and what the moved ones need. `tick` is called
 * every few milliseconds of work, mostly: a place to step a run.
 */
export function howFarMoved(scan: Mesh, result: Mesh, tick?: () => void): { max: number; mean: number } {
  tick?.();
  const table = tableOf(result.positions);
  const p = scan.positions;
  const gone = new Uint8Array(p.length / 3);
  for (let v = 0; v < gone.length; v++) {
    if ((v & TABLE_STRIDE) === 0) tick?.();
    if (table.find(Math.fround(p[v * 3]), Math.fround(p[v * 3 + 1]), Math.fround(p[v * 3 + 2])) < 0) gone[v] = 1;
  }
  if (!gone.includes(1)) return { max: 0, mean: 0 };
  tick?.();
  const tree = buildBvh(facesInstead(scan, gone, result), tick);
  const slot = nearestSlot();
  let max = 0;
  let sum = 0;
  for (let i = 0; i < p.length; i += 3) {
    const v = i / 3;
    if ((v & QUERY_STRIDE) === 0) tick?.();
    if (!gone[v]) continue;
    findNearest(tree, p[i], p[i + 1], p[i + 2], slot);
    max = Math.max(max, slot.distance);
    sum += slot.distance;
  }
  return { max, mean: p.length > 0 ? sum / (p.length / 3) : 0 };
}

function tableOf(positions: Float64Array): PositionTable {
  const table = new PositionTable(positions.length / 3);
  for (let i = 0; i < positions.length; i += 3)
    table.add(Math.fround(positions[i]), Math.fround(positions[i + 1]), Math.fround(positions[i + 2]));
  return table;
}

/** Faces of the result with a corner that the scan does not have, or that was a neighbour of what is gone; else all. */
function facesInstead(scan: Mesh, gone: Uint8Array, result: Mesh): Mesh {
  const { positions: p, triangles: s } = scan;
  const beside = new Uint8Array(gone.length);
  for (let f = 0; f < s.length; f += 3)
    if (gone[s[f]] | gone[s[f + 1]] | gone[s[f + 2]]) beside[s[f]] = beside[s[f + 1]] = beside[s[f + 2]] = 1;
  const stays = new PositionTable(gone.length);
  for (let v = 0; v < gone.length; v++)
    if (!gone[v] && !beside[v]) stays.add(Math.fround(p[v * 3]), Math.fround(p[v * 3 + 1]), Math.fround(p[v * 3 + 2]));
  const { positions: q, triangles: t } = result;
  const isNear = new Uint8Array(q.length / 3);
  for (let v = 0; v < isNear.length; v++) if (stays.find(q[v * 3], q[v * 3 + 1], q[v * 3 + 2]) < 0) isNear[v] = 1;
  const faces = new Uint8Array(t.length / 3);
  for (let f = 0; f < t.length; f += 3) faces[f / 3] = isNear[t[f]] | isNear[t[f + 1]] | isNear[t[f + 2]];
  return faces.includes(1) ? keepFaces(result, faces) : result;
}
