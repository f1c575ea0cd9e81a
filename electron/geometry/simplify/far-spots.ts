/**
 * The few places where a light mesh lies furthest from the dense one are given a vertex of their own: faces are
 * split there and the new vertex is put on the dense surface.
 */
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import type { NearGrid } from '../spatial/near-grid.ts';
import { facesOfVertex, walked2, walkToFace, type FacesOfVertex, type LightMesh } from './fit.ts';

/** A place on the light mesh and where it should be. */
export interface FarSpot {
  readonly distanceMm: number;
  readonly face: number;
  /** Where on the face: weights of its corners. */
  readonly weights: readonly [number, number, number];
  /** On the dense surface, in the frame of the light mesh. */
  readonly to: readonly [number, number, number];
  /** A dense vertex there. */
  readonly dense: number;
}

/** Places looked at on each light face: weights by threes. */
const PLACES = [
  [2, 2, 2],
  [4, 1, 1],
  [1, 4, 1],
  [1, 1, 4],
  [3, 3, 0],
  [3, 0, 3],
  [0, 3, 3],
  [2, 3, 1],
  [2, 1, 3],
  [1, 2, 3],
  [3, 2, 1],
  [3, 1, 2],
  [1, 3, 2],
  [4.5, 1.5, 0],
  [1.5, 4.5, 0],
  [4.5, 0, 1.5],
  [1.5, 0, 4.5],
  [0, 4.5, 1.5],
  [0, 1.5, 4.5],
].map(([a, b, c]) => [a / 6, b / 6, c / 6] as const);
/** A place with less than this weight of a corner is taken to be on the edge across from it. */
const ON_EDGE = 0.12;
/** A new face may turn by at most acos of this from the one it is part of. */
const LEAST_TURN_COSINE = -0.3;
const TICK = 2047;

export interface DenseMesh {
  /** xyz of its vertices, in the frame of the light mesh. */
  readonly vertices: Float64Array;
  /** Light vertex each was merged into. */
  readonly vertexOf: Int32Array;
  readonly triangles: Uint32Array;
  /** Of the dense mesh in its own frame, which is `origin` further. */
  readonly grid: NearGrid;
  readonly origin: readonly number[];
}

/** Places beyond `cutMm`, worst first, one for each light face at most. O(dense vertices + light faces). */
export function findFarSpots(light: LightMesh, dense: DenseMesh, cutMm: number, tick: () => void): FarSpot[] {
  const { vertices: q, vertexOf, grid, origin } = dense;
  const { positions: p, triangles: t } = light;
  const around = facesOfVertex(t, p.length / 3);
  const found = new Map<number, FarSpot>();
  const slot = nearestSlot();
  let tree: Bvh | undefined;
  const note = (spot: FarSpot): void => {
    const before = found.get(spot.face);
    if (before === undefined || before.distanceMm < spot.distanceMm) found.set(spot.face, spot);
  };
  for (let v = 0; v < vertexOf.length; v++) {
    if ((v & TICK) === 0) tick();
    if (vertexOf[v] < 0) continue;
    const x = q[v * 3],
      y = q[v * 3 + 1],
      z = q[v * 3 + 2];
    walkToFace(light, around, vertexOf[v], x, y, z);
    if (walked2 <= cutMm * cutMm) continue;
    // The walk may have ended in the wrong fold.
    tree ??= buildBvh(light);
    findNearest(tree, x, y, z, slot);
    if (slot.distance <= cutMm) continue;
    const f = slot.face * 3;
    nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z);
    const weights = [faceWeights[0], faceWeights[1], faceWeights[2]] as const;
    note({ distanceMm: slot.distance, face: slot.face, weights, to: [x, y, z], dense: v });
  }
  const [ox, oy, oz] = [origin[0], origin[1], origin[2]];
  for (let f = 0; f < t.length; f += 3) {
    if ((f & TICK) === 0) tick();
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    for (const weights of PLACES) {
      const x = weights[0] * p[a] + weights[1] * p[b] + weights[2] * p[c] + ox,
        y = weights[0] * p[a + 1] + weights[1] * p[b + 1] + weights[2] * p[c + 1] + oy,
        z = weights[0] * p[a + 2] + weights[1] * p[b + 2] + weights[2] * p[c + 2] + oz;
      if (grid.within(x, y, z, cutMm)) continue;
      grid.find(x, y, z, slot);
      const to = [slot.x - ox, slot.y - oy, slot.z - oz] as const;
      note({ distanceMm: slot.distance, face: f / 3, weights, to, dense: dense.triangles[slot.face * 3] });
    }
  }
  return [...found.values()].sort((one, two) => two.distanceMm - one.distanceMm || one.face - two.face);
}

