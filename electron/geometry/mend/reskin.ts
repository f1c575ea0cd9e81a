/**
 * A new skin over what is too broken to mend: the surface on which the winding number is one half, by marching
 * tetrahedra (Doi and Koide 1991) on the cubes it passes through, six tetrahedra to a cube (Kuhn 1960).
 *
 * Each tetrahedron holds its own piece of the skin and neighbours agree about what they share, so the skin is closed,
 * manifold and free of self-intersection by construction, as long as its points stay inside their edges.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { findPieces } from '../mesh/pieces.ts';
import { boundsOf, diagonalOf } from '../mesh/quantities.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { buildBvh, castRay, findNearest, nearestSlot, type RayHit } from '../spatial/bvh.ts';
import { buildWinding, windingNumber, type WindingTree } from '../spatial/winding.ts';

/** Points keep this share of their edge away from its ends, so that no face loses its area. */
const END_SHARE = 0.03;
const HALVINGS = 5;
/** Cubes kept free on each side. */
const MARGIN = 3;
/** The lattice is set off by an odd share of a cube, so that flat sides of a body do not lie in it. */
const OFFSETS = [0.4142, 0.2679, 0.3819] as const;
/** Most cubes along the longest side: beyond, the memory of a fitting room's computer is at risk. */
const MOST_CUBES_ALONG = 600;
/** Points coloured between two steps. */
const COLOURED = 64;
/** Pieces with less volume than this many cubes are grit. */
const GRIT_CUBES = 30;
/**
 * The finest and the coarsest default resolution, as shares of the diagonal. At the finest a form from a
 * head's scan of 1M faces took 21 s and 1 GB, more than half for the skin (2 mm): both grow with the square of the fineness.
 */
const FINE_SHARE = 1 / 300;
const COARSE_SHARE = 1 / 80;

export const RESKIN_PHASE = 'reskin';

/** Faces of the tetrahedra, for each of the 16 ways their corners can lie in or out: lattice edges, three to a face. */
const TETRAHEDRA = [
  [1, 3],
  [1, 5],
  [2, 3],
  [2, 6],
  [4, 5],
  [4, 6],
].map(([first, second]) => {
  const corners = [0, first, second, 7];
  return Array.from({ length: 16 }, (_, inside) => facesOf(corners, inside));
});
const CORNERS = [
  [0, 1, 3, 7],
  [0, 1, 5, 7],
  [0, 2, 3, 7],
  [0, 2, 6, 7],
  [0, 4, 5, 7],
  [0, 4, 6, 7],
];

/** Each point as low corner * 8 + high corner of a cube edge. */
function facesOf(corners: readonly number[], inside: number): number[] {
  const within = corners.filter((_, i) => (inside >> i) & 1);
  const without = corners.filter((_, i) => !((inside >> i) & 1));
  const edge = (a: number, b: number): number => Math.min(a, b) * 8 + Math.max(a, b);
  let ring: number[];
  if (within.length === 1) ring = without.map((c) => edge(within[0], c));
  else if (within.length === 3) ring = within.map((c) => edge(without[0], c));
  else if (within.length === 2)
    ring = [
      edge(within[0], without[0]),
      edge(within[0], without[1]),
      edge(within[1], without[1]),
      edge(within[1], without[0]),
    ];
  else return [];
  const at = (e: number): number[] => [0, 1, 2].map((k) => ((((e >> 3) >> k) & 1) + ((e >> k) & 1)) / 2);
  const [a, b, c] = ring.slice(0, 3).map(at);
  const u = a.map((x, k) => b[k] - x),
    v = a.map((x, k) => c[k] - x);
  const n = [0, 1, 2].map((k) => u[(k + 1) % 3] * v[(k + 2) % 3] - u[(k + 2) % 3] * v[(k + 1) % 3]);
  const way = [0, 1, 2].reduce((s, k) => s + n[k] * (((without[0] >> k) & 1) - ((within[0] >> k) & 1)), 0);
  if (way < 0) ring.reverse();
  return ring.length === 3 ? ring : [ring[0], ring[1], ring[2], ring[0], ring[2], ring[3]];
}

