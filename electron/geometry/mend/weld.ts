/**
 * Joining what a scan shows twice: vertices that are equal (texture seams), and borders that run side by side
 * (cracks). Distances are relative to the local edge length, because a scan has no unit yet.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { dropUnusedVertices } from '../mesh/compact.ts';
import { PositionTable } from '../mesh/position-table.ts';
import { vertexNormals } from '../mesh/quantities.ts';
import { findTwins, nextHalfedge, OPEN } from '../mesh/twins.ts';

/** A gap is a crack when it is narrower than this share of the edges beside it. */
const CRACK_SHARES = [0.2, 0.45, 0.7] as const;
/** Borders of one surface look the same way; the two sides of a thin wall do not. */
const SAME_SIDE_COSINE = 0.3;

/** `target[v]` is the vertex v becomes; positions of the targets are those of `positions`. */
function relabel(mesh: Mesh, target: Uint32Array, positions: Float64Array): Mesh {
  const triangles = new Uint32Array(mesh.triangles.length);
  let at = 0;
  for (let f = 0; f < triangles.length; f += 3) {
    const a = target[mesh.triangles[f]],
      b = target[mesh.triangles[f + 1]],
      c = target[mesh.triangles[f + 2]];
    if (a === b || b === c || c === a) continue;
    triangles[at++] = a;
    triangles[at++] = b;
    triangles[at++] = c;
  }
  return dropUnusedVertices({ ...mesh, positions, triangles: triangles.slice(0, at) });
}

/** One vertex for all with equal coordinates (0 and -0 alike). O(vertices). */
export function weldEqual(mesh: Mesh): { mesh: Mesh; welded: number } {
  const p = mesh.positions;
  const count = p.length / 3;
  const table = new PositionTable(count);
  const first = new Uint32Array(count);
  const target = new Uint32Array(count);
  for (let v = 0; v < count; v++) {
    const known = table.count;
    const entry = table.add(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    if (entry === known) first[entry] = v;
    target[v] = first[entry];
  }
  const welded = count - table.count;
  return welded === 0 ? { mesh, welded } : { mesh: relabel(mesh, target, p), welded };
}

/** Border vertices, less one, between two calls of `tick`. */
const CRACK_STRIDE = 2 ** 10 - 1;

interface Border {
  /** Vertices on a border. */
  readonly vertices: number[];
  /** Mean length of the faces' edges at each border vertex, else 0. */
  readonly edgeLength: Float64Array;
  /** Border neighbours of each border vertex, flattened: two slots each is enough after welding equal ones. */
  readonly neighbours: Map<number, Set<number>>;
}

function findBorder(mesh: Mesh, tick?: () => void): Border {
  const { positions: p, triangles: t } = mesh;
  const count = p.length / 3;
  const { twin } = findTwins(t, count);
  const onBorder = new Uint8Array(count);
  for (let h = 0; h < twin.length; h++) {
    if (twin[h] !== OPEN) continue;
    onBorder[t[h]] = 1;
    onBorder[t[nextHalfedge(h)]] = 1;
  }
  tick?.();
  const edgeLength = new Float64Array(count);
  const edges = new Uint16Array(count);
  const neighbours = new Map<number, Set<number>>();
  for (let h = 0; h < t.length; h++) {
    const a = t[h],
      b = t[nextHalfedge(h)];
    if (onBorder[a] === 0 && onBorder[b] === 0) continue;
    const length = Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);
    for (const [v, w] of [
      [a, b],
      [b, a],
    ] as const) {
      if (onBorder[v] === 0) continue;
      edgeLength[v] += length;
      edges[v]++;
      let set = neighbours.get(v);
      if (set === undefined) neighbours.set(v, (set = new Set()));
      set.add(w);
    }
  }
  const vertices: number[] = [];
  for (let v = 0; v < count; v++) {
    if (onBorder[v] === 0) continue;
    vertices.push(v);
    edgeLength[v] /= edges[v];
  }
  return { vertices, edgeLength, neighbours };
}

/**
 * Shut the cracks: border vertices that are each other's nearest across a gap narrower than a share of the local edge
 * length, and look the same way, become one at their middle. Never joins the two ends of an edge, nor opposite
 * sides of a thin wall. Wider gaps stay for the hole filler. O(faces). `tick` is called now and then.
 */
export function weldCracks(mesh: Mesh, tick?: () => void): { mesh: Mesh; welded: number; movedMax: number } {
  let result = mesh;
  let welded = 0;
  let movedMax = 0;
  for (const share of CRACK_SHARES) {
    tick?.();
    const round = weldRound(result, share, tick);
    result = round.mesh;
    welded += round.welded;
    movedMax = Math.max(movedMax, round.movedMax);
  }
  return { mesh: result, welded, movedMax };
}

/** The faces at these vertices only; vertices as they are. */
function facesAt(mesh: Mesh, vertices: readonly number[]): Mesh {
  const { triangles: t } = mesh;
  const wanted = new Uint8Array(mesh.positions.length / 3);
  for (const v of vertices) wanted[v] = 1;
  const faces: number[] = [];
  for (let f = 0; f < t.length; f += 3)
    if (wanted[t[f]] | wanted[t[f + 1]] | wanted[t[f + 2]]) faces.push(t[f], t[f + 1], t[f + 2]);
  return { positions: mesh.positions, triangles: Uint32Array.from(faces) };
}

