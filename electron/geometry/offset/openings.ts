/** Where a liner is cut open: flat, or along curves drawn on the form; what the cuts are like. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findTwins } from '../mesh/twins.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { CurveKnife, type Away, type Sides } from './cut-curve.ts';
import { closeCut, cutOpen, flatOn, squareTo, type Cut } from './cut-flat.ts';
import { finerNear } from './finer-near.ts';
import { fairRim } from './rim-curve.ts';
import type { SignedField } from './signed-field.ts';
import { WallKnife } from './wall-knife.ts';

export type Opening =
  /** What lies on the side the normal points away from is cut off, flat. */
  | { readonly kind: 'plane'; readonly plane: Plane }
  /** A closed line on the form. */
  | { readonly kind: 'curve'; readonly points: readonly Vec3[]; readonly away: Away };

export interface Knife {
  /** Heights of the surface's vertices over the cut; where a cut of it was not sound, `attempt` counts up. */
  readonly sides: (mesh: Mesh, tick?: () => void, attempt?: number) => Sides;
  /** Whether the cut is bent, and wants a surface that is finer along it than the tolerance asks for. */
  readonly isBent: boolean;
  /** Of the surface last asked for its sides. */
  readonly cut: (mesh: Mesh, heightMm: Float64Array, nudgeMm: number, tick?: () => void) => Cut;
}

/**
 * A knife for an opening of a liner over the field's form, or, with its inside, of a wall inward from that form;
 * undefined for a curve of fewer than three places.
 */
export function knifeFor(opening: Opening, field: SignedField, inside?: SignedField): Knife | undefined {
  if (opening.kind === 'curve') {
    const curve = fairRim(opening.points, inside ?? field);
    if (curve === undefined) return undefined;
    const knife = new CurveKnife(curve);
    const bent: Knife = {
      isBent: true,
      sides: (mesh, tick) => knife.sides(mesh, opening.away, tick),
      cut: (mesh, heightMm, nudgeMm, tick) => knife.cut(mesh, heightMm, nudgeMm, tick),
    };
    const drawn = inside === undefined ? undefined : fairRim(opening.points, field);
    return inside === undefined || drawn === undefined
      ? bent
      : ofWall(new WallKnife(drawn, field, inside), opening.away, bent);
  }
  const { point, normal } = opening.plane;
  const size = Math.hypot(...normal);
  const n = normal.map((c) => c / size);
  return {
    isBent: false,
    sides: ({ positions: p }) => ({
      kind: 'sides',
      heightMm: Float64Array.from(
        { length: p.length / 3 },
        (_, v) => (p[v * 3] - point[0]) * n[0] + (p[v * 3 + 1] - point[1]) * n[1] + (p[v * 3 + 2] - point[2]) * n[2],
      ),
    }),
    cut: (mesh, heightMm, nudgeMm, tick) => {
      const heights = heightMm.map((height) => height - nudgeMm);
      const { open, rims } = cutOpen(mesh, heights, tick);
      return closeCut(open, rims, flatOn(n), true);
    },
  };
}

/** Where a line is lost on a wall, as where another opening took part of it, it is ruled from the inner side: `spare`. */
function ofWall(wall: WallKnife, away: Away, spare: Knife): Knife {
  let isLost = false;
  return {
    isBent: true,
    sides: (mesh, tick, attempt = 0) => {
      const sides = wall.sides(mesh, away, attempt, tick);
      isLost = sides.kind === 'lost';
      return sides.kind === 'lost' ? spare.sides(mesh, tick) : sides;
    },
    cut: (mesh, heightMm, nudgeMm, tick) =>
      isLost ? spare.cut(mesh, heightMm, nudgeMm, tick) : wall.cut(mesh, heightMm, tick),
  };
}

/** One for each opening; 'short-curve' where a curve has fewer than three places. */
export function knivesFor(
  openings: readonly Opening[],
  field: SignedField,
  inside?: SignedField,
): readonly Knife[] | 'short-curve' {
  const knives: Knife[] = [];
  for (const opening of openings) {
    const knife = knifeFor(opening, field, inside);
    if (knife === undefined) return 'short-curve';
    knives.push(knife);
  }
  return knives;
}

