/** Points that stand for a part's surface: where it could touch, and by area. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { areaOf } from '../mesh/quantities.ts';
import { faceCross } from '../mesh/face-cross.ts';

/** Points by threes, in the part's own coordinates. */
export interface AreaPoints {
  readonly at: Float64Array;
  /** Surface each point stands for, mm². */
  readonly areaMm2: Float64Array;
  readonly face: Uint32Array;
}

/** Parts into which each edge of a face is divided so that no piece has a longer edge. */
function divisions(mesh: Mesh, face: number, longestMm: number): number {
  const { positions: p, triangles: t } = mesh;
  let longest = 0;
  for (let i = 0; i < 3; i++) {
    const a = t[face * 3 + i] * 3,
      b = t[face * 3 + ((i + 1) % 3)] * 3;
    longest = Math.max(longest, Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]));
  }
  return Math.max(1, Math.ceil(longest / longestMm));
}

/**
 * Middles of the pieces into which the chosen faces are divided (edges up to `longestMm`), each with its share of the
 * area. O(points).
 */
export function areaPoints(mesh: Mesh, chosen: Uint8Array, longestMm: number): AreaPoints {
  const { positions: p, triangles: t } = mesh;
  const at: number[] = [],
    areaMm2: number[] = [],
    face: number[] = [];
  for (let f = 0; f < chosen.length; f++) {
    if (chosen[f] === 0) continue;
    const n = divisions(mesh, f, longestMm);
    const area = faceCross(p, t, f * 3) / 2 / (n * n);
    if (!(area > 0)) continue;
    const [a, b, c] = [t[f * 3] * 3, t[f * 3 + 1] * 3, t[f * 3 + 2] * 3];
    const push = (u: number, v: number): void => {
      for (let k = 0; k < 3; k++) at.push(p[a + k] + u * (p[b + k] - p[a + k]) + v * (p[c + k] - p[a + k]));
      areaMm2.push(area);
      face.push(f);
    };
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n - i; j++) {
        push((i + 1 / 3) / n, (j + 1 / 3) / n);
        if (j < n - i - 1) push((i + 2 / 3) / n, (j + 2 / 3) / n);
      }
    }
  }
  return { at: Float64Array.from(at), areaMm2: Float64Array.from(areaMm2), face: Uint32Array.from(face) };
}

/** About `count` of the points, each taking over the area of those it stands for; in an order spread over the surface. */
export function thinned(points: AreaPoints, count: number): AreaPoints {
  const n = points.face.length;
  if (n <= count) return points;
  const total = points.areaMm2.reduce((sum, one) => sum + one, 0);
  const at = new Float64Array(3 * count),
    areaMm2 = new Float64Array(count).fill(total / count),
    face = new Uint32Array(count);
  let sum = 0;
  let taken = 0;
  for (let i = 0; i < n && taken < count; i++) {
    sum += points.areaMm2[i];
    while (taken < count && sum >= ((taken + 0.5) * total) / count) {
      at.set(points.at.subarray(3 * i, 3 * i + 3), 3 * taken);
      face[taken++] = points.face[i];
    }
  }
  return { at: at.subarray(0, 3 * taken), areaMm2: areaMm2.subarray(0, taken), face: face.subarray(0, taken) };
}

/**
 * Corners of the chosen faces, and of the pieces into which long ones are divided: where a part can touch a body whose
 * own corners are no sharper than that. O(points).
 */
export function touchPoints(mesh: Mesh, chosen: Uint8Array, longestMm: number): Float64Array {
  const { positions: p, triangles: t } = mesh;
  const seen = new Uint8Array(p.length / 3);
  const at: number[] = [];
  for (let f = 0; f < chosen.length; f++) {
    if (chosen[f] === 0) continue;
    for (let i = 0; i < 3; i++) {
      const v = t[f * 3 + i];
      if (seen[v] === 1) continue;
      seen[v] = 1;
      at.push(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    }
    const n = divisions(mesh, f, longestMm);
    const [a, b, c] = [t[f * 3] * 3, t[f * 3 + 1] * 3, t[f * 3 + 2] * 3];
    for (let i = 0; i <= n; i++) {
      for (let j = 0; j <= n - i; j++) {
        const corner = (i === 0 && j === 0) || i === n || j === n;
        if (corner) continue;
        for (let k = 0; k < 3; k++)
          at.push(p[a + k] + (i / n) * (p[b + k] - p[a + k]) + (j / n) * (p[c + k] - p[a + k]));
      }
    }
  }
  return Float64Array.from(at);
}

/** Middle of the points and the root mean square of their distance from it, by area. */
export function spreadOf(points: AreaPoints): { readonly middle: Vec3; readonly radiusMm: number } {
  const middle: [number, number, number] = [0, 0, 0];
  let total = 0;
  points.areaMm2.forEach((area, i) => {
    total += area;
    for (let k = 0; k < 3; k++) middle[k] += area * points.at[3 * i + k];
  });
  for (let k = 0; k < 3; k++) middle[k] /= total;
  let square = 0;
  points.areaMm2.forEach((area, i) => {
    for (let k = 0; k < 3; k++) square += area * (points.at[3 * i + k] - middle[k]) ** 2;
  });
  return { middle, radiusMm: Math.sqrt(square / total) };
}

/** Edge that divides a surface into about so many pieces, mm. */
export function edgeForCount(mesh: Mesh, pieces: number): number {
  return Math.sqrt((4 / Math.sqrt(3)) * (areaOf(mesh) / pieces));
}
