/**
 * The liner of a form: its offset at foam thickness, hollows bridged if asked, with an outer wall if asked, cut open
 * by planes if asked. Always a sound closed solid: without a wall the padded body, with a wall the shell.
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { findSelfIntersections, passThrough, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { BridgedField } from './bridged-field.ts';
import { findUndercuts, type Donning } from './donning.ts';
import { foamVolume } from './foam-volume.ts';
import type { KeepOut } from './keep-out.ts';
import { measureOffset, type OffsetEvidence } from './measure-offset.ts';
import { measureWall, type WallEvidence } from './measure-wall.ts';
import { keptBy, knivesFor, openAndMeasure, type Opening, type OpeningEvidence, type OpenTrouble } from './openings.ts';
import { nested } from './nested.ts';
import { OFFSET_PHASES, offsetSurface, type OffsetSurface } from './offset-surface.ts';
import { measureRoom, RoomyField, type AskedRoom } from './roomy-field.ts';
import { SignedField } from './signed-field.ts';
import { WallField } from './wall-field.ts';
import { bestTilt, type TiltedWay } from './tilted-way.ts';
import { leastOpening, waysIn, type LeastOpening, type WaysIn } from './ways-in.ts';
import { measureZones, type Zone, type ZoneEvidence } from './zones.ts';

export const LINER_PHASES = { tree: 0.05, offset: 0.4, measure: 0.2, wall: 0.2, donning: 0.05, cut: 0.1 } as const;

/** Faces of a form that cut one another are looked for until there are so many pairs. */
const MOST_CROSSINGS = 10_000;

/** A liner that misses by more than so many tolerances somewhere is made again, for these shares of the tolerance in turn. */
const AGAIN = 1.5;
const SHARES = [1, 0.94, 0.88] as const;
/** More missing than so many tolerances, and mm, is a gap that the foam closes, whatever the cubes. */
const CLOSED = 10;
const CLOSED_MM = 1;

export interface LinerWishes {
  readonly foamMm: number;
  readonly toleranceMm: number;
  /** Hollows narrower than twice this are bridged. */
  readonly bridgeMm?: number | undefined;
  readonly wallMm?: number | undefined;
  /** Places with a thickness of their own, over the bridged body. */
  readonly zones?: readonly Zone[] | undefined;
  readonly openings: readonly Opening[];
  /** Direction in which the part is put on. */
  readonly donning?: Vec3 | undefined;
  /** Volumes beside the body that stay free. */
  readonly keepOuts?: readonly KeepOut[] | undefined;
  /** How much the foam gives on the way, mm. */
  readonly giveMm?: number | undefined;
  /** How far the part may be tipped on its way in, degrees; 0: only the straight way is looked at. */
  readonly mostTiltDegrees?: number | undefined;
  /** Give the body room on its way in along `donning`, but for what the foam gives. */
  readonly isCleared?: boolean | undefined;
}

export interface Liner {
  /** Single precision, proven closed, manifold and free of self-intersection unless `troubles` is above 0. */
  readonly mesh: Mesh;
  /** Of the liner surface before it is cut open, against the form; when bridged, against the bridged target. */
  readonly evidence: OffsetEvidence;
  /** Of the wall itself, between its two surfaces, before it is cut open. */
  readonly wallEvidence: WallEvidence | undefined;
  /** Least, largest and mean distance of the liner surface from the form, mm. */
  readonly minMm: number;
  readonly maxMm: number;
  readonly meanMm: number;
  /** Between form and liner surface, before it is cut open; neither in voids of the form nor in pockets left out. */
  readonly foamVolumeMm3: number;
  readonly zones: readonly ZoneEvidence[];
  readonly donning: Donning | undefined;
  /** Where the liner stands off the body for the way in and for volumes left free; of what openings leave. */
  readonly asked: readonly AskedRoom[];
  readonly surface: OffsetSurface;
  readonly selfIntersections: number;
  /** Open, many-faced and flipped edges: 0 when sound. */
  readonly troubles: number;
  /** In the order of the wishes. */
  readonly openings: readonly OpeningEvidence[];
  /** And whether each takes anything of the liner's inner side. */
  readonly reaches: readonly boolean[];
  /** Against the largest body section above it; undefined without a flat opening. */
  readonly leastOpening: LeastOpening | undefined;
  /** A way in with one tilt along which the foam has to give less, where the straight one asks for too much. */
  readonly tiltedWay: TiltedWay | undefined;
  /** What would help, where the body does not pass. */
  readonly waysIn: WaysIn | undefined;
}

