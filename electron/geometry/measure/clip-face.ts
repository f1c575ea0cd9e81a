/** Faces cut off by planes, one at a time: for quantities of a part of a surface, without making a mesh of it. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';

/** Faces gone through between two ticks: a few milliseconds. */
const TICK_FACES = 8_192;

/** How far a point lies on the side the plane's normal points to. */
export function heightOver({ point, normal }: Plane, at: Vec3): number {
  return (at[0] - point[0]) * normal[0] + (at[1] - point[1]) * normal[1] + (at[2] - point[2]) * normal[2];
}

/**
 * Calls `visit` with the corners of what each face keeps on the sides that the planes' normals point to, in order
 * (Sutherland and Hodgman 1974); faces of which nothing is left are passed over. O(faces · planes).
 */
export function eachKept(
  mesh: Mesh,
  planes: readonly Plane[],
  visit: (corners: readonly Vec3[]) => void,
  tick?: () => void,
): void {
  const { positions: p, triangles: t } = mesh;
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_FACES) === 0) tick?.();
    let corners: Vec3[] = [0, 1, 2].map((k) => [p[t[f + k] * 3], p[t[f + k] * 3 + 1], p[t[f + k] * 3 + 2]]);
    for (const plane of planes) {
      if (corners.length === 0) break;
      const heights = corners.map((corner) => heightOver(plane, corner));
      corners = corners.flatMap((a, i) => {
        const j = (i + 1) % corners.length;
        const [ha, hb] = [heights[i], heights[j]];
        const kept = ha >= 0 ? [a] : [];
        if (ha >= 0 === hb >= 0) return kept;
        const s = ha / (ha - hb);
        const b = corners[j];
        return [...kept, [a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1]), a[2] + s * (b[2] - a[2])] as Vec3];
      });
    }
    if (corners.length > 2) visit(corners);
  }
}
