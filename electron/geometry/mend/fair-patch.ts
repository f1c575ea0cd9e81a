/**
 * Making a filled hole continue its surroundings: the patch is refined to the local edge length (P. Liepa 2003,
 * "Filling holes in meshes") and its new vertices placed where the surface bends least (uniform bi-Laplacian,
 * Kobbelt et al. 1998), so that a crown goes on in its curve.
 */

import type { IsTaken } from './fill-loop.ts';

export interface Patch {
  /** Points: first those of the loop, then new ones; xyz triples. */
  positions: number[];
  /** Points of the patch, three to a face. */
  faces: number[];
}

const MAX_NEW_VERTICES = 40_000;
const SPLIT_FACTOR = Math.SQRT2;
/** Four points on one circle, up to rounding, are left as they are: flipping them would go on for ever. */
const COSINE_SLACK = 1e-6;

/**
 * Refine: put a vertex into each face much larger than the edges at its corners, flip edges toward Delaunay, until
 * the faces match. `loopScale[i]` is the local edge length at loop point i. Border edges are never changed, and no edge
 * comes about that the surface has already (`isTaken`, of loop points).
 */
export function refinePatch(patch: Patch, loopScale: Float64Array, isTaken: IsTaken): void {
  const { positions: p, faces } = patch;
  const scale = Array.from(loopScale);
  const loopCount = loopScale.length;
  const mean = scale.reduce((sum, x) => sum + x, 0) / Math.max(1, loopCount);
  while (scale.length < p.length / 3) scale.push(mean);
  for (let round = 0; round < 24; round++) {
    const before = faces.length;
    const end = faces.length;
    for (let f = 0; f < end; f += 3) {
      const [a, b, c] = [faces[f], faces[f + 1], faces[f + 2]];
      const centre = [0, 1, 2].map((k) => (p[a * 3 + k] + p[b * 3 + k] + p[c * 3 + k]) / 3);
      const size = (scale[a] + scale[b] + scale[c]) / 3;
      const far = (v: number): number =>
        Math.hypot(p[v * 3] - centre[0], p[v * 3 + 1] - centre[1], p[v * 3 + 2] - centre[2]);
      const ok = [a, b, c].every((v) => SPLIT_FACTOR * far(v) > size && SPLIT_FACTOR * far(v) > scale[v]);
      if (!ok || p.length / 3 - loopCount >= MAX_NEW_VERTICES) continue;
      const m = p.length / 3;
      p.push(...centre);
      scale.push(size);
      faces[f + 2] = m;
      faces.push(b, c, m, c, a, m);
    }
    for (let pass = 0; pass < 8 && flipPass(patch, loopCount, isTaken) > 0; pass++);
    if (faces.length === before) break;
  }
}

/** Flip inner edges whose opposite angles sum to more than pi. Returns how many. */
function flipPass(patch: Patch, loopCount: number, isTaken: IsTaken): number {
  const { positions: p, faces } = patch;
  const count = p.length / 3;
  const halfedge = new Map<number, number>();
  for (let h = 0; h < faces.length; h++) halfedge.set(faces[h] * count + faces[h - (h % 3) + ((h + 1) % 3)], h);
  const touched = new Uint8Array(faces.length / 3);
  let flips = 0;
  for (let h = 0; h < faces.length; h++) {
    const base = h - (h % 3);
    const a = faces[h],
      b = faces[base + ((h + 1) % 3)],
      c = faces[base + ((h + 2) % 3)];
    const g = halfedge.get(b * count + a);
    if (g === undefined || g < h) continue;
    const gBase = g - (g % 3);
    const d = faces[gBase + ((g + 2) % 3)];
    if (
      touched[base / 3] ||
      touched[gBase / 3] ||
      c === d ||
      halfedge.has(c * count + d) ||
      halfedge.has(d * count + c) ||
      (c < loopCount && d < loopCount && isTaken(c, d))
    )
      continue;
    // Two angles sum to more than pi exactly where their cosines sum to less than 0.
    if (cosineAt(p, c, a, b) + cosineAt(p, d, a, b) >= -COSINE_SLACK) continue;
    touched[base / 3] = 1;
    touched[gBase / 3] = 1;
    faces[base] = a;
    faces[base + 1] = d;
    faces[base + 2] = c;
    faces[gBase] = d;
    faces[gBase + 1] = b;
    faces[gBase + 2] = c;
    // Known at once, so that no other flip of this pass makes the same edge; a touched face is not looked at again.
    halfedge.set(c * count + d, base);
    flips++;
  }
  return flips;
}

