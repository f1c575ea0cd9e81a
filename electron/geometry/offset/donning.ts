/**
 * Whether the body passes the liner while the part is put on along a straight line.
 *
 * Seen from the part, the body comes in against the direction in which the part is put on: it sweeps a room that
 * reaches from where it sits out through the opening (swept-body.ts). Where that room comes nearer to the liner than
 * the foam is thick, the foam must give way by the difference: an undercut, and that difference is its depth.
 *
 * Inside the room the depth goes on: it is how deep in the body the point comes to lie on the way, found by stepping
 * along the line as far as the distance allows (sphere tracing, Hart 1996) and narrowing down round the deepest.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { faceCross } from '../mesh/face-cross.ts';
import type { SignedField } from './signed-field.ts';
import { SweptBody } from './swept-body.ts';

export const DONNING_PHASE = 'donning';
/** Least step along a line, mm: a bump narrower than this may be met beside its top. */
const STEP_MM = 2;
/** Halvings of the bracket round the least. */
const NARROWINGS = 14;
const GOLDEN = (Math.sqrt(5) - 1) / 2;
/** Shallower than this is no undercut but the liner's own tolerance, mm. */
const LEAST_DEPTH_MM = 0.2;
const STRIDE = 63;

export interface Undercut {
  /** How much the foam must give here at most, mm; at least so much where it is more than the foam is thick. */
  readonly depthMm: number;
  /** Where on the liner that is. */
  readonly where: Vec3;
  /** Of the liner's faces concerned. */
  readonly areaMm2: number;
}

export interface Donning {
  /** Deepest first. */
  readonly undercuts: readonly Undercut[];
  readonly deepestMm: number;
  /** Liner vertices looked at. */
  readonly samples: number;
  /** At each vertex of the liner, mm; 0 where it was not looked at. */
  readonly depthMm: Float64Array;
}

/**
 * Undercuts of the field's form against a liner when the part is put on along `direction` (any length), in the mesh's
 * own frame; `foamMm` is the thickness the field's own shift adds to. `kept` is 1 for each vertex of the liner that
 * remains after openings are cut. Depths up to the foam's thickness are exact, deeper ones within about 0.05 mm except at bumps
 * narrower than 2 mm. The path is straight, without tilt. O(vertices · log n), and the length of the body / 2 mm for
 * each that lies in the way.
 */
export function findUndercuts(
  field: SignedField,
  foamMm: number,
  liner: Mesh,
  direction: Vec3,
  kept: Uint8Array,
  run: RunContext,
): Donning {
  const { positions: p, triangles: t } = liner;
  const length = Math.hypot(...direction);
  // Along the line the point goes against the direction, as the body sweeps with it.
  const back: Vec3 = [-direction[0] / length, -direction[1] / length, -direction[2] / length];
  const vertexCount = p.length / 3;
  const depth = new Float64Array(vertexCount);
  const bounds = boundsOf(field.mesh.positions);
  const swept = new SweptBody(field.mesh, direction, () => run.step(DONNING_PHASE, 0, vertexCount));
  let samples = 0;
  for (let v = 0; v < vertexCount; v++) {
    if ((v & STRIDE) === 0) run.step(DONNING_PHASE, v, vertexCount);
    const [x, y, z] = p.subarray(v * 3, v * 3 + 3);
    if (kept[v] === 0) continue;
    samples++;
    field.at(x, y, z);
    // Where the liner stands off the body there is only as much foam as was asked for.
    const thickness = Math.min(field.formMm, foamMm + field.shift(x, y, z, field.formMm));
    depth[v] = straightDepth(field, swept, thickness, x, y, z, back, bounds);
  }
  // Vertices joined by an edge belong to one undercut.
  const root = Int32Array.from({ length: vertexCount }, (_, v) => v);
  const find = (v: number): number => {
    while (root[v] !== v) v = root[v] = root[root[v]];
    return v;
  };
  const deep = (v: number): boolean => depth[v] > LEAST_DEPTH_MM;
  const tick = (): void => run.step(DONNING_PHASE, 1, 1);
  tick();
  for (let h = 0; h < t.length; h++) {
    const a = t[h],
      b = t[h - (h % 3) + ((h + 1) % 3)];
    if (deep(a) && deep(b)) root[find(a)] = find(b);
  }
  tick();
  const found = new Map<number, { depthMm: number; at: number; areaMm2: number }>();
  for (let v = 0; v < vertexCount; v++) {
    if (!deep(v)) continue;
    const one = found.get(find(v));
    if (one === undefined) found.set(find(v), { depthMm: depth[v], at: v, areaMm2: 0 });
    else if (depth[v] > one.depthMm) [one.depthMm, one.at] = [depth[v], v];
  }
  tick();
  for (let h = 0; h < t.length; h += 3) {
    if (!deep(t[h]) || !deep(t[h + 1]) || !deep(t[h + 2])) continue;
    const one = found.get(find(t[h])) as { areaMm2: number };
    one.areaMm2 += faceCross(p, t, h) / 2;
  }
  const undercuts = [...found.values()]
    .sort((a, b) => b.depthMm - a.depthMm)
    .map(({ depthMm, at, areaMm2 }) => ({
      depthMm,
      where: [p[at * 3], p[at * 3 + 1], p[at * 3 + 2]] as Vec3,
      areaMm2,
    }));
  return { undercuts, deepestMm: undercuts[0]?.depthMm ?? 0, samples, depthMm: depth };
}

