/**
 * A part made ready to be tried on: doubled vertices joined, faces that are none dropped, faces turned alike, and
 * nothing else. A part is meant to be open and thin: no hole is closed and no wall thickened.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { findHoleLoops } from '../mend/hole-loops.ts';
import { makeManifold } from '../mend/manifold.ts';
import { dropBadFaces, weldCracks, weldEqual } from '../mend/weld.ts';
import { faceNormals, volumeOf } from '../mesh/quantities.ts';
import { findTwins } from '../mesh/twins.ts';
import { buildBvh, castRay, type RayHit } from '../spatial/bvh.ts';

export interface PartReport {
  readonly weldedVertices: number;
  readonly closedCracks: number;
  readonly droppedFaces: number;
  readonly turnedFaces: number;
  readonly pieces: number;
  /** One sheet without a wall, or a body closed all round. */
  readonly kind: 'sheet' | 'closed';
  /** Borders of the sheet, longest first; the openings of a closed part are no borders. */
  readonly borders: readonly { readonly lengthMm: number; readonly middle: Vec3 }[];
}

const STRIDE = 255;

/**
 * Mend a part without closing or thickening it. Lengths are in the mesh's own unit, which need not be mm yet. A closed
 * part that is inside out is turned. Not proven free of self-intersection. O(n log n).
 */
export function preparePart(mesh: Mesh, tick: () => void): { readonly mesh: Mesh; readonly report: PartReport } {
  const equal = weldEqual(mesh);
  tick();
  const clean = dropBadFaces(equal.mesh);
  tick();
  const cracks = weldCracks(clean.mesh);
  const joined = dropBadFaces(cracks.mesh);
  tick();
  const oriented = makeManifold(joined.mesh);
  tick();
  const vertexCount = oriented.mesh.positions.length / 3;
  const { twin, openEdges } = findTwins(oriented.mesh.triangles, vertexCount);
  const closed = openEdges === 0;
  const loops = closed ? [] : findHoleLoops(oriented.mesh.triangles, twin, vertexCount);
  const ready = closed && volumeOf(oriented.mesh) < 0 ? turnedOver(oriented.mesh) : oriented.mesh;
  return {
    mesh: ready,
    report: {
      weldedVertices: equal.welded,
      closedCracks: cracks.welded,
      droppedFaces: clean.degenerate + clean.duplicate + joined.degenerate + joined.duplicate,
      turnedFaces: oriented.turnedFaces,
      pieces: oriented.pieces,
      kind: closed ? 'closed' : 'sheet',
      borders: loops.map((loop) => borderOf(ready, loop)).sort((a, b) => b.lengthMm - a.lengthMm),
    },
  };
}

function turnedOver(mesh: Mesh): Mesh {
  const triangles = mesh.triangles.slice();
  for (let f = 0; f < triangles.length; f += 3) {
    [triangles[f], triangles[f + 1]] = [triangles[f + 1], triangles[f]];
  }
  return { ...mesh, triangles };
}

/** Length and middle of a closed run of vertices. */
function borderOf({ positions: p }: Mesh, loop: Uint32Array): { lengthMm: number; middle: Vec3 } {
  let lengthMm = 0;
  const middle: [number, number, number] = [0, 0, 0];
  loop.forEach((v, i) => {
    const a = 3 * v,
      b = 3 * loop[(i + 1) % loop.length];
    const length = Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
    lengthMm += length;
    for (let k = 0; k < 3; k++) middle[k] += (length * (p[a + k] + p[b + k])) / 2;
  });
  return { lengthMm, middle: [middle[0] / lengthMm, middle[1] / lengthMm, middle[2] / lengthMm] };
}

export interface Wall {
  readonly leastMm: number;
  readonly usualMm: number;
  readonly mostMm: number;
  /** Where it is thinnest. */
  readonly at: Vec3;
  readonly samples: number;
}

/** A ray straight into the wall leaves its own face behind, as a share of the part's size; small against any wall. */
const OFF_FACE_SHARE = 2 ** -24;
/** The other side of a wall looks the other way: cosine between the two at most this. */
const OPPOSITE = -0.5;

/**
 * Thickness of a closed part's wall: straight in from the middle of each face to the other side, where that is about
 * parallel; so edges and corners are left out. `usualMm` is the median by face. Undefined where no face has another
 * opposite. O(faces · log faces).
 */
export function wallOf(mesh: Mesh, tick: (share: number) => void): Wall | undefined {
  const { positions: p, triangles: t } = mesh;
  const tree = buildBvh(mesh, () => tick(0));
  const normals = faceNormals(mesh);
  const hit: RayHit = { face: -1, t: 0 };
  const found: { thick: number; face: number }[] = [];
  const size = tree.bounds[3] - tree.bounds[0] + tree.bounds[4] - tree.bounds[1] + tree.bounds[5] - tree.bounds[2];
  const middle = (f: number): [number, number, number] =>
    [0, 1, 2].map((k) => (p[3 * t[f] + k] + p[3 * t[f + 1] + k] + p[3 * t[f + 2] + k]) / 3) as [number, number, number];
  for (let f = 0; f < t.length; f += 3) {
    if ((f & STRIDE) === 0) tick(f / t.length);
    const [x, y, z] = middle(f);
    if (!castRay(tree, x, y, z, -normals[f], -normals[f + 1], -normals[f + 2], hit, size * OFF_FACE_SHARE)) continue;
    const h = 3 * hit.face;
    const cosine = normals[f] * normals[h] + normals[f + 1] * normals[h + 1] + normals[f + 2] * normals[h + 2];
    if (cosine <= OPPOSITE) found.push({ thick: hit.t, face: f });
  }
  if (found.length === 0) return undefined;
  found.sort((a, b) => a.thick - b.thick);
  return {
    leastMm: found[0].thick,
    usualMm: found[found.length >> 1].thick,
    mostMm: found[found.length - 1].thick,
    at: middle(found[0].face),
    samples: found.length,
  };
}