function cosineAt(p: readonly number[], v: number, a: number, b: number): number {
  const ux = p[a * 3] - p[v * 3],
    uy = p[a * 3 + 1] - p[v * 3 + 1],
    uz = p[a * 3 + 2] - p[v * 3 + 2];
  const wx = p[b * 3] - p[v * 3],
    wy = p[b * 3 + 1] - p[v * 3 + 1],
    wz = p[b * 3 + 2] - p[v * 3 + 2];
  const length2 = (ux * ux + uy * uy + uz * uz) * (wx * wx + wy * wy + wz * wz);
  return length2 > 0 ? (ux * wx + uy * wy + uz * wz) / Math.sqrt(length2) : 1;
}

/** Points around the patch that stay where they are: for each loop point, its neighbours outside the patch. */
export interface Surroundings {
  /** Outer neighbours of loop point i, as xyz triples. */
  readonly outer: readonly (readonly number[])[];
}

/**
 * Place the new points so that the sum of squared uniform Laplacians over new and loop points is least. Conjugate
 * gradients on the normal equations; the loop and what lies outside stay fixed.
 */
export function fairPatch(patch: Patch, loopCount: number, surroundings: Surroundings): void {
  const { positions: p, faces } = patch;
  const count = p.length / 3;
  const free = count - loopCount;
  if (free === 0) return;
  const ring: Set<number>[] = Array.from({ length: count }, () => new Set());
  for (let f = 0; f < faces.length; f += 3) {
    for (let k = 0; k < 3; k++) {
      const a = faces[f + k],
        b = faces[f + ((k + 1) % 3)];
      ring[a].add(b);
      ring[b].add(a);
    }
  }
  const neighbours = ring.map((set) => Int32Array.from(set));
  const outerSum = new Float64Array(loopCount * 3);
  const degree = Float64Array.from(neighbours, (list) => list.length);
  for (let i = 0; i < loopCount; i++) {
    const outer = surroundings.outer[i];
    degree[i] += outer.length / 3;
    outer.forEach((x, j) => (outerSum[i * 3 + (j % 3)] += x));
  }
  const laplacian = new Float64Array(count);
  for (let axis = 0; axis < 3; axis++) {
    const x = Float64Array.from({ length: count }, (_, v) => p[v * 3 + axis]);
    const fixed = Float64Array.from({ length: count }, (_, v) =>
      v < loopCount ? outerSum[v * 3 + axis] / degree[v] : 0,
    );
    /** out = gradient of the energy at x over the free points (linear part when `withFixed` is false). */
    const gradient = (from: Float64Array, out: Float64Array, withFixed: boolean): void => {
      for (let v = 0; v < count; v++) {
        let sum = 0;
        const list = neighbours[v];
        for (let k = 0; k < list.length; k++) sum += from[list[k]];
        laplacian[v] = from[v] - sum / degree[v] - (withFixed ? fixed[v] : 0);
      }
      for (let v = loopCount; v < count; v++) {
        let sum = laplacian[v];
        const list = neighbours[v];
        for (let k = 0; k < list.length; k++) sum -= laplacian[list[k]] / degree[list[k]];
        out[v] = sum;
      }
    };
    const residual = new Float64Array(count);
    gradient(x, residual, true);
    for (let v = 0; v < count; v++) residual[v] = -residual[v];
    const direction = residual.slice();
    const product = new Float64Array(count);
    let square = dot(residual, residual);
    const enough = square * CG_SHRINK;
    for (let step = 0; step < 4 * Math.min(free, 600) && square > enough; step++) {
      gradient(direction, product, false);
      const along = dot(direction, product);
      if (!(along > 0)) break;
      const size = square / along;
      for (let v = loopCount; v < count; v++) {
        x[v] += size * direction[v];
        residual[v] -= size * product[v];
      }
      const next = dot(residual, residual);
      for (let v = loopCount; v < count; v++) direction[v] = residual[v] + (next / square) * direction[v];
      square = next;
    }
    for (let v = loopCount; v < count; v++) p[v * 3 + axis] = x[v];
  }
}

/** Squared residual at which placing is good to far below a micron. */
const CG_SHRINK = 1e-12;

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
