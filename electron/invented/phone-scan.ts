/**
 * A clean surface made into what a phone delivers, with the truth kept: noise, charts split along seams that gape a
 * little, patches never seen, furniture, floating bits, doubled and flipped faces, fins; in any unit, turn and place.
 *
 * The same seed gives the same scan. The noise is the way photographs give it: waves a few millimetres long, and a
 * little from vertex to vertex. The faults are of the kinds met in practice (common practice, no source).
 */
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { vertexNormals } from '../geometry/mesh/quantities.ts';
import {
  IDENTITY,
  invert,
  multiply,
  scaling,
  transformPoint,
  translation,
  turnOf,
} from '../geometry/mesh/transform.ts';
import { keepFaces } from '../geometry/mesh/compact.ts';
import { seeded, smoothNoise, type Seeded } from './seeded.ts';

export interface PhoneScanWishes {
  readonly seed: number;
  /** Standard deviation of the surface noise, mm. */
  readonly noiseMm?: number;
  /** File units in one millimetre: 0.001 for a scan in metres. */
  readonly unitsPerMm?: number;
  /** Turned any way up, and moved, in mm before the unit. */
  readonly turned?: boolean;
  readonly movedMm?: Vec3;
  /** Charts the surface is split into; 0 leaves it in one. */
  readonly charts?: number;
  /** Widest crack between charts, mm. */
  readonly crackMm?: number;
  /** Balls whose faces were never seen, form frame. */
  readonly holes?: readonly { readonly centre: Vec3; readonly radiusMm: number }[];
  /** Everything below this height was never seen either, mm; undefined keeps it. */
  readonly cutBelowMm?: number;
  readonly debris?: number;
  readonly chair?: boolean;
  readonly badFaces?: boolean;
  readonly colours?: boolean;
}

export interface PhoneScan {
  /** In the scan file's own frame and unit. */
  readonly mesh: Mesh;
  readonly truth: {
    readonly scanToForm: Matrix4;
    readonly formToScan: Matrix4;
    /** Millimetres in one file unit: the factor the true-up has to find. */
    readonly mmPerUnit: number;
    /** The body without noise or faults, form frame, mm. */
    readonly clean: Mesh;
  };
}

/** Seams under the chin and at the crown, where phones see least. */
export const USUAL_HOLES: readonly { readonly centre: Vec3; readonly radiusMm: number }[] = [
  { centre: [38, 0, -104], radiusMm: 17 },
  { centre: [-12, 8, 131], radiusMm: 26 },
  { centre: [-36, 74, -6], radiusMm: 7 },
];

/** A rotation matrix, evenly spread over all turns (Shoemake 1992: from a random unit quaternion). */
function anyTurn(random: Seeded): Matrix4 {
  const [a, b, c, d] = [random.normal(), random.normal(), random.normal(), random.normal()];
  const n = Math.hypot(a, b, c, d);
  return turnOf(b / n, c / n, d / n, a / n);
}

/** Waves of this length, mm, and their standard deviation at amplitude 1: sqrt(1/3 · (26/35)³), by integration. */
const WAVE_MM = 5;
const WAVE_DEVIATION = Math.sqrt((26 / 35) ** 3 / 3);
/** Share of the noise that changes from vertex to vertex, and its most, as a share of the mean edge. */
const GRAIN = 0.3;
const GRAIN_MOST = 0.06;

function withNoise(mesh: Mesh, noiseMm: number, seed: number, random: Seeded): Float64Array {
  const p = mesh.positions.slice();
  const normals = vertexNormals(mesh);
  const t = mesh.triangles;
  let sum = 0;
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f] * 3,
      b = t[f + 1] * 3;
    sum += Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
  }
  const grain = Math.min(GRAIN * noiseMm, (GRAIN_MOST * sum) / (t.length / 3));
  const wave = Math.sqrt(Math.max(0, noiseMm * noiseMm - grain * grain)) / WAVE_DEVIATION;
  for (let at = 0; at < p.length; at += 3) {
    const off = wave * smoothNoise(p[at], p[at + 1], p[at + 2], WAVE_MM, seed) + grain * random.normal();
    for (let axis = 0; axis < 3; axis++) p[at + axis] += off * normals[at + axis];
  }
  return p;
}

