/** A form with its long edges cut, so that none of its faces is much larger than what is made from them. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { roomFor } from './cell-map.ts';
import { cutFace, FaceList } from './footed-surface.ts';

/** More than there can be vertices. */
const KEYS = 2 ** 26;

/** The same body, its vertices first those of the form. */
export interface CutForm extends Mesh {
  /** Face of the form each face is part of. */
  readonly faceOf: Uint32Array;
  /** The parts of face f are those from firstPart[f] on, before firstPart[f + 1]. */
  readonly firstPart: Uint32Array;
}

/** Cut edges in the middle until none is longer than `longest` mm. O(faces made). */
export function cutLong(form: Mesh, longest: number): CutForm {
  let p = Float64Array.from(form.positions);
  let count = p.length / 3;
  const middles = new Map<number, number>();
  const near = (a: number, b: number): number => {
    const x = p[a * 3] - p[b * 3],
      y = p[a * 3 + 1] - p[b * 3 + 1],
      z = p[a * 3 + 2] - p[b * 3 + 2];
    return Math.sqrt(x * x + y * y + z * z);
  };
  const middleOf = (a: number, b: number): number => {
    if (near(a, b) <= longest) return -1;
    const key = a < b ? a * KEYS + b : b * KEYS + a;
    let middle = middles.get(key);
    if (middle === undefined) {
      middle = count++;
      middles.set(key, middle);
      p = roomFor(p, count * 3);
      for (let k = 0; k < 3; k++) p[middle * 3 + k] = (p[a * 3 + k] + p[b * 3 + k]) / 2;
    }
    return middle;
  };
  const t = form.triangles;
  const faces = new FaceList(2 * (t.length / 3));
  let faceOf: Uint32Array = new Uint32Array(2 * (t.length / 3));
  const firstPart = new Uint32Array(t.length / 3 + 1);
  let face = 0;
  const put = (a: number, b: number, c: number): void => {
    const ab = middleOf(a, b),
      bc = middleOf(b, c),
      ca = middleOf(c, a);
    if (Math.max(ab, bc, ca) >= 0) {
      cutFace({ t: Uint32Array.of(a, b, c), near }, 0, Int32Array.of(ab, bc, ca), put);
      return;
    }
    faceOf = roomFor(faceOf, faces.count + 1);
    faceOf[faces.count] = face;
    faces.put(a, b, c);
  };
  for (; face < t.length / 3; face++) {
    firstPart[face] = faces.count;
    put(t[face * 3], t[face * 3 + 1], t[face * 3 + 2]);
  }
  firstPart[face] = faces.count;
  return {
    positions: p.slice(0, count * 3),
    triangles: faces.triangles(),
    faceOf: faceOf.slice(0, faces.count),
    firstPart,
  };
}

/** The part of a face on which a point of it lies, or is nearest to lying, and its barycentric coordinates there. */
export function partAt({ positions: p, triangles: t, firstPart }: CutForm, face: number, at: PartPlace): void {
  let best = -Infinity;
  for (let part = firstPart[face]; part < firstPart[face + 1]; part++) {
    const a = t[part * 3] * 3,
      b = t[part * 3 + 1] * 3,
      c = t[part * 3 + 2] * 3;
    const ux = p[b] - p[a],
      uy = p[b + 1] - p[a + 1],
      uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a],
      vy = p[c + 1] - p[a + 1],
      vz = p[c + 2] - p[a + 2];
    const wx = at.x - p[a],
      wy = at.y - p[a + 1],
      wz = at.z - p[a + 2];
    const uu = ux * ux + uy * uy + uz * uz,
      uv = ux * vx + uy * vy + uz * vz,
      vv = vx * vx + vy * vy + vz * vz;
    const uw = ux * wx + uy * wy + uz * wz,
      vw = vx * wx + vy * wy + vz * wz;
    const det = uu * vv - uv * uv;
    const s = det > 0 ? (uw * vv - vw * uv) / det : 0,
      r = det > 0 ? (vw * uu - uw * uv) / det : 0;
    const inside = Math.min(s, r, 1 - s - r);
    if (inside <= best) continue;
    best = inside;
    at.part = part;
    at.s = s;
    at.r = r;
  }
}

/** A point of a face, and what `partAt` finds: the part, and the weights of its second and third corner. */
export interface PartPlace {
  x: number;
  y: number;
  z: number;
  part: number;
  s: number;
  r: number;
}
