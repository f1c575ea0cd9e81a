/**
 * The liner of a form: its offset at foam thickness, hollows bridged if asked, with an outer wall if asked, cut open
 * by planes if asked. Always a sound closed solid: without a wall the padded body, with a wall the shell.
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { volumeOf } from '../mesh/quantities.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findTwins } from '../mesh/twins.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { cutFlat } from './cut-flat.ts';
import { findUndercuts, type Donning } from './donning.ts';
import type { KeepOut } from './keep-out.ts';
import { measureOffset, type OffsetEvidence } from './measure-offset.ts';
import { measureWall, type WallEvidence } from './measure-wall.ts';
import { OFFSET_PHASES, offsetSurface, type OffsetSurface } from './offset-surface.ts';
import { measureRoom, RoomyField, type AskedRoom } from './roomy-field.ts';
import { SignedField } from './signed-field.ts';
import { measureZones, type Zone, type ZoneEvidence } from './zones.ts';

export const LINER_PHASES = { tree: 0.05, offset: 0.4, measure: 0.2, wall: 0.2, donning: 0.05, cut: 0.1 } as const;

/** Where a plane passes too near vertices for a sound rim it is moved this far along its normal, mm. */
const NUDGES_MM = [0, 0.012, -0.017, 0.031, -0.043] as const;

export interface LinerWishes {
  readonly foamMm: number;
  readonly toleranceMm: number;
  /** Hollows narrower than twice this are bridged. */
  readonly bridgeMm?: number | undefined;
  readonly wallMm?: number | undefined;
  /** Places with a thickness of their own. */
  readonly zones?: readonly Zone[] | undefined;
  /** What lies on the side of each plane its normal points away from is cut off. */
  readonly openings: readonly Plane[];
  /** Direction in which the part is put on. */
  readonly donning?: Vec3 | undefined;
  /** Volumes beside the body that stay free. */
  readonly keepOuts?: readonly KeepOut[] | undefined;
  /** Give the body room on its way in along `donning`, but for what the foam gives, mm. */
  readonly clearGiveMm?: number | undefined;
}

export interface Liner {
  /** Single precision, proven closed, manifold and free of self-intersection unless `troubles` is above 0. */
  readonly mesh: Mesh;
  /** Of the liner surface before it is cut open, against the form; when bridged, against the bridged target. */
  readonly evidence: OffsetEvidence;
  /** Of the wall itself, between its two surfaces, before it is cut open. */
  readonly wallEvidence: WallEvidence | undefined;
  /** Least and largest distance of the liner surface from the form, mm. */
  readonly minMm: number;
  readonly maxMm: number;
  /** Between form and liner surface, before it is cut open. */
  readonly foamVolumeMm3: number;
  readonly zones: readonly ZoneEvidence[];
  readonly donning: Donning | undefined;
  /** Where the liner stands off the body for the way in and for volumes left free; of what openings leave. */
  readonly asked: readonly AskedRoom[];
  readonly surface: OffsetSurface;
  readonly selfIntersections: number;
  /** Open, many-faced and flipped edges: 0 when sound. */
  readonly troubles: number;
  readonly cutAreaMm2: number;
}

