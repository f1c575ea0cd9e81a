/** A solid made hollow: its own surface outside, the surface a wall's thickness further in inside. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
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
  /** Hollows that were left full, because no opening reaches them where one reaches another; and how large they were. */
  readonly filled: number;
  readonly filledMm3: number;
  /** Whether each opening takes anything of the inner side. */
  readonly reaches: readonly boolean[];
}

/** `solid`: it is nowhere thick enough for a wall on either side; `void`: it encloses a hollow already. */
export type HollowTrouble = OpenTrouble | 'solid' | 'void' | 'crosses';

/**
 * Hollow a closed outward solid by a wall of `wallMm`: outside its faces stay as they are (rounded to single precision),
 * inside lies the offset inward (offset-surface.ts). Where the solid is thinner than two walls it stays full, and so do
 * hollows that no opening reaches, where one reaches another: what gets into them comes out no more. Drawn openings lie on
 * the outer side as they were drawn, and on the inner where it is nearest to that. O(area / tolerance), log n each.
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
  const knives = knivesFor(openings, field, new SignedField(inner.mesh, tick));
  if (knives === 'short-curve') return knives;
  const { reaches, kept } = keptBy(inner.mesh, knives, tick);
  const { inside, filled } = openHollows(inner.mesh, kept);
  const left = {
    inner: filled === 0 ? kept : keptBy(inside, knives, tick).kept,
    outer: keptBy(outer, knives, tick).kept,
  };
  const wall = measureWall(inside, outer, run.within('wall', { 'wall-measure': 1 }), left);
  const opened = openAndMeasure(nested(outer, inside), openings, knives, run);
  if (typeof opened === 'string') return opened;
  const hollowMm3 = volumeOf(inside);
  const filledMm3 = filled === 0 ? 0 : volumeOf(inner.mesh) - hollowMm3;
  return { ...opened, evidence, wall, hollowMm3, hollows: inner.pieces - filled, filled, filledMm3, reaches };
}

/** The hollows that are cut open, of vertices that stay or go; all of them where none is. O(faces). */
function openHollows(inner: Mesh, kept: Uint8Array): { readonly inside: Mesh; readonly filled: number } {
  const { triangles: t } = inner;
  const { pieceOfFace, count } = findPieces(t, inner.positions.length / 3);
  const isOpen = new Uint8Array(count);
  for (let h = 0; h < t.length; h++) if (kept[t[h]] === 0) isOpen[pieceOfFace[(h / 3) | 0]] = 1;
  const open = isOpen.reduce((sum, one) => sum + one, 0);
  if (open === 0 || open === count) return { inside: inner, filled: 0 };
  return {
    inside: keepFaces(
      inner,
      Uint8Array.from(pieceOfFace, (piece) => isOpen[piece]),
    ),
    filled: count - open,
  };
}
