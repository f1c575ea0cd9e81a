/**
 * How a level surface passes through a cube, for each of the 256 patterns of corners inside and outside: which of
 * the cut edges belong to the same patch. On a face with diagonal signs the outside corners are cut off and the
 * inside is connected; both cubes at the face see it the same way, so patches always meet edge to edge (the dual of
 * Lorensen and Cline's cubes; Nielson 2004, "Dual marching cubes").
 *
 * Corner n has x = n & 1, y = n >> 1 & 1, z = n >> 2; bit n of a pattern is set when the corner is inside. Edges
 * 0..3 run along x, 4..7 along y, 8..11 along z.
 */

/** Low corner of each edge. */
export const EDGE_CORNER = Uint8Array.of(0, 2, 4, 6, 0, 1, 4, 5, 0, 1, 2, 3);

/** Edge between two corners, index low * 8 + high. */
export const EDGE_BETWEEN = new Int8Array(64).fill(-1);
for (let edge = 0; edge < 12; edge++) {
  const low = EDGE_CORNER[edge];
  EDGE_BETWEEN[low * 8 + low + (1 << (edge >> 2))] = edge;
}

function edgeOf(a: number, b: number): number {
  return EDGE_BETWEEN[a < b ? a * 8 + b : b * 8 + a];
}

/** Corners of the six faces, in order round; face 2·axis lies at the low side of the axis. */
export const FACE_CORNERS: readonly (readonly [number, number, number, number])[] = [
  [0, 2, 6, 4],
  [1, 3, 7, 5],
  [0, 1, 5, 4],
  [2, 3, 7, 6],
  [0, 1, 3, 2],
  [4, 5, 7, 6],
];

/** Patch of each edge, index pattern * 12 + edge; -1 where the edge is not cut. */
export const PATCH_OF_EDGE = new Int8Array(256 * 12).fill(-1);
export const PATCH_COUNT = new Uint8Array(256);
/** Per pattern 1 where a face is cut four times. */
export const HAS_DOUBLE_FACE = new Uint8Array(256);

for (let pattern = 0; pattern < 256; pattern++) {
  const inside = (corner: number): boolean => ((pattern >> corner) & 1) === 1;
  const root = Array.from({ length: 12 }, (_, edge) => edge);
  const find = (edge: number): number => (root[edge] === edge ? edge : find(root[edge]));
  for (const ring of FACE_CORNERS) {
    const cut = [0, 1, 2, 3].filter((k) => inside(ring[k]) !== inside(ring[(k + 1) % 4]));
    if (cut.length === 2) {
      root[find(edgeOf(ring[cut[0]], ring[(cut[0] + 1) % 4]))] = find(edgeOf(ring[cut[1]], ring[(cut[1] + 1) % 4]));
    } else if (cut.length === 4) {
      HAS_DOUBLE_FACE[pattern] = 1;
      for (let k = 0; k < 4; k++) {
        if (inside(ring[k])) continue;
        root[find(edgeOf(ring[k], ring[(k + 1) % 4]))] = find(edgeOf(ring[k], ring[(k + 3) % 4]));
      }
    }
  }
  const number = new Map<number, number>();
  for (let edge = 0; edge < 12; edge++) {
    const low = EDGE_CORNER[edge];
    if (inside(low) === inside(low + (1 << (edge >> 2)))) continue;
    const r = find(edge);
    if (!number.has(r)) number.set(r, number.size);
    PATCH_OF_EDGE[pattern * 12 + edge] = number.get(r) as number;
  }
  PATCH_COUNT[pattern] = number.size;
}
