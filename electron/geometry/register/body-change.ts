/**
 * How far a body has changed between two forms of it, and where: the newer form is laid on the older (without change of
 * size), and the signed distance to it is taken at every vertex of the older one, weighted by area. Flat cuts at the
 * lower end are left out: they lie where the maker put them. What slides along the surface is not seen, and a change
 * over most of the body shows smaller than it is, because laying on shares it out.
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { boundsOf, faceNormals, vertexNormals } from '../mesh/quantities.ts';
import { IDENTITY, transformPoint } from '../mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { looksLikeHead, regionOf } from './body-regions.ts';
import { samplesOf, slideOnto } from './lay-on.ts';

export const CHANGE_PHASES = { lay: 0.4, measure: 0.6 } as const;

const SAMPLES = 4000;
/** A face whose normal points down as straight as this, within this share of the height from the end, is the cut. */
const CUT_DOWN = 0.98;
const CUT_SHARE = 0.03;

export interface RegionChange {
  readonly name: string;
  /** Positive: the body has grown outward there, mm. Weighted by area. */
  readonly meanMm: number;
  readonly meanAbsMm: number;
  /** The change that is largest either way, with its sign, and where it is in the older form's frame. */
  readonly mostMm: number;
  readonly at: Vec3;
  readonly areaMm2: number;
}

export interface BodyChange {
  /** Distances without sign, weighted by area, mm. */
  readonly meanMm: number;
  readonly p95Mm: number;
  readonly maxMm: number;
  /** The largest change, in the older form's frame, mm, and in words. */
  readonly where: Vec3;
  readonly whereInWords: string;
  /** Largest mean change first. */
  readonly regions: readonly RegionChange[];
  /** Vertices at which it was taken. */
  readonly samples: number;
  /** From the older form to where it lies best on the newer one. */
  readonly matrix: Matrix4;
  /** Signed change at each vertex of the older form, mm; NaN where it was not taken. */
  readonly perVertexMm: Float64Array;
}

/** Compare two forms of one body, both mm and upright. Undefined when nothing of the older one can be compared. */
export function bodyChange(before: Mesh, after: Mesh, run: RunContext = QUIET_RUN): BodyChange | undefined {
  run.step('lay', 0, 2);
  const tree = buildBvh(after, () => run.step('lay', 0, 2));
  const normals = vertexNormals(before);
  const laid = slideOnto(samplesOf(before, SAMPLES, normals), tree, IDENTITY, { keptShare: 1 }, () =>
    run.step('lay', 1, 2),
  );
  run.step('lay', 1, 1);
  const bounds = boundsOf(before.positions);
  const height = bounds.max[2] - bounds.min[2];
  const areas = areasWithoutCut(before, bounds.min[2] + CUT_SHARE * height);
  const cutOfAfter = cutVertices(after, boundsOf(after.positions).min[2] + CUT_SHARE * height);
  const afterFaces = faceNormals(after);
  const near = nearestSlot();
  const count = before.positions.length / 3;
  const perVertexMm = new Float64Array(count).fill(NaN);
  const head = looksLikeHead(bounds);
  const regions = new Map<string, { sum: number; sumAbs: number; area: number; most: number; at: Vec3 }>();
  const taken: { abs: number; area: number; vertex: number }[] = [];
  for (let vertex = 0; vertex < count; vertex++) {
    if (vertex % STEP_EVERY === 0) run.step('measure', vertex, count);
    const area = areas[vertex];
    if (!(area > 0)) continue;
    const at: Vec3 = [before.positions[3 * vertex], before.positions[3 * vertex + 1], before.positions[3 * vertex + 2]];
    const [x, y, z] = transformPoint(laid.matrix, at);
    if (!findNearest(tree, x, y, z, near)) continue;
    // Beside the newer cut or its rim the distance says where the knife went, not how the body is.
    const corner = 3 * near.face;
    if ([0, 1, 2].some((k) => cutOfAfter[after.triangles[corner + k]] === 1)) continue;
    // Outside of the newer surface means that the body has shrunk. Small offsets take the side by the older normal.
    const away = [near.x - x, near.y - y, near.z - z];
    const f = 3 * near.face;
    const own = [normals[3 * vertex], normals[3 * vertex + 1], normals[3 * vertex + 2]];
    const across = away.reduce((sum, d, k) => sum + d * (own[k] + afterFaces[f + k]), 0);
    const change = across < 0 ? -near.distance : near.distance;
    perVertexMm[vertex] = change;
    taken.push({ abs: near.distance, area, vertex });
    const name = regionOf(at, bounds, head);
    const region = regions.get(name) ?? { sum: 0, sumAbs: 0, area: 0, most: 0, at };
    region.sum += area * change;
    region.sumAbs += area * near.distance;
    region.area += area;
    if (near.distance >= Math.abs(region.most)) Object.assign(region, { most: change, at });
    regions.set(name, region);
  }
  run.step('measure', 1, 1);
  taken.sort((a, b) => a.abs - b.abs);
  const worst = taken.at(-1);
  if (worst === undefined) return undefined;
  const total = taken.reduce((sum, one) => sum + one.area, 0);
  let below = 0;
  const p95 = taken.find((one) => (below += one.area) >= P95 * total) ?? worst;
  const where: Vec3 = [
    before.positions[3 * worst.vertex],
    before.positions[3 * worst.vertex + 1],
    before.positions[3 * worst.vertex + 2],
  ];
  return {
    meanMm: taken.reduce((sum, one) => sum + one.area * one.abs, 0) / total,
    p95Mm: p95.abs,
    maxMm: worst.abs,
    where,
    whereInWords: regionOf(where, bounds, head),
    regions: [...regions]
      .map(([name, { sum, sumAbs, area, most, at }]) => ({
        name,
        meanMm: sum / area,
        meanAbsMm: sumAbs / area,
        mostMm: most,
        at,
        areaMm2: area,
      }))
      .sort((a, b) => b.meanAbsMm - a.meanAbsMm),
    samples: taken.length,
    matrix: laid.matrix,
    perVertexMm,
  };
}

