/** A strip of a patch along a chain of points, so that a long way need not be sought on all of a dense surface. */
import type { SurfacePatch } from './surface-patch.ts';

export interface Corridor {
  readonly patch: SurfacePatch;
  /** 1 for vertices at which faces of the patch were left out: a path over one of them may be hemmed in. */
  readonly hems: Uint8Array;
}

/**
 * The faces of which a corner lies within `halfWidth` of a node of `chain` (xyz triples), with those at both ends.
 * O(vertices · nodes).
 */
export function corridorAlong(
  patch: SurfacePatch,
  chain: Float64Array,
  halfWidth: number,
  tick?: () => void,
): Corridor {
  const { positions: p, triangles: t } = patch;
  const square = halfWidth * halfWidth;
  const near = new Uint8Array(p.length / 3);
  for (let v = 0; v < near.length; v++) {
    if (v % 512 === 0) tick?.();
    for (let i = 0; i < chain.length && near[v] === 0; i += 3) {
      const d = (p[v * 3] - chain[i]) ** 2 + (p[v * 3 + 1] - chain[i + 1]) ** 2 + (p[v * 3 + 2] - chain[i + 2]) ** 2;
      if (d <= square) near[v] = 1;
    }
  }
  near[patch.from] = near[patch.to] = 1;
  const number = new Int32Array(near.length).fill(-1);
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let f = 0; f < t.length; f += 3) {
    if (near[t[f]] + near[t[f + 1]] + near[t[f + 2]] === 0) continue;
    for (let k = 0; k < 3; k++) {
      const v = t[f + k];
      if (number[v] < 0) {
        number[v] = positions.length / 3;
        positions.push(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
      }
      triangles.push(number[v]);
    }
  }
  const hems = new Uint8Array(positions.length / 3);
  // A vertex near the chain keeps all its faces; only the others can have lost some.
  for (let v = 0; v < near.length; v++) if (number[v] >= 0 && near[v] === 0) hems[number[v]] = 1;
  return { patch: { positions, triangles, from: number[patch.from], to: number[patch.to] }, hems };
}
