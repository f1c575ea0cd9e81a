/** The room between a body and a part worn over it, straight out from the body: what a pad has to fill. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { findTwins } from '../mesh/twins.ts';
import { buildBvh, castRay, type Bvh, type RayHit } from '../spatial/bvh.ts';

export interface PartWall {
  readonly mesh: Mesh;
  readonly tree: Bvh;
  /** Closed parts tell their inner side from their outer one by the way their faces look. */
  readonly closed: boolean;
}

export function partWall(mesh: Mesh, tick: () => void): PartWall {
  const { openEdges, nonManifoldEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
  return { mesh, tree: buildBvh(mesh, tick), closed: openEdges === 0 && nonManifoldEdges === 0 };
}

/**
 * Per vertex of `skin`, mm along its normal to the part's nearest wall within `mostMm`: NaN where there is none, below 0
 * where the skin lies within the wall of a closed part. O(vertices log faces).
 */
export function gapsTo(
  part: PartWall,
  skin: Mesh,
  normals: Float64Array,
  mostMm: number,
  tick: () => void,
): Float64Array {
  const { positions: p } = skin;
  const gaps = new Float64Array(p.length / 3).fill(NaN);
  const hit: RayHit = { face: -1, t: 0 };
  for (let v = 0; v < gaps.length; v++) {
    if (v % 256 === 0) tick();
    const i = v * 3;
    const [x, y, z] = [p[i], p[i + 1], p[i + 2]];
    const [nx, ny, nz] = [normals[i], normals[i + 1], normals[i + 2]];
    if (nx === 0 && ny === 0 && nz === 0) continue;
    if (!meet(part.tree, [x, y, z], [nx, ny, nz], mostMm, hit)) continue;
    gaps[v] = hit.t;
    faceCross(part.mesh.positions, part.mesh.triangles, hit.face * 3);
    const looksAway = faceCrossOut[0] * nx + faceCrossOut[1] * ny + faceCrossOut[2] * nz > 0;
    if (!part.closed || !looksAway) continue;
    // Out through the outer side: the skin stands in the wall, as deep as its inner side lies behind.
    gaps[v] = meet(part.tree, [x, y, z], [-nx, -ny, -nz], mostMm, hit) ? -hit.t : NaN;
  }
  return gaps;
}

/** Turns of a ray of which the nearest hit counts: one straight through an edge may miss both its faces. */
const NUDGES = [0, 2 ** -12, -(2 ** -12)];

/** The nearest hit within `mostMm` into `hit`; whether there is one. */
function meet(tree: Bvh, [x, y, z]: Vec3, [nx, ny, nz]: Vec3, mostMm: number, hit: RayHit): boolean {
  let near = mostMm;
  let face = -1;
  for (const by of NUDGES) {
    if (castRay(tree, x, y, z, nx + by * ny, ny + by * nz, nz + by * nx, hit, 0, near))
      [near, face] = [hit.t, hit.face];
  }
  hit.t = near;
  hit.face = face;
  return face >= 0;
}

export interface GapFigures {
  readonly meanMm: number;
  readonly leastMm: number;
  /** Passed under by a tenth of the area, and passed over by a tenth. */
  readonly p10Mm: number;
  readonly p90Mm: number;
  readonly mostMm: number;
  readonly areaMm2: number;
}

/** A number per face with the face's area, for figures over an area. */
export interface OverArea {
  readonly value: Float64Array;
  readonly area: Float64Array;
}

/** Mean of each face's corners, faces with a corner that has no value left out. O(faces). */
export function faceMeans(mesh: Mesh, perVertex: Float64Array): OverArea {
  const { positions: p, triangles: t } = mesh;
  const value: number[] = [];
  const area: number[] = [];
  for (let f = 0; f < t.length; f += 3) {
    const mean = (perVertex[t[f]] + perVertex[t[f + 1]] + perVertex[t[f + 2]]) / 3;
    if (Number.isNaN(mean)) continue;
    value.push(mean);
    area.push(faceCross(p, t, f) / 2);
  }
  return { value: Float64Array.from(value), area: Float64Array.from(area) };
}

/** Undefined without any area. O(faces log faces). */
export function gapFigures({ value, area }: OverArea): GapFigures | undefined {
  const order = Array.from(value.keys()).sort((i, j) => value[i] - value[j]);
  const total = area.reduce((sum, one) => sum + one, 0);
  if (!(total > 0)) return undefined;
  let passed = 0,
    sum = 0;
  let p10 = value[order[0]],
    p90 = value[order[order.length - 1]];
  let [seen10, seen90] = [false, false];
  for (const face of order) {
    passed += area[face];
    sum += area[face] * value[face];
    if (!seen10 && passed >= total / 10) [p10, seen10] = [value[face], true];
    if (!seen90 && passed >= 0.9 * total) [p90, seen90] = [value[face], true];
  }
  return {
    meanMm: sum / total,
    leastMm: value[order[0]],
    p10Mm: p10,
    p90Mm: p90,
    mostMm: value[order[order.length - 1]],
    areaMm2: total,
  };
}