export const CUT_PHASE = 'cut';
/** How far from a bent cut a surface is made finer, and the longest edges there, mm. */
const FINE_WITHIN_MM = 3;
const FINE_MM = 2;
/** Where a cut passes too near vertices for a sound rim it is moved this far, mm. */
const NUDGES_MM = [0, 0.012, -0.017, 0.031, -0.043] as const;

export interface Opened {
  readonly mesh: Mesh;
  /** Of each opening, in order. */
  readonly cuts: readonly Cut[];
  /** Open, many-faced and flipped edges: 0 when sound. */
  readonly troubles: number;
  readonly selfIntersections: number;
}

/** An opening takes all, does not part the surface in two, or is drawn with under three places. */
export type OpenTrouble = 'nothing-left' | 'not-parted' | 'short-curve';

/**
 * Cut a closed surface by each knife in turn; every cut may be moved by up to 0.043 mm where that keeps it sound, and
 * the surface is made finer along bent cuts unless they are sound only without.
 * Single precision; proven unless `troubles` or `selfIntersections` say otherwise. O(faces log faces).
 */
export function openBy(uncut: Mesh, knives: readonly Knife[], run: RunContext): Opened | OpenTrouble {
  const tick = (): void => run.step(CUT_PHASE, 0.3, 1);
  const inProof = run.within(CUT_PHASE, { [SELF_INTERSECTION_PHASE]: 1 });
  let best: Opened | undefined;
  const ways = knives.some((knife) => knife.isBent) ? [FINE_MM, Infinity] : [Infinity];
  // Bent cuts first: a plane meets any surface, a drawn line the one it was drawn on.
  const order = [...knives.keys()].toSorted((a, b) => Number(knives[b].isBent) - Number(knives[a].isBent));
  let attempt = 0;
  for (const fineMm of ways) {
    for (const nudgeMm of NUDGES_MM) {
      let mesh = uncut;
      const cuts: Cut[] = [];
      for (const number of order) {
        const knife = knives[number];
        let sides = knife.sides(mesh, tick, attempt);
        tick();
        if (sides.kind === 'sides' && knife.isBent && fineMm < Infinity) {
          mesh = finerNear(mesh, sides.heightMm, FINE_WITHIN_MM, fineMm, tick);
          sides = knife.sides(mesh, tick, attempt);
        }
        if (sides.kind === 'not-parted') return 'not-parted';
        const cut = knife.cut(mesh, sides.heightMm, nudgeMm, tick);
        tick();
        mesh = roundToSingle(cut.mesh);
        if (mesh.triangles.length === 0) return 'nothing-left';
        cuts[number] = cut;
      }
      attempt++;
      tick();
      const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
      const troubles = twins.openEdges + twins.nonManifoldEdges + twins.flippedEdges;
      const selfIntersections = findSelfIntersections(mesh, inProof).length / 2;
      const worse = best !== undefined && troubles + selfIntersections >= best.troubles + best.selfIntersections;
      if (!worse) best = { mesh, cuts, troubles, selfIntersections };
      if (troubles === 0 && selfIntersections === 0) return best as Opened;
    }
  }
  return best as Opened;
}

/** What came of a surface cut open: `openings` in the order of the knives. */
export interface OpenedSolid {
  readonly mesh: Mesh;
  readonly openings: readonly OpeningEvidence[];
  readonly troubles: number;
  readonly selfIntersections: number;
}

