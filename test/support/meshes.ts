/**
 * Families of meshes and the ways they come broken, each from a seed: for tests that mending, and whatever reads a
 * mesh, stands up to what cameras and modellers deliver. The damages are those met in practice (common practice, no
 * source); none of the bodies is anybody's.
 */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { box, cylinder, ellipsoid, sphere, torus } from './solids.ts';

export type Random = () => number;

export const meshOf = (positions: ArrayLike<number>, triangles: ArrayLike<number>): Mesh => ({
  positions: Float64Array.from(positions),
  triangles: Uint32Array.from(triangles),
});

/** All parts in one mesh, nothing welded. */
export function join(...parts: readonly Mesh[]): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (const part of parts) {
    const base = positions.length / 3;
    for (const x of part.positions) positions.push(x);
    for (const v of part.triangles) triangles.push(v + base);
  }
  return meshOf(positions, triangles);
}

/** Every face with corners of its own: what a file without shared vertices holds. */
export function soup({ positions: p, triangles: t }: Mesh): Mesh {
  const positions = new Float64Array(t.length * 3);
  t.forEach((v, i) => positions.set(p.subarray(v * 3, v * 3 + 3), i * 3));
  return { positions, triangles: Uint32Array.from({ length: t.length }, (_, i) => i) };
}

let head: Mesh | undefined;
/** The same invented head each time, about 6,000 faces. */
export function smallHead(): Mesh {
  head ??= inventHead({ seed: 3 }).mesh(6_000);
  return head;
}

/** Closed bodies of about 100 to 200 across, from 12 faces to some thousands. */
export const BODIES: Readonly<Record<string, () => Mesh>> = {
  sphere: () => sphere(90, 3),
  egg: () => ellipsoid(100, 77, 120, 4),
  ring: () => torus(70, 30, 40, 24),
  box: () => box(120, 90, 150),
  can: () => cylinder(60, 180, 40, 12),
  plate: () => ellipsoid(100, 80, 6, 3),
  head: smallHead,
};

interface Draft {
  readonly positions: number[];
  readonly triangles: number[];
  readonly edge: number;
}

function draftOf({ positions, triangles }: Mesh): Draft {
  let sum = 0;
  for (let f = 0; f < triangles.length; f += 3)
    sum += Math.hypot(...[0, 1, 2].map((k) => positions[triangles[f] * 3 + k] - positions[triangles[f + 1] * 3 + k]));
  return { positions: [...positions], triangles: [...triangles], edge: sum / (triangles.length / 3) };
}

const at = (d: Draft, v: number): Vec3 => [d.positions[v * 3], d.positions[v * 3 + 1], d.positions[v * 3 + 2]];
const apart = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
const faceAt = (d: Draft, random: Random): number => Math.floor((random() * d.triangles.length) / 3) * 3;

/** Offsets of the faces within some edges of a random corner. */
function patchOf(d: Draft, random: Random, edges: number): number[] {
  if (d.triangles.length === 0) return [];
  const centre = at(d, d.triangles[faceAt(d, random)]);
  const faces: number[] = [];
  for (let f = 0; f < d.triangles.length; f += 3)
    if (apart(at(d, d.triangles[f]), centre) <= edges * d.edge) faces.push(f);
  return faces;
}

function normalOf(d: Draft, f: number): Vec3 {
  const [a, b, c] = [0, 1, 2].map((k) => at(d, d.triangles[f + k]));
  const u = b.map((x, k) => x - a[k]),
    w = c.map((x, k) => x - a[k]);
  const n = [0, 1, 2].map((k) => u[(k + 1) % 3] * w[(k + 2) % 3] - u[(k + 2) % 3] * w[(k + 1) % 3]);
  const length = Math.hypot(...n) || 1;
  return n.map((x) => x / length) as unknown as Vec3;
}

function remove(d: Draft, faces: readonly number[]): void {
  const gone = new Set(faces);
  const kept: number[] = [];
  for (let f = 0; f < d.triangles.length; f += 3)
    if (!gone.has(f)) kept.push(d.triangles[f], d.triangles[f + 1], d.triangles[f + 2]);
  d.triangles.length = 0;
  for (const v of kept) d.triangles.push(v);
}

