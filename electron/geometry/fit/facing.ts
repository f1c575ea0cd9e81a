/** Which faces of a part look at the body: its inner side, as the body sees it. */
import type { Matrix4, Mesh } from '../../../shared-types/mesh.ts';
import { invert } from '../mesh/transform.ts';
import type { SignedField } from '../offset/signed-field.ts';
import { castRay, type Bvh, type RayHit } from '../spatial/bvh.ts';

/** The ray leaves its own face behind, as a share of its length. */
const OFF_FACE = 2 ** -20;
/** And ends before the body, so that a part that touches it is not hidden by touching. */
const AT_BODY = 1 - 2 ** -20;
const STRIDE = 255;

/**
 * For each face 1 where the straight way from its middle to the nearest point of the body is free of the part itself,
 * else 0: the outer side of a wall is hidden behind the inner one. Works on single sheets and double walls alike, and
 * does not ask which way faces run. `tree` is over the part in its own coordinates, `placement` leads to the body's.
 * O(faces · log faces).
 */
export function facingBody(
  part: Mesh,
  tree: Bvh,
  placement: Matrix4,
  body: SignedField,
  tick: (done: number, total: number) => void,
): Uint8Array {
  const { positions: p, triangles: t } = part;
  const faces = t.length / 3;
  const facing = new Uint8Array(faces);
  const back = invert(placement);
  const m = placement;
  const hit: RayHit = { face: -1, t: 0 };
  for (let f = 0; f < faces; f++) {
    if ((f & STRIDE) === 0) tick(f, faces);
    const [a, b, c] = [t[f * 3] * 3, t[f * 3 + 1] * 3, t[f * 3 + 2] * 3];
    const x = (p[a] + p[b] + p[c]) / 3,
      y = (p[a + 1] + p[b + 1] + p[c + 1]) / 3,
      z = (p[a + 2] + p[b + 2] + p[c + 2]) / 3;
    body.at(
      m[0] * x + m[1] * y + m[2] * z + m[3],
      m[4] * x + m[5] * y + m[6] * z + m[7],
      m[8] * x + m[9] * y + m[10] * z + m[11],
    );
    const dx = back[0] * body.x + back[1] * body.y + back[2] * body.z + back[3] - x,
      dy = back[4] * body.x + back[5] * body.y + back[6] * body.z + back[7] - y,
      dz = back[8] * body.x + back[9] * body.y + back[10] * body.z + back[11] - z;
    if (!castRay(tree, x, y, z, dx, dy, dz, hit, OFF_FACE, AT_BODY)) facing[f] = 1;
  }
  return facing;
}