const STEP_EVERY = 256;
const P95 = 0.95;

/** 1 for each vertex of a face that looks straight down from below `cutTop`: the flat cut and its rim. */
function cutVertices(mesh: Mesh, cutTop: number): Uint8Array {
  const { positions: p, triangles: t } = mesh;
  const normals = faceNormals(mesh);
  const onCut = new Uint8Array(p.length / 3);
  for (let f = 0; f < t.length; f += 3) {
    const top = Math.max(p[3 * t[f] + 2], p[3 * t[f + 1] + 2], p[3 * t[f + 2] + 2]);
    if (top < cutTop && normals[f + 2] < -CUT_DOWN) for (let k = 0; k < 3; k++) onCut[t[f + k]] = 1;
  }
  return onCut;
}

/** A third of the area of the faces at each vertex, mm²; 0 for vertices of the lower cut. */
function areasWithoutCut({ positions: p, triangles: t }: Mesh, cutTop: number): Float64Array {
  const areas = new Float64Array(p.length / 3);
  const onCut = cutVertices({ positions: p, triangles: t }, cutTop);
  for (let f = 0; f < t.length; f += 3) {
    const [a, b, c] = [3 * t[f], 3 * t[f + 1], 3 * t[f + 2]];
    const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const [nx, ny, nz] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    for (const vertex of [t[f], t[f + 1], t[f + 2]]) areas[vertex] += Math.hypot(nx, ny, nz) / 6;
  }
  for (let vertex = 0; vertex < areas.length; vertex++) if (onCut[vertex] === 1) areas[vertex] = 0;
  return areas;
}

/**
 * The older form coloured by its change: blue where the body has shrunk, grey where it has not, orange where it has
 * grown, strongest from `fullMm` on; dark grey where nothing was compared. Blue and orange stay apart for most eyes.
 */
export function colouredByChange(before: Mesh, perVertexMm: Float64Array, fullMm: number): Mesh {
  const colours = new Uint8Array(3 * perVertexMm.length);
  for (const [vertex, change] of perVertexMm.entries()) {
    const share = Number.isNaN(change) ? undefined : Math.max(-1, Math.min(1, change / fullMm));
    const end = share === undefined ? UNSEEN : share < 0 ? SHRUNK : GROWN;
    const mix = share === undefined ? 1 : Math.abs(share);
    for (let k = 0; k < 3; k++) colours[3 * vertex + k] = Math.round(STILL[k] + mix * (end[k] - STILL[k]));
  }
  return { positions: before.positions.slice(), triangles: before.triangles.slice(), colours };
}

const STILL = [205, 205, 205] as const;
const SHRUNK = [20, 80, 200] as const;
const GROWN = [225, 110, 10] as const;
const UNSEEN = [90, 90, 90] as const;