function weldRound(mesh: Mesh, share: number, tick?: () => void): { mesh: Mesh; welded: number; movedMax: number } {
  const p = mesh.positions;
  const { vertices, edgeLength, neighbours } = findBorder(mesh, tick);
  tick?.();
  if (vertices.length === 0) return { mesh, welded: 0, movedMax: 0 };
  const normals = vertexNormals(facesAt(mesh, vertices));
  const sorted = vertices.map((v) => edgeLength[v]).sort((a, b) => a - b);
  const cell = Math.max(sorted[Math.floor(sorted.length * 0.9)] * share, Number.MIN_VALUE);
  const grid = new Map<string, number[]>();
  const cellOf = (v: number, k: number): number => Math.floor(p[v * 3 + k] / cell);
  for (const v of vertices) {
    const key = `${cellOf(v, 0)},${cellOf(v, 1)},${cellOf(v, 2)}`;
    const list = grid.get(key);
    if (list === undefined) grid.set(key, [v]);
    else list.push(v);
  }
  const nearest = new Map<number, number>();
  for (const [n, v] of vertices.entries()) {
    if ((n & CRACK_STRIDE) === 0) tick?.();
    let best = -1;
    let bestDistance = Infinity;
    const [x, y, z] = [cellOf(v, 0), cellOf(v, 1), cellOf(v, 2)];
    for (let dx = -1; dx <= 1; dx++) {
      for (let dy = -1; dy <= 1; dy++) {
        for (let dz = -1; dz <= 1; dz++) {
          for (const w of grid.get(`${x + dx},${y + dy},${z + dz}`) ?? []) {
            if (w === v || neighbours.get(v)?.has(w) === true) continue;
            const d = Math.hypot(p[v * 3] - p[w * 3], p[v * 3 + 1] - p[w * 3 + 1], p[v * 3 + 2] - p[w * 3 + 2]);
            if (d >= bestDistance || d > share * Math.min(edgeLength[v], edgeLength[w])) continue;
            const cosine =
              normals[v * 3] * normals[w * 3] +
              normals[v * 3 + 1] * normals[w * 3 + 1] +
              normals[v * 3 + 2] * normals[w * 3 + 2];
            if (Math.abs(cosine) < SAME_SIDE_COSINE) continue;
            best = w;
            bestDistance = d;
          }
        }
      }
    }
    if (best >= 0) nearest.set(v, best);
  }
  tick?.();
  const target = Uint32Array.from({ length: p.length / 3 }, (_, v) => v);
  const positions = p.slice();
  let welded = 0;
  let movedMax = 0;
  for (const [v, w] of nearest) {
    if (v > w || nearest.get(w) !== v) continue;
    target[w] = v;
    welded++;
    let gap = 0;
    for (let k = 0; k < 3; k++) {
      gap += (p[v * 3 + k] - p[w * 3 + k]) ** 2;
      positions[v * 3 + k] = (p[v * 3 + k] + p[w * 3 + k]) / 2;
    }
    movedMax = Math.max(movedMax, Math.sqrt(gap) / 2);
  }
  return welded === 0 ? { mesh, welded, movedMax } : { mesh: relabel(mesh, target, positions), welded, movedMax };
}

/**
 * Drop faces that are none: two corners alike, no area beyond rounding, or the same three corners as another face.
 * O(faces).
 */
export function dropBadFaces(mesh: Mesh): { mesh: Mesh; degenerate: number; duplicate: number } {
  const { positions: p, triangles: t } = mesh;
  const count = p.length / 3;
  const keep = new Uint32Array(t.length);
  let at = 0;
  let degenerate = 0;
  let duplicate = 0;
  // Faces bucketed by lowest vertex; the few in a bucket are compared.
  const head = new Int32Array(count).fill(-1);
  const chain = new Int32Array(t.length / 3);
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f],
      b = t[f + 1],
      c = t[f + 2];
    if (a === b || b === c || c === a || isFlat(p, a * 3, b * 3, c * 3)) {
      degenerate++;
      continue;
    }
    const low = Math.min(a, b, c),
      high = Math.max(a, b, c),
      sum = a + b + c;
    let other = head[low];
    while (other >= 0) {
      const o = other * 3;
      if (Math.max(keep[o], keep[o + 1], keep[o + 2]) === high && keep[o] + keep[o + 1] + keep[o + 2] === sum) break;
      other = chain[other];
    }
    if (other >= 0) {
      duplicate++;
      continue;
    }
    chain[at / 3] = head[low];
    head[low] = at / 3;
    keep[at++] = a;
    keep[at++] = b;
    keep[at++] = c;
  }
  if (degenerate + duplicate === 0) return { mesh, degenerate, duplicate };
  return { mesh: dropUnusedVertices({ ...mesh, triangles: keep.slice(0, at) }), degenerate, duplicate };
}

/** Height over the longest edge, squared, below which a face has no direction left in single precision. */
const FLAT_SLENDERNESS2 = 2 ** -42;

/** Whether a face (offsets of its corners) has no area left in single precision. */
export function isFlat(p: Float64Array, a: number, b: number, c: number): boolean {
  const ux = p[b] - p[a],
    uy = p[b + 1] - p[a + 1],
    uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a],
    vy = p[c + 1] - p[a + 1],
    vz = p[c + 2] - p[a + 2];
  const wx = vx - ux,
    wy = vy - uy,
    wz = vz - uz;
  const x = uy * vz - uz * vy,
    y = uz * vx - ux * vz,
    z = ux * vy - uy * vx;
  const longest = Math.max(ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz, wx * wx + wy * wy + wz * wz);
  return x * x + y * y + z * z <= FLAT_SLENDERNESS2 * longest * longest;
}