/** Which of the charts each face belongs to: the nearest of some random vertices. */
function chartsOf(mesh: Mesh, charts: number, random: Seeded): Uint8Array {
  const { positions: p, triangles: t } = mesh;
  const centres = Array.from({ length: charts }, () => Math.floor(random.next() * (p.length / 3)) * 3);
  const chart = new Uint8Array(t.length / 3);
  for (let face = 0; face < chart.length; face++) {
    const at = t[face * 3] * 3;
    let least = Infinity;
    centres.forEach((centre, index) => {
      const d = (p[at] - p[centre]) ** 2 + (p[at + 1] - p[centre + 1]) ** 2 + (p[at + 2] - p[centre + 2]) ** 2;
      if (d < least) {
        least = d;
        chart[face] = index;
      }
    });
  }
  return chart;
}

/** Every chart gets vertices of its own; copies at the seams drift apart by up to `crackMm`. */
function split(mesh: Mesh, chart: Uint8Array, crackMm: number, seed: number): Mesh {
  const { positions: p, triangles: t } = mesh;
  const owner = new Int16Array(p.length / 3).fill(-1);
  const copies = new Map<number, number>();
  const positions = Array.from(p);
  const triangles = new Uint32Array(t.length);
  for (let corner = 0; corner < t.length; corner++) {
    const vertex = t[corner];
    const mine = chart[Math.floor(corner / 3)];
    if (owner[vertex] < 0) owner[vertex] = mine;
    if (owner[vertex] === mine) {
      triangles[corner] = vertex;
      continue;
    }
    const key = vertex * 256 + mine;
    let copy = copies.get(key);
    if (copy === undefined) {
      copy = positions.length / 3;
      copies.set(key, copy);
      // Half of a seam's length fits exactly, as a cut for a picture does; the rest gapes.
      const [x, y, z] = [p[vertex * 3], p[vertex * 3 + 1], p[vertex * 3 + 2]];
      const gape = Math.max(0, smoothNoise(x, y, z, 30, seed + 7) * 2.2);
      for (let axis = 0; axis < 3; axis++) {
        const drift = smoothNoise(x, y, z, 12, seed + 11 + axis + 3 * mine);
        positions.push(p[vertex * 3 + axis] + Math.min(1, gape) * crackMm * Math.max(-0.57, Math.min(0.57, drift)));
      }
    }
    triangles[corner] = copy;
  }
  return { positions: Float64Array.from(positions), triangles };
}