/** Length from one vertex to another, given by their first coordinates. */
function lengthOf(p: Float64Array, a: number, b: number): number {
  return Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
}

/** Mean length of the faces' first edges. */
export function meanEdge(mesh: Mesh): number {
  const { positions: p, triangles: t } = mesh;
  let sum = 0;
  for (let f = 0; f < t.length; f += 3) {
    sum += lengthOf(p, t[f] * 3, t[f + 1] * 3);
  }
  return t.length > 0 ? sum / (t.length / 3) : 0;
}

/** Cubes as long as the edges would cut half an edge off each ridge. */
const EDGE_SHARE = 0.7;

/**
 * A resolution that suits a mesh: 0.7 of its mean edge, but no finer than 1/300 and no coarser than 1/80 of its
 * diagonal.
 */
export function reskinResolution(mesh: Mesh): number {
  const diagonal = diagonalOf(mesh.positions);
  return Math.min(diagonal * COARSE_SHARE, Math.max(diagonal * FINE_SHARE, EDGE_SHARE * meanEdge(mesh)));
}

/**
 * The skin of a mesh at a resolution (mesh units: the cube's edge), rounded to single precision. Its points lie on the
 * mesh where there is one, else on the half-way surface across a hole; between them it cuts corners by up to half a
 * cube. Faces of the mesh must mostly face outward. `largest` keeps the piece that encloses most, `all` every one
 * that encloses something. May be empty: a lone sheet encloses nothing. Colours are those of the nearest old corner.
 * O(surface / resolution^2 * log n). Details finer than the resolution are lost.
 */
export function reskin(mesh: Mesh, resolution: number, keep: 'largest' | 'all', run: RunContext = QUIET_RUN): Mesh {
  const tick = (): void => run.step(RESKIN_PHASE, 0, 1);
  const tree = buildWinding(mesh, buildBvh(mesh, tick), tick);
  const lattice = new Lattice(mesh, tree, resolution, run);
  const skin = keepPieces(lattice.skin(mesh), lattice.cube ** 3 * GRIT_CUBES, keep);
  return mesh.colours === undefined ? skin : { ...skin, colours: coloursFrom(mesh, tree, skin, run) };
}

class Lattice {
  readonly cube: number;
  readonly #mesh: Mesh;
  readonly #tree: WindingTree;
  readonly #origin: number[];
  readonly #nx: number;
  readonly #nxy: number;
  readonly #inside = new Map<number, boolean>();
  readonly #points = new Map<number, number>();
  readonly #positions: number[] = [];
  readonly #run: RunContext;
  readonly #hit: RayHit = { face: -1, t: 0 };

  constructor(mesh: Mesh, tree: WindingTree, resolution: number, run: RunContext) {
    const { min, max } = boundsOf(mesh.positions);
    const longest = Math.max(...max.map((x, k) => x - min[k]));
    this.cube = Math.max(resolution, longest / MOST_CUBES_ALONG);
    this.#mesh = mesh;
    this.#tree = tree;
    this.#run = run;
    this.#origin = min.map((x, k) => x - (MARGIN + OFFSETS[k]) * this.cube);
    const [nx, ny] = max.map((x, k) => Math.ceil((x - min[k]) / this.cube) + 2 * MARGIN + 2);
    this.#nx = nx;
    this.#nxy = nx * ny;
  }

