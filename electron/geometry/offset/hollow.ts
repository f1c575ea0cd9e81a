/** A solid made hollow: its own surface outside, the surface a wall's thickness further in inside. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { volumeOf } from '../mesh/quantities.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { measureOffset, type OffsetEvidence } from './measure-offset.ts';
import { measureWall, type WallEvidence } from './measure-wall.ts';
import { nested } from './nested.ts';
import { OFFSET_PHASES, offsetSurface } from './offset-surface.ts';
import {
  CUT_PHASE,
  knifeFor,
  measureOpening,
  openBy,
  type Knife,
  type Opening,
  type OpeningEvidence,
  type OpenTrouble,
} from './openings.ts';
import { SignedField } from './signed-field.ts';

export const HOLLOW_PHASES = { offset: 0.55, measure: 0.15, wall: 0.15, cut: 0.15 } as const;

export interface Hollowed {
  /** Single precision, proven closed, manifold and free of self-intersection unless `troubles` or the next are above 0. */
  readonly mesh: Mesh;
  /** Of the inner side, before it is cut open. */
  readonly evidence: OffsetEvidence;
  readonly wall: WallEvidence;
  readonly hollowMm3: number;
  readonly hollows: number;
  readonly openings: readonly OpeningEvidence[];
  readonly troubles: number;
  readonly selfIntersections: number;
}

/** `solid`: it is nowhere thick enough for a wall on either side; `void`: it encloses a hollow already. */
export type HollowTrouble = OpenTrouble | 'short-curve' | 'solid' | 'void' | 'crosses';

/**
 * Hollow a closed outward solid by a wall of `wallMm`: outside its faces stay as they are (rounded to single precision),
 * inside lies the offset inward (offset-surface.ts). Where the solid is thinner than two walls it stays full. Drawn
 * openings are laid on the inner side and ruled outward from there, as a liner's are. O(area / tolerance), log n each.
 */
export function hollow(
  solid: Mesh,
  wishes: { readonly wallMm: number; readonly toleranceMm: number; readonly openings: readonly Opening[] },
  run: RunContext,
): Hollowed | HollowTrouble {
  const { wallMm, toleranceMm, openings } = wishes;
  const outer = roundToSingle(solid);
  const inOffset = run.within('offset', { ...OFFSET_PHASES });
  const inProof = run.within('measure', { [SELF_INTERSECTION_PHASE]: 1 });
  const field = new SignedField(outer, () => inOffset.step('surface', 0, 1));
  if (findSelfIntersections(outer, inProof, 1, undefined, field.tree).length > 0) return 'crosses';
  const inner = offsetSurface(field, -wallMm, toleranceMm, inOffset);
  if (inner === undefined) return 'solid';
  // The wall round a hollow that is there is left out of an offset.
  if (inner.pocketsDropped > 0) return 'void';
  const evidence = measureOffset(field, -wallMm, inner.mesh, run.within('measure', { measure: 1 }), inner.tree);
  const wall = measureWall(inner.mesh, outer, run.within('wall', { 'wall-measure': 1 }));
  const whole = nested(outer, inner.mesh);
  const found = { evidence, wall, hollowMm3: volumeOf(inner.mesh), hollows: inner.pieces };
  const tick = (): void => run.step(CUT_PHASE, 0, 1);
  const inside = new SignedField(inner.mesh, tick);
  const knives: Knife[] = [];
  for (const opening of openings) {
    const knife = knifeFor(opening, inside);
    if (knife === undefined) return 'short-curve';
    knives.push(knife);
  }
  if (knives.length === 0) {
    const inCut = run.within(CUT_PHASE, { [SELF_INTERSECTION_PHASE]: 1 });
    const selfIntersections = findSelfIntersections(whole, inCut).length / 2;
    return { mesh: whole, ...found, openings: [], troubles: 0, selfIntersections };
  }
  const opened = openBy(whole, knives, run);
  if (typeof opened === 'string') return opened;
  const cuts = opened.cuts.map((cut, number) => measureOpening(openings[number].kind, cut));
  return { ...opened, ...found, openings: cuts };
}