/** Make a liner; an opening may be moved by up to 0.043 mm where that keeps it sound; undefined when the openings leave nothing. The form must be closed and outward. */
export function makeLiner(form: Mesh, wishes: LinerWishes, run: RunContext): Liner | undefined {
  const { foamMm, toleranceMm, bridgeMm, wallMm, openings, donning, zones = [], keepOuts = [], clearGiveMm } = wishes;
  run.step('tree', 0, 1);
  const tick = (): void => run.step('tree', 0.5, 1);
  const clear =
    clearGiveMm === undefined || donning === undefined ? undefined : { direction: donning, giveMm: clearGiveMm };
  const isPlain = zones.length === 0 && keepOuts.length === 0 && clear === undefined;
  const zoned = isPlain ? undefined : new RoomyField(form, { foamMm, zones, keepOuts, clear }, tick);
  const field = zoned ?? new SignedField(form, tick);
  run.step('tree', 1, 1);
  const inOffset = run.within('offset', { ...OFFSET_PHASES });
  let surface: OffsetSurface;
  let evidence: OffsetEvidence;
  let minMm: number;
  let maxMm: number;
  const inMeasure = run.within('measure', { measure: 1 });
  let target = field;
  if (bridgeMm === undefined) {
    surface = offsetSurface(field, foamMm, toleranceMm, inOffset) as OffsetSurface;
    evidence = measureOffset(field, foamMm, surface.mesh, inMeasure, surface.tree);
    ({ minMm, maxMm } = evidence);
  } else {
    // Out by foam and bridge together, back in by the bridge: a ball of that radius rolls over the hollows. The way out
    // is made finer, so that the sum of both misses stays near the tolerance.
    // With zones the sum is no thickness: there the surface is made first.
    const near = zoned === undefined ? undefined : offsetSurface(field, foamMm, toleranceMm / 2, inOffset);
    const start = near === undefined ? field : new SignedField(near.mesh);
    const reach = near === undefined ? foamMm + bridgeMm : bridgeMm;
    const far = offsetSurface(start, reach, toleranceMm / 2, inOffset) as OffsetSurface;
    target = new SignedField(far.mesh);
    surface = offsetSurface(target, -bridgeMm, toleranceMm, inOffset) as OffsetSurface;
    evidence = measureOffset(target, -bridgeMm, surface.mesh, inMeasure, surface.tree);
    const thickness = measureOffset(field, foamMm, surface.mesh, inMeasure, surface.tree);
    ({ minMm, maxMm } = thickness);
  }
  const foamVolumeMm3 = volumeOf(surface.mesh) - volumeOf(form);
  let mesh = surface.mesh;
  let wallEvidence: WallEvidence | undefined;
  if (wallMm !== undefined) {
    const inWall = run.within('wall', { ...OFFSET_PHASES, 'wall-measure': 0.15 });
    const plain = bridgeMm === undefined && zoned === undefined;
    const from = plain ? field : new SignedField(surface.mesh);
    const by = plain ? foamMm + wallMm : wallMm;
    const outer = offsetSurface(from, by, toleranceMm, inWall) as OffsetSurface;
    wallEvidence = measureWall(surface.mesh, outer.mesh, inWall);
    mesh = nested(outer.mesh, surface.mesh);
  }
  const zoneEvidence = zoned === undefined ? [] : measureZones(zoned, surface.mesh, () => run.step('cut', 0, 1));
  const kept = (x: number, y: number, z: number): boolean => isKept(openings, x, y, z);
  const undercuts = donning === undefined ? undefined : findUndercuts(field, foamMm, surface.mesh, donning, kept, run);
  const asked = zoned === undefined ? [] : measureRoom(zoned, surface.mesh, kept, () => run.step('donning', 1, 1));
  run.step('cut', 0, 1);
  const uncut = mesh;
  let cutAreaMm2 = 0;
  let selfIntersections = 0;
  let troubles = 0;
  for (const nudgeMm of openings.length === 0 ? [0] : NUDGES_MM) {
    cutAreaMm2 = 0;
    mesh = uncut;
    for (const plane of openings) {
      const cut = cutFlat(mesh, nudged(plane, nudgeMm));
      mesh = roundToSingle(cut.mesh);
      cutAreaMm2 += cut.cutAreaMm2;
      if (mesh.triangles.length === 0) return undefined;
    }
    run.step('cut', 0.5, 1);
    const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
    troubles = twins.openEdges + twins.nonManifoldEdges + twins.flippedEdges;
    selfIntersections = mesh === surface.mesh ? surface.selfIntersections : findSelfIntersections(mesh).length / 2;
    if (troubles === 0 && selfIntersections === 0) break;
  }
  return {
    mesh,
    evidence,
    wallEvidence,
    minMm,
    maxMm,
    foamVolumeMm3,
    zones: zoneEvidence,
    donning: undercuts,
    asked,
    surface,
    selfIntersections,
    troubles,
    cutAreaMm2,
  };
}

/** Whether a point lies on the side of every plane that stays. */
function isKept(planes: readonly Plane[], x: number, y: number, z: number): boolean {
  return planes.every(
    ({ point: [px, py, pz], normal: [nx, ny, nz] }) => (x - px) * nx + (y - py) * ny + (z - pz) * nz > 0,
  );
}

function nudged(plane: Plane, byMm: number): Plane {
  const by = byMm / Math.hypot(...plane.normal);
  const [x, y, z] = plane.point;
  const [nx, ny, nz] = plane.normal;
  return { point: [x + by * nx, y + by * ny, z + by * nz], normal: plane.normal };
}

/** The solid between two closed surfaces: the inner one turned inside out. */
function nested(outer: Mesh, inner: Mesh): Mesh {
  const positions = new Float64Array(outer.positions.length + inner.positions.length);
  positions.set(outer.positions);
  positions.set(inner.positions, outer.positions.length);
  const triangles = new Uint32Array(outer.triangles.length + inner.triangles.length);
  triangles.set(outer.triangles);
  const first = outer.positions.length / 3;
  const base = outer.triangles.length;
  for (let f = 0; f < inner.triangles.length; f += 3) {
    triangles[base + f] = first + inner.triangles[f];
    triangles[base + f + 1] = first + inner.triangles[f + 2];
    triangles[base + f + 2] = first + inner.triangles[f + 1];
  }
  return { positions, triangles };
}