  #coordinates(point: number): [number, number, number] {
    const k = Math.floor(point / this.#nxy);
    const j = Math.floor((point - k * this.#nxy) / this.#nx);
    const i = point - k * this.#nxy - j * this.#nx;
    return [this.#origin[0] + i * this.cube, this.#origin[1] + j * this.cube, this.#origin[2] + k * this.cube];
  }

  #corner(cell: number, corner: number): number {
    return cell + (corner & 1) + ((corner >> 1) & 1) * this.#nx + (corner >> 2) * this.#nxy;
  }

  #isInside(point: number): boolean {
    let known = this.#inside.get(point);
    if (known === undefined) {
      const [x, y, z] = this.#coordinates(point);
      known = windingNumber(this.#tree, x, y, z) > 0.5;
      this.#inside.set(point, known);
    }
    return known;
  }

  /** Follow the skin from the cubes that hold faces. */
  skin(mesh: Mesh): Mesh {
    const triangles: number[] = [];
    const queue = this.#seeds(mesh);
    const known = new Set(queue);
    const inside = new Array<boolean>(8);
    for (let n = 0; n < queue.length; n++) {
      if ((n & 63) === 0) this.#run.step(RESKIN_PHASE, n, queue.length * 1.25);
      const cell = queue[n];
      let count = 0;
      for (let c = 0; c < 8; c++) if ((inside[c] = this.#isInside(this.#corner(cell, c)))) count++;
      if (count === 0 || count === 8) continue;
      for (let tetrahedron = 0; tetrahedron < 6; tetrahedron++) {
        let which = 0;
        for (let i = 0; i < 4; i++) if (inside[CORNERS[tetrahedron][i]]) which |= 1 << i;
        for (const edge of TETRAHEDRA[tetrahedron][which]) triangles.push(this.#point(cell, edge));
      }
      for (let axis = 0; axis < 3; axis++) {
        for (const side of [0, 1]) {
          const face = [0, 1, 2, 3, 4, 5, 6, 7].filter((c) => ((c >> axis) & 1) === side);
          const ins = face.filter((c) => inside[c]).length;
          if (ins === 0 || ins === 4) continue;
          const next = cell + (side === 0 ? -1 : 1) * (axis === 0 ? 1 : axis === 1 ? this.#nx : this.#nxy);
          if (!known.has(next)) {
            known.add(next);
            queue.push(next);
          }
        }
      }
    }
    return roundToSingle({ positions: Float64Array.from(this.#positions), triangles: Uint32Array.from(triangles) });
  }

  /** Cubes that hold points of the faces, a cube's edge or less apart. */
  #seeds(mesh: Mesh): number[] {
    const { positions: p, triangles: t } = mesh;
    const cells = new Set<number>();
    const o = this.#origin;
    const known = new Uint8Array(p.length / 3);
    const add = (x: number, y: number, z: number): void => {
      const [i, j, k] = [x - o[0], y - o[1], z - o[2]];
      cells.add(
        Math.floor(i / this.cube) + Math.floor(j / this.cube) * this.#nx + Math.floor(k / this.cube) * this.#nxy,
      );
    };
    for (let f = 0; f < t.length; f += 3) {
      if ((f & 0xfff) === 0) this.#run.step(RESKIN_PHASE, 0, 1);
      const [a, b, c] = [t[f] * 3, t[f + 1] * 3, t[f + 2] * 3];
      const longest = Math.max(lengthOf(p, a, b), lengthOf(p, b, c), lengthOf(p, c, a));
      const n = Math.max(1, Math.ceil(longest / this.cube));
      if (n === 1) {
        for (const v of [c, b, a]) {
          if (known[v / 3] === 0) add(p[v], p[v + 1], p[v + 2]);
          known[v / 3] = 1;
        }
        continue;
      }
      for (let i = 0; i <= n; i++) {
        for (let j = 0; i + j <= n; j++) {
          const [u, v, w] = [i / n, j / n, (n - i - j) / n];
          add(
            u * p[a] + v * p[b] + w * p[c],
            u * p[a + 1] + v * p[b + 1] + w * p[c + 1],
            u * p[a + 2] + v * p[b + 2] + w * p[c + 2],
          );
        }
      }
    }
    return [...cells];
  }

  /** Where the skin crosses a lattice edge: on the mesh where it crosses there, else where the winding number turns. */
  #point(cell: number, edge: number): number {
    const low = this.#corner(cell, edge >> 3),
      high = this.#corner(cell, edge & 7);
    const key = low * 8 + ((edge >> 3) ^ (edge & 7));
    const known = this.#points.get(key);
    if (known !== undefined) return known;
    const a = this.#coordinates(low),
      b = this.#coordinates(high);
    const d = a.map((x, k) => b[k] - x);
    const from = this.#isInside(low);
    let t = this.#onlyCrossing(a, d, from);
    if (t === undefined) {
      let [s, e] = [0, 1];
      for (let i = 0; i < HALVINGS; i++) {
        const m = (s + e) / 2;
        if (windingNumber(this.#tree, a[0] + m * d[0], a[1] + m * d[1], a[2] + m * d[2]) > 0.5 === from) s = m;
        else e = m;
      }
      const met = castRay(this.#tree.bvh, a[0], a[1], a[2], d[0], d[1], d[2], this.#hit, s, e);
      t = met ? this.#hit.t : (s + e) / 2;
    }
    const m = Math.min(1 - END_SHARE, Math.max(END_SHARE, t));
    const point = this.#positions.length / 3;
    this.#positions.push(a[0] + m * d[0], a[1] + m * d[1], a[2] + m * d[2]);
    this.#points.set(key, point);
    return point;
  }

  /** Where the mesh crosses a lattice edge, if it does so once and the way that leads out, or in. */
  #onlyCrossing(a: readonly number[], d: readonly number[], isOut: boolean): number | undefined {
    const { bvh } = this.#tree;
    const hit = this.#hit;
    if (!castRay(bvh, a[0], a[1], a[2], d[0], d[1], d[2], hit, 0, 1)) return undefined;
    const { face, t } = hit;
    if (castRay(bvh, a[0], a[1], a[2], d[0], d[1], d[2], hit, t, 1)) return undefined;
    faceCross(this.#mesh.positions, this.#mesh.triangles, face * 3);
    const along = d[0] * faceCrossOut[0] + d[1] * faceCrossOut[1] + d[2] * faceCrossOut[2];
    return along > 0 === isOut ? t : undefined;
  }
}

function keepPieces(skin: Mesh, grit: number, keep: 'largest' | 'all'): Mesh {
  const { positions: p, triangles: t } = skin;
  const { pieceOfFace, count } = findPieces(t, p.length / 3);
  if (count === 0) return skin;
  const volumes = new Float64Array(count);
  // About a corner of the mesh, not the origin: far from it the digits would be lost.
  const [ox, oy, oz] = [p[0], p[1], p[2]];
  for (let f = 0; f < t.length; f += 3) {
    const [a, b, c] = [t[f] * 3, t[f + 1] * 3, t[f + 2] * 3];
    const bx = p[b] - ox,
      by = p[b + 1] - oy,
      bz = p[b + 2] - oz,
      cx = p[c] - ox,
      cy = p[c + 1] - oy,
      cz = p[c + 2] - oz;
    volumes[pieceOfFace[f / 3]] +=
      ((p[a] - ox) * (by * cz - bz * cy) +
        (p[a + 1] - oy) * (bz * cx - bx * cz) +
        (p[a + 2] - oz) * (bx * cy - by * cx)) /
      6;
  }
  const most = volumes.reduce((best, volume, i) => (volume > volumes[best] ? i : best), 0);
  const kept = Array.from(volumes, (volume, i) => i === most || (keep === 'all' && Math.abs(volume) > grit));
  return keepFaces(
    skin,
    Uint8Array.from(pieceOfFace, (piece) => (kept[piece] ? 1 : 0)),
  );
}

function coloursFrom(mesh: Mesh, tree: WindingTree, skin: Mesh, run: RunContext): Uint8Array {
  const old = mesh.colours as Uint8Array;
  const { positions: p } = mesh;
  const q = skin.positions;
  const colours = new Uint8Array(q.length);
  const slot = nearestSlot();
  for (let i = 0; i < q.length; i += 3) {
    if (i % (3 * COLOURED) === 0) run.step(RESKIN_PHASE, 4 + i / q.length, 5);
    if (!findNearest(tree.bvh, q[i], q[i + 1], q[i + 2], slot)) continue;
    let best = 0;
    let bestDistance = Infinity;
    for (let k = 0; k < 3; k++) {
      const v = mesh.triangles[slot.face * 3 + k];
      const distance = Math.hypot(p[v * 3] - q[i], p[v * 3 + 1] - q[i + 1], p[v * 3 + 2] - q[i + 2]);
      if (distance >= bestDistance) continue;
      bestDistance = distance;
      best = v;
    }
    colours.set(old.subarray(best * 3, best * 3 + 3), i);
  }
  return colours;
}
