/** Lines drawn on a body by pressing on it, place after place: what is drawn, and where it lies. Pure. */
import { nearestOnFace, faceWeights } from '../../electron/geometry/measure/point-triangle.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';

export interface DrawnLine {
  readonly id: string;
  readonly name: string;
  readonly places: readonly Vec3[];
  readonly isClosed: boolean;
}

/** The line in hand; with a place, that one is moved instead of another being added. */
export interface Drawing {
  readonly lineId: string;
  readonly place?: number | undefined;
}

export interface Surface {
  readonly positions: Float32Array;
  readonly triangles: Uint32Array;
}

/** Places after one was pressed: moved there, or added at the end. */
export function placed(places: readonly Vec3[], at: Vec3, { place }: Drawing): readonly Vec3[] {
  return place === undefined || place >= places.length ? [...places, at] : places.with(place, at);
}

/** The place of a surface nearest to a point. O(faces). */
export function ontoSurface({ positions, triangles }: Surface, [x, y, z]: Vec3): Vec3 {
  const p = Float64Array.from(positions);
  let best = Infinity;
  let found: Vec3 = [x, y, z];
  for (let f = 0; f < triangles.length; f += 3) {
    const [a, b, c] = [triangles[f] * 3, triangles[f + 1] * 3, triangles[f + 2] * 3];
    const square = nearestOnFace(p, a, b, c, x, y, z);
    if (square >= best) continue;
    best = square;
    const at = (k: number): number => faceWeights[0] * p[a + k] + faceWeights[1] * p[b + k] + faceWeights[2] * p[c + k];
    found = [at(0), at(1), at(2)];
  }
  return found;
}

/** Straight from place to place: xyz triples. */
export const straight = (places: readonly Vec3[]): Float64Array => Float64Array.from(places.flat());
