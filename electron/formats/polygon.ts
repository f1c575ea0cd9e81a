/** Polygons of a file cut into triangles: a quad along its shorter diagonal, more corners by ear cutting. */
import earcut from 'earcut';
import type { GrowingIndices } from './growing.ts';

function distance2(p: Float64Array, a: number, b: number): number {
  return (p[a * 3] - p[b * 3]) ** 2 + (p[a * 3 + 1] - p[b * 3 + 1]) ** 2 + (p[a * 3 + 2] - p[b * 3 + 2]) ** 2;
}

/** Append the triangles of one polygon (vertex numbers in `loop`, `count` of them). */
export function pushPolygon(positions: Float64Array, loop: Uint32Array, count: number, out: GrowingIndices): void {
  if (count === 3) {
    out.push3(loop[0], loop[1], loop[2]);
  } else if (count === 4) {
    if (distance2(positions, loop[0], loop[2]) <= distance2(positions, loop[1], loop[3])) {
      out.push3(loop[0], loop[1], loop[2]);
      out.push3(loop[0], loop[2], loop[3]);
    } else {
      out.push3(loop[0], loop[1], loop[3]);
      out.push3(loop[1], loop[2], loop[3]);
    }
  } else if (count > 4) {
    pushLarge(positions, loop, count, out);
  }
}

function pushLarge(p: Float64Array, loop: Uint32Array, count: number, out: GrowingIndices): void {
  // Newell's normal chooses the plane to flatten in.
  const normal = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    const a = loop[i] * 3,
      b = loop[(i + 1) % count] * 3;
    normal[0] += (p[a + 1] - p[b + 1]) * (p[a + 2] + p[b + 2]);
    normal[1] += (p[a + 2] - p[b + 2]) * (p[a] + p[b]);
    normal[2] += (p[a] - p[b]) * (p[a + 1] + p[b + 1]);
  }
  const size = normal.map(Math.abs);
  const drop = size[0] > size[1] ? (size[0] > size[2] ? 0 : 2) : size[1] > size[2] ? 1 : 2;
  const u = (drop + 1) % 3,
    v = (drop + 2) % 3;
  const flat: number[] = [];
  for (let i = 0; i < count; i++) flat.push(p[loop[i] * 3 + u], p[loop[i] * 3 + v]);
  const cut = earcut(flat, undefined, 2);
  const turned = normal[drop] < 0;
  if (cut.length === 0) {
    for (let i = 1; i + 1 < count; i++) out.push3(loop[0], loop[i], loop[i + 1]);
    return;
  }
  for (let i = 0; i < cut.length; i += 3) {
    // earcut's winding follows its own convention; compare with the flattened polygon's.
    const [a, b, c] = [cut[i], cut[i + 1], cut[i + 2]];
    const area =
      (flat[b * 2] - flat[a * 2]) * (flat[c * 2 + 1] - flat[a * 2 + 1]) -
      (flat[b * 2 + 1] - flat[a * 2 + 1]) * (flat[c * 2] - flat[a * 2]);
    if (area > 0 === !turned) out.push3(loop[a], loop[b], loop[c]);
    else out.push3(loop[a], loop[c], loop[b]);
  }
}