/**
 * Why there is no liner: its openings; or the form's faces pass through one another, so that it has no inside; or volumes
 * to be left free cover it whole.
 */
export type LinerTrouble = OpenTrouble | 'form-crosses' | 'covered';

/**
 * Make a liner; an opening may be moved by up to 0.043 mm where that keeps it sound. The form must be closed and
 * outward, without faces that pass through one another. `donning` and `isCleared` go together with an opening.
 */
export function makeLiner(form: Mesh, wishes: LinerWishes, run: RunContext): Liner | LinerTrouble {
  const {
    foamMm,
    toleranceMm,
    bridgeMm,
    wallMm,
    openings,
    donning,
    zones = [],
    keepOuts = [],
    giveMm = 0,
    isCleared = false,
  } = wishes;
  run.step('tree', 0, 1);
  const tick = (): void => run.step('tree', 0.5, 1);
  const clear = isCleared && donning !== undefined ? { direction: donning, giveMm } : undefined;
  const isPlain = zones.length === 0 && keepOuts.length === 0 && clear === undefined;
  const room = { foamMm, zones, keepOuts, clear };
  const zoned = isPlain ? undefined : new RoomyField(form, room, tick);
  const field = zoned ?? new SignedField(form, tick);
  const inTree = run.within('tree', { [SELF_INTERSECTION_PHASE]: 1 });
  const crossings = findSelfIntersections(form, inTree, MOST_CROSSINGS, undefined, field.tree);
  for (let i = 0; i < crossings.length; i += 2) {
    if (passThrough(form, crossings[i], crossings[i + 1])) return 'form-crosses';
  }
  run.step('tree', 1, 1);
  const inOffset = run.within('offset', { ...OFFSET_PHASES });
  const inMeasure = run.within('measure', { measure: 1 });
  const bridged = bridgeMm === undefined ? undefined : new BridgedField(form, bridgeMm, room, inOffset);
  const target = bridged ?? field;
  const made = makeAndMeasure(target, foamMm, toleranceMm, inOffset, inMeasure);
  if (made === undefined) return 'covered';
  const { surface, evidence } = made;
  const { minMm, maxMm, meanMm } = evidence;
  const foamVolumeMm3 = foamVolume(form, surface.mesh, surface.pocketVolumeMm3);
  let mesh = surface.mesh;
  let wallEvidence: WallEvidence | undefined;
  if (wallMm !== undefined) {
    const inWall = run.within('wall', { ...OFFSET_PHASES, 'wall-measure': 0.15 });
    const outer = wallAround(surface, bridged ?? zoned, field, wishes, inWall);
    if (outer === undefined) return 'covered';
    wallEvidence = outer.evidence;
    mesh = nested(outer.surface.mesh, surface.mesh);
  }
  const zoneEvidence =
    zoned === undefined ? [] : measureZones(bridged ?? zoned, surface.mesh, () => run.step('cut', 0, 1));
  const tickCut = (): void => run.step('cut', 0.3, 1);
  const knives = knivesFor(openings, field);
  if (knives === 'short-curve') return knives;
  const { kept, reaches } = keptBy(surface.mesh, knives, tickCut);
  const undercuts = donning === undefined ? undefined : findUndercuts(field, foamMm, surface.mesh, donning, kept, run);
  const asked = zoned === undefined ? [] : measureRoom(zoned, surface.mesh, kept, () => run.step('donning', 1, 1));
  const flat = wayThrough(openings, donning);
  const way = donning ?? ((flat === undefined ? undefined : flat.normal.map((c) => -c)) as Vec3 | undefined);
  const least =
    flat === undefined || way === undefined
      ? undefined
      : leastOpening(form, surface.mesh, way, flat, () => run.step('donning', 1, 1));
  const ways =
    flat === undefined || donning === undefined || undercuts === undefined
      ? undefined
      : waysIn(
          field,
          foamMm,
          surface.mesh,
          kept,
          { direction: donning, plane: flat, giveMm: giveMm + (isCleared ? toleranceMm : 0), donning: undercuts },
          run,
        );
  const { mostTiltDegrees = 0 } = wishes;
  const tiltedWay =
    donning === undefined || undercuts === undefined || mostTiltDegrees === 0 || undercuts.deepestMm <= giveMm
      ? undefined
      : bestTilt(
          field,
          foamMm,
          surface.mesh,
          donning,
          kept,
          { mostDegrees: mostTiltDegrees, straightMm: undercuts.deepestMm },
          run,
        );
  const opened = openAndMeasure(
    mesh,
    openings,
    knives,
    run,
    wallMm === undefined ? surface.selfIntersections : undefined,
  );
  if (typeof opened === 'string') return opened;
  // What was not asked for is done too.
  for (const phase of ['wall', 'donning', 'cut']) run.step(phase, 1, 1);
  return {
    ...opened,
    reaches,
    evidence,
    wallEvidence,
    minMm,
    maxMm,
    meanMm,
    foamVolumeMm3,
    zones: zoneEvidence,
    donning: undercuts,
    asked,
    surface,
    leastOpening: least,
    tiltedWay,
    waysIn: ways,
  };
}