/** The surface cut open as `openBy` does, each opening measured; proven too where nothing is cut. */
export function openAndMeasure(
  uncut: Mesh,
  openings: readonly Opening[],
  knives: readonly Knife[],
  run: RunContext,
  /** Of the surface as it is, where they are known. */
  uncutIntersections?: number,
): OpenedSolid | OpenTrouble {
  if (knives.length === 0) {
    const inProof = run.within(CUT_PHASE, { [SELF_INTERSECTION_PHASE]: 1 });
    const selfIntersections = uncutIntersections ?? findSelfIntersections(uncut, inProof).length / 2;
    return { mesh: uncut, openings: [], troubles: 0, selfIntersections };
  }
  const opened = openBy(uncut, knives, run);
  if (typeof opened === 'string') return opened;
  const { mesh, troubles, selfIntersections } = opened;
  const told = opened.cuts.map((cut, number) => measureOpening(openings[number].kind, cut));
  return { mesh, openings: told, troubles, selfIntersections };
}

/**
 * `kept`: 1 for each vertex of a surface that the knives leave, 0 for the others; a surface a curve does not part stays
 * whole. `reaches`: of each knife whether it takes any.
 */
export function keptBy(
  mesh: Mesh,
  knives: readonly Knife[],
  tick: () => void,
): { kept: Uint8Array; reaches: readonly boolean[] } {
  const kept = new Uint8Array(mesh.positions.length / 3).fill(1);
  const reaches = knives.map((knife) => {
    const sides = knife.sides(mesh, tick);
    if (sides.kind === 'not-parted') return true;
    let isReached = false;
    for (let v = 0; v < kept.length; v++) {
      if (sides.heightMm[v] > 0) continue;
      kept[v] = 0;
      isReached = true;
    }
    return isReached;
  });
  return { kept, reaches };
}

export interface OpeningEvidence {
  readonly kind: Opening['kind'];
  /** Round the liner's inner side. */
  readonly rimLengthMm: number;
  /** Least and largest distance between two parallel lines that hold the opening, seen square to it. */
  readonly leastWidthMm: number;
  readonly mostWidthMm: number;
  /** As seen square to it. */
  readonly areaMm2: number;
  readonly rimAreaMm2: number;
  /** Mean width of the rim's faces; null without a wall. */
  readonly rimMm: number | null;
  /** How far the rim strays from where the liner meets the band ruled from the drawn line; null for a flat opening. */
  readonly offLineMm: number | null;
}

/** Directions tried for the widths, over half a turn. */
const DIRECTIONS = 360;

/** What an opening is like, by the largest of its rims. */
export function measureOpening(kind: Opening['kind'], { inner, rimAreaMm2, rimMm, offLineMm }: Cut): OpeningEvidence {
  const lengths = inner.map((line) =>
    line.reduce((sum, [x, y, z], i) => {
      const [a, b, c] = line[(i + 1) % line.length];
      return sum + Math.hypot(a - x, b - y, c - z);
    }, 0),
  );
  const rimLengthMm = Math.max(0, ...lengths);
  const line = inner[lengths.indexOf(rimLengthMm)] ?? [];
  const places = Float64Array.from(line.flat());
  const order = line.map((_, i) => i);
  const n = squareTo(places, order);
  const areaMm2 = Math.hypot(n[0], n[1], n[2]);
  let [leastWidthMm, mostWidthMm] = [0, 0];
  if (areaMm2 > 0) {
    const flat = flatOn(n)(places, order);
    const widths = Array.from({ length: DIRECTIONS }, (_, i) => {
      const [u, v] = [Math.cos((Math.PI * i) / DIRECTIONS), Math.sin((Math.PI * i) / DIRECTIONS)];
      let [low, high] = [Infinity, -Infinity];
      for (let at = 0; at < flat.length; at += 2) {
        const along = u * flat[at] + v * flat[at + 1];
        low = Math.min(low, along);
        high = Math.max(high, along);
      }
      return high - low;
    });
    [leastWidthMm, mostWidthMm] = [Math.min(...widths), Math.max(...widths)];
  }
  return {
    kind,
    rimLengthMm,
    leastWidthMm,
    mostWidthMm,
    areaMm2,
    rimAreaMm2,
    rimMm: rimMm > 0 ? rimMm : null,
    offLineMm: offLineMm ?? null,
  };
}