/**
 * How much foam `thickness` thick must give at a point while it goes straight along the unit direction `back`, mm;
 * `swept` and `bounds` are those of the field's form.
 */
export function straightDepth(
  field: SignedField,
  swept: SweptBody,
  thickness: number,
  x: number,
  y: number,
  z: number,
  back: Vec3,
  bounds: { readonly min: ArrayLike<number>; readonly max: ArrayLike<number> },
): number {
  const room = swept.at(x, y, z);
  return room > 0 ? Math.max(0, thickness - room) : thickness + depthAt(field, x, y, z, back, bounds);
}

/** How deep in the form a point comes to lie that moves along a unit direction, mm. */
function depthAt(
  field: SignedField,
  x: number,
  y: number,
  z: number,
  way: Vec3,
  bounds: { readonly min: ArrayLike<number>; readonly max: ArrayLike<number> },
): number {
  const start = field.formAt(x, y, z);
  const at = (s: number, within: number): number =>
    field.formAt(x + s * way[0], y + s * way[1], z + s * way[2], within);
  // Where the line leaves the form's box, widened by the distance it starts with.
  const wide = Math.abs(start);
  let leaves = Infinity;
  const from = [x, y, z];
  for (let k = 0; k < 3; k++) {
    if (way[k] === 0) {
      if (from[k] < bounds.min[k] - wide || from[k] > bounds.max[k] + wide) return 0;
      continue;
    }
    const side = way[k] > 0 ? bounds.max[k] + wide : bounds.min[k] - wide;
    leaves = Math.min(leaves, (side - from[k]) / way[k]);
  }
  let least = start;
  let where = 0;
  let value = start;
  for (let s = 0; s < leaves; ) {
    const step = Math.max(STEP_MM, value - least);
    s += step;
    value = at(s, Math.abs(value) + step);
    if (value >= least) continue;
    least = value;
    where = s;
  }
  if (where === 0) return 0;
  let low = Math.max(0, where - STEP_MM),
    high = where + STEP_MM;
  for (let round = 0; round < NARROWINGS; round++) {
    const a = high - GOLDEN * (high - low),
      b = low + GOLDEN * (high - low);
    const [fa, fb] = [at(a, Infinity), at(b, Infinity)];
    least = Math.min(least, fa, fb);
    if (fa < fb) high = b;
    else low = a;
  }
  return -least;
}
