/** The side of a finished liner that the foam lies against, and how far it stands off the form. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { faceNormals } from '../mesh/quantities.ts';
import type { SignedField } from './signed-field.ts';

/** A face belongs to that side where its normal and the way to the form make less than about 70 degrees, either way round. */
const LEAST_COSINE = 1 / 3;
/** So near to its level a place is on the liner's side and not on its rim, mm: a rim's faces reach from side to side. */
const ON_LEVEL_MM = 0.3;
const STRIDE = 255;

export interface InnerSide {
  /** 1 for each vertex of a face of that side. */
  readonly isInner: Uint8Array;
  /** Distance of these vertices from the form, mm, NaN at all others (rims, and a wall's outside). */
  readonly perVertexMm: Float32Array<ArrayBuffer>;
}

/**
 * Find the inner side of a liner, in the form's own frame: of a shell (`hasWall`) the faces that look at the form, of a
 * padded body those that look away from it. Where hollows are bridged or a way in is cleared the side may look elsewhere:
 * there `made`, the field the liner was made from, tells it by its level, `foamMm`. O(faces log n).
 */
export function innerSide(
  field: SignedField,
  liner: Mesh,
  hasWall: boolean,
  tick: () => void,
  made?: { readonly field: SignedField; readonly foamMm: number },
): InnerSide {
  const { positions: p, triangles: t } = liner;
  const normals = faceNormals(liner);
  const isInner = new Uint8Array(p.length / 3);
  for (let h = 0; h < t.length; h += 3) {
    if (((h / 3) & STRIDE) === 0) tick();
    const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
    const middle = [0, 1, 2].map((k) => (p[a + k] + p[b + k] + p[c + k]) / 3);
    const distance = field.formAt(middle[0], middle[1], middle[2]);
    if (!(distance > 0)) continue;
    const away =
      (middle[0] - field.x) * normals[h] +
      (middle[1] - field.y) * normals[h + 1] +
      (middle[2] - field.z) * normals[h + 2];
    const looksSo = (hasWall ? -away : away) >= LEAST_COSINE * distance;
    if (!looksSo && !isOnLevel(made, distance, middle)) continue;
    for (let k = 0; k < 3; k++) isInner[t[h + k]] = 1;
  }
  const perVertexMm = new Float32Array(isInner.length).fill(NaN);
  for (let v = 0; v < isInner.length; v++) {
    if ((v & STRIDE) === 0) tick();
    if (isInner[v] === 1) perVertexMm[v] = field.formAt(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
  }
  return { isInner, perVertexMm };
}

/** Whether a place stands off the form farther than its foam, and on the level of the liner all the same. */
function isOnLevel(
  made: { readonly field: SignedField; readonly foamMm: number } | undefined,
  distance: number,
  [x, y, z]: readonly number[],
): boolean {
  if (made === undefined || distance < made.foamMm + ON_LEVEL_MM) return false;
  return Math.abs(made.field.at(x, y, z) - made.foamMm) < ON_LEVEL_MM;
}