/** Face across the edge from u to v of face f; -1 on a border. */
function across(t: Uint32Array, around: FacesOfVertex, f: number, u: number, v: number): number {
  for (let i = around.start[u]; i < around.start[u + 1]; i++) {
    const g = around.faces[i];
    if (g !== f && (t[g * 3] === v || t[g * 3 + 1] === v || t[g * 3 + 2] === v)) return g;
  }
  return -1;
}

/**
 * The light mesh with at most `most` vertices more, one for each spot that can have one, and the spot of each. Two faces more for each. A spot whose new faces would turn too far, or whose face was split already, gets none.
 */
export function splitFarSpots(
  light: LightMesh,
  spots: readonly FarSpot[],
  most: number,
): { positions: Float64Array; triangles: Uint32Array; made: FarSpot[] } {
  const p = Array.from(light.positions);
  const t = light.triangles;
  const around = facesOfVertex(t, p.length / 3);
  const gone = new Set<number>();
  const more: number[] = [];
  const made: FarSpot[] = [];
  const cross = (a: number, b: number, c: number): [number, number, number] => {
    const [ux, uy, uz] = [0, 1, 2].map((k) => p[b * 3 + k] - p[a * 3 + k]);
    const [vx, vy, vz] = [0, 1, 2].map((k) => p[c * 3 + k] - p[a * 3 + k]);
    return [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
  };
  for (const spot of spots) {
    if (made.length >= most) break;
    const f = spot.face;
    const least = spot.weights.indexOf(Math.min(...spot.weights));
    const vertex = p.length / 3;
    p.push(...spot.to);
    /** Face to split, with the corner across from the split edge, or -1 for all three edges. */
    const parts: [number, number][] = [];
    if (spot.weights[least] >= ON_EDGE) parts.push([f, -1]);
    else {
      const u = t[f * 3 + ((least + 1) % 3)],
        v = t[f * 3 + ((least + 2) % 3)];
      const g = across(t, around, f, u, v);
      if (g >= 0) parts.push([f, least], [g, [0, 1, 2].findIndex((k) => t[g * 3 + k] !== u && t[g * 3 + k] !== v)]);
    }
    const faces: number[] = [];
    let fine = parts.length > 0;
    for (const [face, apex] of parts) {
      if (gone.has(face)) fine = false;
      const normal = cross(t[face * 3], t[face * 3 + 1], t[face * 3 + 2]);
      for (let k = 0; k < 3 && fine; k++) {
        // The edge across from the apex is the one that is split.
        if (apex >= 0 && k === (apex + 1) % 3) continue;
        const a = t[face * 3 + k],
          b = t[face * 3 + ((k + 1) % 3)];
        const n = cross(a, b, vertex);
        const along = n[0] * normal[0] + n[1] * normal[1] + n[2] * normal[2];
        fine = along > LEAST_TURN_COSINE * Math.hypot(...n) * Math.hypot(...normal);
        faces.push(a, b, vertex);
      }
    }
    if (!fine) {
      p.length -= 3;
      continue;
    }
    for (const [face] of parts) gone.add(face);
    more.push(...faces);
    made.push(spot);
  }
  const kept = t.filter((_, c) => !gone.has((c / 3) | 0));
  const triangles = new Uint32Array(kept.length + more.length);
  triangles.set(kept);
  triangles.set(more, kept.length);
  return { positions: Float64Array.from(p), triangles, made };
}
