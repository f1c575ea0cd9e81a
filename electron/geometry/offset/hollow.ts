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
  keptBy,
  knivesFor,
  openAndMeasure,
  type OpenedSolid,
  type Opening,
  type OpenTrouble,
} from './openings.ts';
import { SignedField } from './signed-field.ts';

export const HOLLOW_PHASES = { offset: 0.55, measure: 0.15, wall: 0.15, cut: 0.15 } as const;

/** Proven as `OpenedSolid` says. */
export interface Hollowed extends OpenedSolid {
  /** Of the inner side, before it is cut open. */
  readonly evidence: OffsetEvidence;
  /** Of what the openings leave. */
  readonly wall: WallEvidence;
  readonly hollowMm3: number;
  readonly hollows: number;
  /** Whether each opening takes anything of the inner side. */
  readonly reaches: readonly boolean[];
}

/** `solid`: it is nowhere thick enough for a wall on either side; `void`: it encloses a hollow already. */
export type HollowTrouble = OpenTrouble | 'solid' | 'void' | 'crosses';

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
  const tick = (): void => run.step(CUT_PHASE, 0, 1);
  const knives = knivesFor(openings, new SignedField(inner.mesh, tick));
  if (knives === 'short-curve') return knives;
  const { reaches, kept } = keptBy(inner.mesh, knives, tick);
  const left = { inner: kept, outer: keptBy(outer, knives, tick).kept };
  const wall = measureWall(inner.mesh, outer, run.within('wall', { 'wall-measure': 1 }), left);
  const opened = openAndMeasure(nested(outer, inner.mesh), openings, knives, run);
  if (typeof opened === 'string') return opened;
  return { ...opened, evidence, wall, hollowMm3: volumeOf(inner.mesh), hollows: inner.pieces, reaches };
}