/** A liner's surface with what it misses; made again with other cubes where it misses by too much, and the best one kept. */
function makeAndMeasure(
  field: SignedField,
  foamMm: number,
  toleranceMm: number,
  inOffset: RunContext,
  inMeasure: RunContext,
): { readonly surface: OffsetSurface; readonly evidence: OffsetEvidence } | undefined {
  let best: { readonly surface: OffsetSurface; readonly evidence: OffsetEvidence } | undefined;
  let least = Infinity;
  for (const share of SHARES) {
    const surface = offsetSurface(field, foamMm, share * toleranceMm, inOffset);
    if (surface === undefined) return best;
    const evidence = measureOffset(field, foamMm, surface.mesh, inMeasure, surface.tree);
    const { maxAbsErrorMm, missingMaxMm } = evidence;
    const isClosed = missingMaxMm > Math.max(CLOSED * toleranceMm, CLOSED_MM) || surface.pocketsDropped > 0;
    const worst = surface.selfIntersections > 0 ? Infinity : Math.max(maxAbsErrorMm, isClosed ? 0 : missingMaxMm);
    if (best === undefined || worst < least) [best, least] = [{ surface, evidence }, worst];
    if (least <= AGAIN * toleranceMm) break;
  }
  return best;
}

/**
 * The outer side of a wall about a liner made from `made`, or from the form's plain field. As a level of what it was made
 * from wherever that is as far away; where foam gives on the way in by more than there is, or what the field says is in
 * other pieces, as the offset of the liner itself.
 */
function wallAround(
  inner: OffsetSurface,
  made: RoomyField | undefined,
  field: SignedField,
  { foamMm, toleranceMm, wallMm = 0, zones = [], giveMm = 0, isCleared = false, bridgeMm }: LinerWishes,
  run: RunContext,
): { readonly surface: OffsetSurface; readonly evidence: WallEvidence } | undefined {
  const measured = (surface: OffsetSurface) => ({ surface, evidence: measureWall(inner.mesh, surface.mesh, run) });
  const isFar = bridgeMm !== undefined || (isCleared && (zones.length > 0 ? giveMm > 0 : giveMm >= foamMm));
  if (!isFar) {
    const from = made === undefined ? field : zones.length > 0 ? new WallField(made, foamMm) : made;
    const outer = offsetSurface(from, foamMm + wallMm, toleranceMm, run);
    if (outer !== undefined && outer.pieces === inner.pieces && outer.selfIntersections === 0) {
      const wall = measured(outer);
      const { minMm, maxMm } = wall.evidence;
      // Thicker foam beside a place may be nearer, or farther, than the level says.
      if (Math.max(wallMm - minMm, maxMm - wallMm) <= AGAIN * toleranceMm) return wall;
    }
  }
  const outer = offsetSurface(new SignedField(inner.mesh), wallMm, toleranceMm, run);
  return outer === undefined ? undefined : measured(outer);
}

/** The flat opening the body comes in by: the one that faces the way in most; without a way in the first. */
function wayThrough(openings: readonly Opening[], donning: Vec3 | undefined): Plane | undefined {
  const planes = openings.flatMap((opening) => (opening.kind === 'plane' ? [opening.plane] : []));
  if (donning === undefined) return planes[0];
  const along = ({ normal: n }: Plane): number =>
    (n[0] * donning[0] + n[1] * donning[1] + n[2] * donning[2]) / Math.hypot(...n);
  return planes.toSorted((a, b) => along(a) - along(b))[0];
}
