/** A mesh made exactly mirror-symmetric about y = 0, from its left half. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { keepFaces } from '../mesh/compact.ts';

/** A vertex within this share of the mean edge of the plane is set on it, so that no needles come of the cut. */
const SNAP_SHARE = 0.3;

/**
 * The half of a closed mesh with y >= 0, cut at y = 0: its border lies exactly in the plane. Faces keep their turn.
 * The plane may graze no face lengthwise, which holds for heads. O(faces).
 */
export function leftHalf({ positions, triangles }: Mesh): Mesh {
  let length = 0;
  for (let at = 0; at < triangles.length; at += 3) {
    const [a, b] = [triangles[at] * 3, triangles[at + 1] * 3];
    length += Math.hypot(
      positions[a] - positions[b],
      positions[a + 1] - positions[b + 1],
      positions[a + 2] - positions[b + 2],
    );
  }
  const snap = (SNAP_SHARE * length * 3) / triangles.length;
  const points = [...positions];
  for (let at = 1; at < points.length; at += 3) if (Math.abs(points[at]) < snap) points[at] = 0;
  const onPlane = new Map<number, number>();
  const vertexCount = positions.length / 3;
  const crossing = (a: number, b: number): number => {
    const key = Math.min(a, b) * vertexCount + Math.max(a, b);
    let vertex = onPlane.get(key);
    if (vertex === undefined) {
      const share = points[a * 3 + 1] / (points[a * 3 + 1] - points[b * 3 + 1]);
      vertex = points.length / 3;
      points.push(
        points[a * 3] + share * (points[b * 3] - points[a * 3]),
        0,
        points[a * 3 + 2] + share * (points[b * 3 + 2] - points[a * 3 + 2]),
      );
      onPlane.set(key, vertex);
    }
    return vertex;
  };
  const kept: number[] = [];
  for (let at = 0; at < triangles.length; at += 3) {
    const corners = [triangles[at], triangles[at + 1], triangles[at + 2]];
    const heights = corners.map((vertex) => points[vertex * 3 + 1]);
    if (Math.max(...heights) <= 0) continue;
    const polygon: number[] = [];
    corners.forEach((vertex, k) => {
      const next = (k + 1) % 3;
      if (heights[k] >= 0) polygon.push(vertex);
      if (heights[k] * heights[next] < 0) polygon.push(crossing(vertex, corners[next]));
    });
    for (let k = 2; k < polygon.length; k++) kept.push(polygon[0], polygon[k - 1], polygon[k]);
  }
  const whole = { positions: Float64Array.from(points), triangles: Uint32Array.from(kept) };
  return keepFaces(whole, new Uint8Array(kept.length / 3).fill(1));
}

export interface MirroredMesh extends Mesh {
  /** The vertex on the other side; itself on the plane. */
  readonly mirror: Uint32Array;
  /** The first so many vertices are the left half, with the middle line. */
  readonly halfCount: number;
}

/** The left half's positions taken over to the right. */
export function mirrorOver({ mirror, halfCount }: MirroredMesh, positions: Float64Array): void {
  for (let vertex = 0; vertex < halfCount; vertex++) {
    const other = mirror[vertex];
    if (other === vertex) positions[vertex * 3 + 1] = 0;
    else positions.set([positions[vertex * 3], -positions[vertex * 3 + 1], positions[vertex * 3 + 2]], other * 3);
  }
}

/** The half and its mirror image, joined at the vertices on its open border, which are set on y = 0. O(faces). */
export function withMirror(half: Mesh, border: Uint8Array): MirroredMesh {
  const halfCount = half.positions.length / 3;
  const points = [...half.positions];
  const mirror: number[] = [];
  for (let vertex = 0; vertex < halfCount; vertex++) {
    if (border[vertex] === 1) {
      points[vertex * 3 + 1] = 0;
      mirror[vertex] = vertex;
      continue;
    }
    const other = points.length / 3;
    points.push(points[vertex * 3], -points[vertex * 3 + 1], points[vertex * 3 + 2]);
    mirror[vertex] = other;
    mirror[other] = vertex;
  }
  const triangles: number[] = [...half.triangles];
  for (let at = 0; at < half.triangles.length; at += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => mirror[half.triangles[at + k]]);
    triangles.push(a, c, b);
  }
  return {
    positions: Float64Array.from(points),
    triangles: Uint32Array.from(triangles),
    mirror: Uint32Array.from(mirror),
    halfCount,
  };
}