/** What can be done to a body; each takes it in place. */
export const DAMAGES: Readonly<Record<string, (d: Draft, random: Random) => void>> = {
  /** A patch seen twice, the second time beside the first. */
  'second layer': (d, random) => {
    const off = (random() - 0.5) * 0.4 * d.edge;
    const names = new Map<number, number>();
    for (const f of patchOf(d, random, 6)) {
      const n = normalOf(d, f);
      for (let k = 0; k < 3; k++) {
        const v = d.triangles[f + k];
        let copy = names.get(v);
        if (copy === undefined) {
          copy = d.positions.length / 3;
          names.set(v, copy);
          d.positions.push(...at(d, v).map((x, axis) => x + off * n[axis] + 0.1 * d.edge * (random() - 0.5)));
        }
        d.triangles.push(copy);
      }
    }
  },
  /** The whole body twice, a little apart. */
  'double body': (d, random) => {
    const count = d.positions.length / 3;
    const grow = 1 + 0.01 * (random() - 0.5);
    d.positions.push(...d.positions.map((x) => x * grow + 0.05 * d.edge * (random() - 0.5)));
    d.triangles.push(...d.triangles.map((v) => v + count));
  },
  /** A sheet through the middle. */
  'inner wall': (d, random) => {
    const axis = Math.floor(random() * 3);
    const level = 40 * (random() - 0.5);
    const base = d.positions.length / 3;
    const [u, w] = [(axis + 1) % 3, (axis + 2) % 3];
    for (const [x, y] of [
      [-1, -1],
      [1, -1],
      [1, 1],
      [-1, 1],
    ]) {
      const point = [0, 0, 0];
      point[axis] = level + 5 * random();
      point[u] = x * (40 + 80 * random());
      point[w] = y * (40 + 80 * random());
      d.positions.push(...point);
    }
    d.triangles.push(base, base + 1, base + 2, base, base + 2, base + 3);
  },
  'turned patch': (d, random) => {
    for (const f of patchOf(d, random, 4))
      [d.triangles[f + 1], d.triangles[f + 2]] = [d.triangles[f + 2], d.triangles[f + 1]];
  },
  /** A vertex beside an edge that only one of its faces knows. */
  slivers: (d, random) => {
    for (let i = 0; i < 12; i++) {
      const f = faceAt(d, random);
      const [a, b, c] = [d.triangles[f], d.triangles[f + 1], d.triangles[f + 2]];
      const share = random();
      const m = d.positions.length / 3;
      const pb = at(d, b);
      d.positions.push(...at(d, a).map((x, k) => x * share + pb[k] * (1 - share) + 1e-6 * (random() - 0.5)));
      d.triangles[f + 1] = m;
      d.triangles.push(m, b, c);
    }
  },
  spikes: (d, random) => {
    for (let i = 0; i < 3; i++) {
      const v = d.triangles[faceAt(d, random)];
      for (let k = 0; k < 3; k++) d.positions[v * 3 + k] *= 0.3 + 1.6 * random();
    }
  },
  /** Edges with three to six faces. */
  fans: (d, random) => {
    for (let i = 0; i < 4; i++) {
      const f = faceAt(d, random);
      for (let blade = 1 + Math.floor(random() * 4); blade > 0; blade--) {
        const tip = d.positions.length / 3;
        d.positions.push(...at(d, d.triangles[f]).map((x) => x + 2 * d.edge * (random() - 0.5)));
        d.triangles.push(d.triangles[f], d.triangles[f + 1], tip);
      }
    }
  },
  hole: (d, random) => remove(d, patchOf(d, random, 1 + 4 * random())),
  'scattered holes': (d, random) => {
    const gone: number[] = [];
    for (let f = 0; f < d.triangles.length; f += 3) if (random() < 0.06) gone.push(f);
    remove(d, gone);
  },
  /** Vertices of a patch thrown about by half an edge. */
  crumpled: (d, random) => {
    const moved = new Set<number>();
    for (const f of patchOf(d, random, 5)) for (let k = 0; k < 3; k++) moved.add(d.triangles[f + k]);
    for (const v of moved) for (let k = 0; k < 3; k++) d.positions[v * 3 + k] += d.edge * (random() - 0.5);
  },
  /** One vertex laid exactly on another far away. */
  pinched: (d, random) => {
    const v = d.triangles[faceAt(d, random)],
      w = d.triangles[faceAt(d, random)];
    for (let k = 0; k < 3; k++) d.positions[v * 3 + k] = d.positions[w * 3 + k];
  },
  'small faces': (d, random) => {
    for (let i = 0; i < 10; i++) {
      const f = faceAt(d, random);
      d.triangles.push(d.triangles[f], d.triangles[f + 1], d.triangles[f + (random() < 0.5 ? 1 : 2)]);
    }
  },
  /** A ball that runs through the body's side. */
  'ball in the side': (d, random) => {
    const v = d.triangles[faceAt(d, random)];
    const ball = sphere(10 + 25 * random(), 2);
    const base = d.positions.length / 3;
    ball.positions.forEach((x, i) => d.positions.push(x + d.positions[v * 3 + (i % 3)]));
    for (const w of ball.triangles) d.triangles.push(w + base);
  },
  crumbs: (d, random) => {
    for (let i = 0; i < 5; i++) {
      const base = d.positions.length / 3;
      const middle = [0, 1, 2].map(() => 400 * (random() - 0.5));
      for (let j = 0; j < 9; j++) d.positions.push(middle[j % 3] + 6 * random());
      d.triangles.push(base, base + 1, base + 2);
    }
  },
  /** No two faces share a vertex, and some corners drifted. */
  torn: (d, random) => {
    const apart = soup(meshOf(d.positions, d.triangles));
    d.positions.length = 0;
    d.triangles.length = 0;
    for (const x of apart.positions) d.positions.push(random() < 0.03 ? x + 0.15 * d.edge * (random() - 0.5) : x);
    for (const v of apart.triangles) d.triangles.push(v);
  },
};

