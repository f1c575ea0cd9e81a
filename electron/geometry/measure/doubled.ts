/**
 * Whether a scan shows the body twice: a second sheet close to the first, as when the wearer moved between two rounds
 * of pictures. On a clean surface, whatever lies next before or behind a place looks the other way; where it looks the
 * same way, one sheet lies over another.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { boundsOf, faceNormals } from '../mesh/quantities.ts';
import { buildBvh, castRay, type RayHit } from '../spatial/bvh.ts';

export interface Doubled {
  /** Share of the places looked at that have a second sheet over or under them, 0 to 1. */
  readonly share: number;
  /** Middle distance between the sheets, mesh units; 0 when there are none. */
  readonly gap: number;
}

const PLACES = 800;
/** Nearer than this share of the diagonal the sheets are one, doubled by a reader or a seam; farther they are two things. */
const LEAST_GAP = 2 ** -10;
const MOST_GAP = 0.04;
/** Cosine from which two faces look the same way. */
const SAME_WAY = 0.7;
/** Double surfaces at fewer places than this are seams, hair or cloth. */
export const DOUBLED_SHARE = 0.08;

/** Faces above which only some are looked for, and what they meet counts as so many. */
const MOST_FACES = 120_000;

/** Looks at 800 places spread over the faces. The mesh may be open. O(n), and a search tree of at most 120,000 faces. */
export function doubledShare(mesh: Mesh, tick?: () => void): Doubled {
  const { positions: p, triangles: t } = mesh;
  const { min, max } = boundsOf(p);
  const diagonal = Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
  const normals = faceNormals(mesh);
  const faces = t.length / 3;
  const every = Math.ceil(faces / MOST_FACES);
  const some =
    every === 1
      ? t
      : Uint32Array.from(
          { length: Math.floor(faces / every) * 3 },
          (_, i) => t[Math.floor(i / 3) * 3 * every + (i % 3)],
        );
  const tree = buildBvh({ positions: p, triangles: some }, tick);
  const hit: RayHit = { face: -1, t: 0 };
  const gaps: number[] = [];
  const asked = Math.min(PLACES, faces);
  for (let k = 0; k < asked; k++) {
    if (k % 64 === 0) tick?.();
    const face = Math.floor((k / asked) * faces);
    const f = face * 3;
    const middle = [0, 1, 2].map((c) => (p[t[f] * 3 + c] + p[t[f + 1] * 3 + c] + p[t[f + 2] * 3 + c]) / 3);
    const [nx, ny, nz] = normals.subarray(f, f + 3);
    for (const way of [-1, 1]) {
      const [x, y, z] = middle;
      if (!castRay(tree, x, y, z, way * nx, way * ny, way * nz, hit, LEAST_GAP * diagonal, MOST_GAP * diagonal))
        continue;
      const other = hit.face * 3 * every;
      if (nx * normals[other] + ny * normals[other + 1] + nz * normals[other + 2] > SAME_WAY) {
        gaps.push(hit.t);
        break;
      }
    }
  }
  gaps.sort((a, b) => a - b);
  return {
    share: asked > 0 ? Math.min(1, (every * gaps.length) / asked) : 0,
    gap: gaps.length > 0 ? gaps[gaps.length >> 1] : 0,
  };
}