/** An uneven sheet of n by n cells; its edges are open. */
function sheet(corner: Vec3, along: Vec3, up: Vec3, n: number, swellMm: number, seed: number): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i <= n; i++) {
    for (let j = 0; j <= n; j++) {
      const [u, v] = [i / n, j / n];
      const swell = swellMm * smoothNoise(i, j, 0, 4, seed);
      positions.push(
        corner[0] + u * along[0] + v * up[0] + swell,
        corner[1] + u * along[1] + v * up[1],
        corner[2] + u * along[2] + v * up[2] + 0.3 * swell,
      );
      if (i < n && j < n) {
        const a = i * (n + 1) + j;
        triangles.push(a, a + n + 1, a + n + 2, a, a + n + 2, a + 1);
      }
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

function together(meshes: readonly Mesh[]): Mesh {
  const positions = new Float64Array(meshes.reduce((sum, mesh) => sum + mesh.positions.length, 0));
  const triangles = new Uint32Array(meshes.reduce((sum, mesh) => sum + mesh.triangles.length, 0));
  let vertex = 0,
    corner = 0;
  for (const mesh of meshes) {
    positions.set(mesh.positions, vertex * 3);
    for (let i = 0; i < mesh.triangles.length; i++) triangles[corner + i] = mesh.triangles[i] + vertex;
    vertex += mesh.positions.length / 3;
    corner += mesh.triangles.length;
  }
  return { positions, triangles };
}

/** Faces doubled, a few patches turned inside out, fins on edges, faces of no area. */
function spoil(mesh: Mesh, random: Seeded): Mesh {
  const { positions: p, triangles: t } = mesh;
  const faces = t.length / 3;
  const pick = (): number => Math.floor(random.next() * faces) * 3;
  const triangles = Array.from(t);
  const positions = Array.from(p);
  for (let patch = 0; patch < 4; patch++) {
    const centre = t[pick()] * 3;
    for (let f = 0; f < t.length; f += 3) {
      const a = t[f] * 3;
      if (Math.hypot(p[a] - p[centre], p[a + 1] - p[centre + 1], p[a + 2] - p[centre + 2]) > 5) continue;
      [triangles[f + 1], triangles[f + 2]] = [triangles[f + 2], triangles[f + 1]];
    }
  }
  for (let i = 0; i < 40; i++) {
    const f = pick();
    triangles.push(t[f], t[f + 1], t[f + 2]);
  }
  for (let i = 0; i < 12; i++) {
    const f = pick();
    const [a, b] = [t[f] * 3, t[f + 1] * 3];
    triangles.push(t[f], t[f + 1], positions.length / 3);
    for (let axis = 0; axis < 3; axis++) positions.push((p[a + axis] + p[b + axis]) / 2 + random.between(-1.5, 1.5));
  }
  for (let i = 0; i < 12; i++) {
    const f = pick();
    triangles.push(t[f], t[f], t[f + 1]);
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** Make a rough scan of a clean body given in the form frame (mm, single piece). Time grows with faces and charts. */
export function roughen(clean: Mesh, wishes: PhoneScanWishes): PhoneScan {
  const { seed, noiseMm = 0.3, unitsPerMm = 1, turned = true, movedMm = [310, -140, 75], charts = 10 } = wishes;
  const { crackMm = 0.6, holes = USUAL_HOLES, cutBelowMm = -205, debris = 14, chair = true, badFaces = true } = wishes;
  const random = seeded(seed);
  let mesh: Mesh = { positions: withNoise(clean, noiseMm, seed, random), triangles: clean.triangles };
  const { positions: p, triangles: t } = mesh;
  const keep = new Uint8Array(t.length / 3).fill(1);
  for (let face = 0; face < keep.length; face++) {
    const at = t[face * 3] * 3;
    const ragged = 3 * smoothNoise(p[at], p[at + 1], p[at + 2], 9, seed + 3);
    if (p[at + 2] < cutBelowMm + ragged) keep[face] = 0;
    for (const { centre, radiusMm } of holes) {
      const far = Math.hypot(p[at] - centre[0], p[at + 1] - centre[1], p[at + 2] - centre[2]);
      if (far < radiusMm + ragged) keep[face] = 0;
    }
  }
  mesh = keepFaces(mesh, keep);
  if (charts > 0) mesh = split(mesh, chartsOf(mesh, charts, random), crackMm, seed);
  if (badFaces) mesh = spoil(mesh, random);
  const extras: Mesh[] = [];
  for (let i = 0; i < debris; i++) {
    const corner: Vec3 = [
      random.between(-170, 190),
      (random.next() < 0.5 ? -1 : 1) * random.between(150, 230),
      random.between(-120, 150),
    ];
    const size = random.between(2, 9);
    extras.push(
      sheet(corner, [0, size, 0], [random.between(-3, 3), 0, size], 2 + Math.floor(random.next() * 4), 2, seed + i),
    );
  }
  if (chair) extras.push(sheet([-205, -150, -330], [0, 300, 0], [-25, 0, 260], 40, 8, seed + 99));
  mesh = together([mesh, ...extras]);
  const turn = turned ? anyTurn(random) : IDENTITY;
  const formToScan = multiply(scaling(unitsPerMm), multiply(translation(movedMm), turn));
  const q = mesh.positions;
  const colours = wishes.colours ? new Uint8Array(q.length) : undefined;
  const positions = new Float64Array(q.length);
  for (let at = 0; at < q.length; at += 3) {
    const point: Vec3 = [q[at], q[at + 1], q[at + 2]];
    if (colours !== undefined) {
      const tone = 1 + 0.12 * smoothNoise(...point, 18, seed + 5);
      const cap = point[2] > 45 && point[0] < 80;
      const paint = cap ? [70, 92, 128] : [201, 163, 138];
      paint.forEach((part, axis) => (colours[at + axis] = Math.max(0, Math.min(255, Math.round(part * tone)))));
    }
    const placed = transformPoint(formToScan, point);
    for (let axis = 0; axis < 3; axis++) positions[at + axis] = Math.fround(placed[axis]);
  }
  return {
    mesh:
      colours === undefined
        ? { positions, triangles: mesh.triangles }
        : { positions, triangles: mesh.triangles, colours },
    truth: { scanToForm: invert(formToScan), formToScan, mmPerUnit: 1 / unitsPerMm, clean },
  };
}