/** A body broken in one to four ways. */
export function brokenBody(body: Mesh, random: Random): { mesh: Mesh; damages: readonly string[] } {
  const draft = draftOf(body);
  const names = Object.keys(DAMAGES);
  const damages: string[] = [];
  for (let n = 1 + Math.floor(random() * 4); n > 0; n--) {
    const name = names[Math.floor(random() * names.length)];
    damages.push(name);
    DAMAGES[name](draft, random);
  }
  return { mesh: meshOf(draft.positions, draft.triangles), damages };
}

/** Little of a body: a share of its faces between 5 and 40 %, together or scattered. */
export function remnant(body: Mesh, random: Random): Mesh {
  const draft = draftOf(body);
  const share = 0.05 + 0.35 * random();
  const faces = Array.from({ length: draft.triangles.length / 3 }, (_, f) => f * 3);
  if (random() < 0.5) {
    remove(
      draft,
      faces.filter(() => random() > share),
    );
  } else {
    const centre = at(draft, draft.triangles[faceAt(draft, random)]);
    const far = faces.map((f) => apart(at(draft, draft.triangles[f]), centre));
    const limit = far.toSorted((a, b) => a - b)[Math.floor(share * far.length)];
    remove(
      draft,
      faces.filter((f) => far[f / 3] > limit),
    );
  }
  return meshOf(draft.positions, draft.triangles);
}

/** 1 for each vertex of a mesh at a point of the kind, 0 for the others. */
export function keptWhere({ positions: p }: Mesh, isKept: (x: number, y: number, z: number) => boolean): Uint8Array {
  return Uint8Array.from({ length: p.length / 3 }, (_, v) => (isKept(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]) ? 1 : 0));
}

/** The mesh moved by so many mm. */
export const moved = (mesh: Mesh, x: number, y: number, z: number): Mesh => ({
  ...mesh,
  positions: mesh.positions.map((c, i) => c + [x, y, z][i % 3]),
});
