/** The part of a surface where a value at its vertices is positive, its edge cut clean through the faces. */
import type { Mesh } from '../../../shared-types/mesh.ts';

/** A cut this near to a vertex, as a share of the edge, goes through the vertex: no slivers. */
const SNAP_SHARE = 1 / 32;

export interface Clipped {
  readonly mesh: Mesh;
  /** Face of the whole surface each face lies on. */
  readonly sourceFace: Uint32Array;
}

/**
 * Linear along edges, so a border where the value falls evenly comes out smooth. A vertex within 1/32 of an edge from
 * the cut is taken to lie on it. Unused vertices are left out; the result may be empty. O(faces).
 */
export function clipSurface(mesh: Mesh, values: Float64Array): Clipped {
  const { positions: p, triangles: t } = mesh;
  const value = values.slice();
  for (let h = 0; h < t.length; h++) {
    const a = t[h],
      b = t[h % 3 === 2 ? h - 2 : h + 1];
    if (values[a] > 0 === values[b] > 0) continue;
    const share = values[a] / (values[a] - values[b]);
    if (share < SNAP_SHARE) value[a] = 0;
    if (share > 1 - SNAP_SHARE) value[b] = 0;
  }
  const positions: number[] = [];
  const triangles: number[] = [];
  const sourceFace: number[] = [];
  const kept = new Map<number, number>();
  const crossings = new Map<number, number>();
  const vertexCount = p.length / 3;
  const keep = (v: number): number => {
    const known = kept.get(v);
    if (known !== undefined) return known;
    const made = positions.length / 3;
    kept.set(v, made);
    positions.push(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    return made;
  };
  const cross = (a: number, b: number): number => {
    const low = Math.min(a, b),
      high = Math.max(a, b);
    const key = low * vertexCount + high;
    const known = crossings.get(key);
    if (known !== undefined) return known;
    const made = positions.length / 3;
    crossings.set(key, made);
    const share = value[low] / (value[low] - value[high]);
    for (let k = 0; k < 3; k++) positions.push(p[low * 3 + k] + share * (p[high * 3 + k] - p[low * 3 + k]));
    return made;
  };
  for (let f = 0; f < t.length; f += 3) {
    const corners = [t[f], t[f + 1], t[f + 2]];
    if (!corners.some((v) => value[v] > 0)) continue;
    const outline: number[] = [];
    for (let k = 0; k < 3; k++) {
      const a = corners[k],
        b = corners[(k + 1) % 3];
      if (value[a] >= 0) outline.push(keep(a));
      if ((value[a] > 0 && value[b] < 0) || (value[a] < 0 && value[b] > 0)) outline.push(cross(a, b));
    }
    for (let k = 2; k < outline.length; k++) {
      triangles.push(outline[0], outline[k - 1], outline[k]);
      sourceFace.push(f / 3);
    }
  }
  return {
    mesh: { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) },
    sourceFace: Uint32Array.from(sourceFace),
  };
}
