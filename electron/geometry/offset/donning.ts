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
import { boundsOf, type Bounds } from '../mesh/quantities.ts';
import { faceCross } from '../mesh/face-cross.ts';
import type { SignedField } from './signed-field.ts';
import { SweptBody } from './swept-body.ts';

export const DONNING_PHASE = 'donning';
/** Least step along a line, mm: a bump narrower than this may be met beside its top; and where it is only to be looked at. */
const STEP_MM = 2;
const COARSE_STEP_MM = 8;
/** And where it is only to be looked at, this share of how deep the point lies there, if that is more. */
const COARSE_SHARE = 1 / 3;
/** Narrowings of the bracket round the least: to 0.1 mm, or where it is only to be looked at to a quarter of it. */
const NARROWINGS = 8;
const COARSE_NARROWINGS = 2;
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
 * narrower than 2 mm; `isCoarse` within a
 * few tenths of a mm, except at ones narrower than 8 mm or a third of the depth. `swept`: the form's own along `direction`, if there is one already. The path is straight, without tilt. O(vertices · log n), and the length of the body / 2 mm for
 * each that lies in the way.
 */
export function findUndercuts(
  field: SignedField,
  foamMm: number,
  liner: Mesh,
  direction: Vec3,
  kept: Uint8Array,
  run: RunContext,
  { isCoarse = false, swept }: { readonly isCoarse?: boolean; readonly swept?: SweptBody | undefined } = {},
): Donning {
  const { positions: p, triangles: t } = liner;
  const vertexCount = p.length / 3;
  const depth = new Float64Array(vertexCount);
  const way = new StraightWay(field, direction, () => run.step(DONNING_PHASE, 0, vertexCount), isCoarse, swept);
  let samples = 0;
  for (let v = 0; v < vertexCount; v++) {
    if ((v & STRIDE) === 0) run.step(DONNING_PHASE, v, vertexCount);
    const [x, y, z] = p.subarray(v * 3, v * 3 + 3);
    if (kept[v] === 0) continue;
    samples++;
    // Where the liner stands off the body there is only as much foam as was asked for.
    const over = field.formAt(x, y, z);
    const thickness = Math.min(over, foamMm + field.shift(x, y, z, over));
    depth[v] = way.depthAt(x, y, z, thickness, over);
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

/** What a form's straight way in asks of points round it. */
export class StraightWay {
  readonly #field: SignedField;
  readonly #swept: SweptBody;
  readonly #bounds: Bounds;
  /** Unit: along the line a point goes against the direction, as the body sweeps with it. */
  readonly #back: Vec3;
  readonly #stepMm: number;
  readonly #share: number;
  readonly #narrowings: number;
  /** How far along the way the last point lay deepest: its neighbour does so nearby. */
  #deepAt = 0;

  /** `direction`: in which the part is put on, of any length; the field's own form comes in against it. O(n log n). */
  constructor(
    field: SignedField,
    direction: Vec3,
    tick?: () => void,
    isCoarse = false,
    swept = new SweptBody(field.mesh, direction, tick),
  ) {
    const length = Math.hypot(...direction);
    this.#field = field;
    this.#swept = swept;
    this.#bounds = boundsOf(field.mesh.positions);
    this.#back = [-direction[0] / length, -direction[1] / length, -direction[2] / length];
    this.#stepMm = isCoarse ? COARSE_STEP_MM : STEP_MM;
    this.#share = isCoarse ? COARSE_SHARE : 0;
    this.#narrowings = isCoarse ? COARSE_NARROWINGS : NARROWINGS;
  }

  /** How much foam `thickness` thick must give at a point `over` mm over the form on its way, mm. */
  depthAt(x: number, y: number, z: number, thickness: number, over: number): number {
    const room = this.#swept.at(x, y, z, thickness > 0 ? thickness : Infinity);
    return room > 0 ? Math.max(0, thickness - room) : thickness + this.#inForm(x, y, z, over);
  }

  /** How deep in the form a point comes to lie, mm. */
  #inForm(x: number, y: number, z: number, over: number): number {
    const [wx, wy, wz] = this.#back;
    const { min, max } = this.#bounds;
    const stepAt = (value: number): number => Math.max(this.#stepMm, -this.#share * value);
    const at = (s: number, within: number): number =>
      this.#field.formAt(x + s * wx, y + s * wy, z + s * wz, Math.abs(within));
    let value = over;
    // Where the line leaves the form's box, widened by the distance it starts with.
    const wide = Math.abs(value);
    let leaves = Infinity;
    for (const [k, from] of [x, y, z].entries()) {
      const along = this.#back[k];
      if (along === 0) {
        if (from < min[k] - wide || from > max[k] + wide) return 0;
        continue;
      }
      leaves = Math.min(leaves, ((along > 0 ? max[k] + wide : min[k] - wide) - from) / along);
    }
    let least = value;
    let where = 0;
    const take = (s: number, found: number): number => {
      if (found < least) [least, where] = [found, s];
      return found;
    };
    // The deeper the first look, the longer the steps may be.
    const already = x * wx + y * wy + z * wz;
    const guess = this.#deepAt - already;
    if (guess > 0 && guess < leaves) take(guess, at(guess, Math.abs(over) + guess));
    for (let s = 0; s < leaves; ) {
      const by = Math.max(stepAt(value), value - least);
      s += by;
      value = take(s, at(s, Math.abs(value) + by));
    }
    if (where === 0) return 0;
    this.#deepAt = where + already;
    const step = stepAt(least);
    let low = Math.max(0, where - step),
      high = where + step;
    const near = Math.abs(least) + 2 * step;
    let a = high - GOLDEN * (high - low),
      b = low + GOLDEN * (high - low);
    let fa = take(a, at(a, near)),
      fb = take(b, at(b, near));
    for (let round = 0; round < this.#narrowings; round++) {
      if (fa < fb) {
        [high, b, fb] = [b, a, fa];
        a = high - GOLDEN * (high - low);
        fa = take(a, at(a, near));
      } else {
        [low, a, fa] = [a, b, fb];
        b = low + GOLDEN * (high - low);
        fb = take(b, at(b, near));
      }
    }
    return -least;
  }
}
