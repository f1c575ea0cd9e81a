/** What is wanted of a liner while it is being thought over, and the parameters that come of it. Pure. */
import { namedRegion, thicknessAt, type Zone } from '../../../electron/geometry/measure/zone-share.ts';
import { heightsFrom } from '../../controls/heights.ts';
import { dabbed } from '../../controls/dabs.ts';
import type { Drawing } from '../../controls/drawing.ts';
import { LEAST_PLACES, openingParameter } from '../../controls/openings.ts';
import type { PlanDraft, PlannedCut } from '../../../shared-types/calls/plans.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { DEGREES_PER_RADIAN } from '../../../shared-types/units.ts';

export type LinerPlan = PlanDraft<'liner'>;
type OpeningPlane = PlannedCut;
/** A place with a foam of its own: painted on the form, or one of the usual places of a head. */
export type PlannedZone = LinerPlan['zones'][number];
export type PlannedKeepOut = LinerPlan['keepOuts'][number];
/** What can be placed: spectacles are three boxes. */
export type KeepOutShape = PlannedKeepOut['kind'] | 'spectacles';

export const WAYS_IN = {
  none: { label: 'Not looked at', direction: undefined },
  down: { label: 'Down from above', direction: [0, 0, -1] },
  back: { label: 'From the front, backward', direction: [-1, 0, 0] },
  forward: { label: 'From behind, forward', direction: [1, 0, 0] },
  up: { label: 'Up from below', direction: [0, 0, 1] },
  right: { label: 'From the left side', direction: [0, -1, 0] },
  left: { label: 'From the right side', direction: [0, 1, 0] },
} as const satisfies Record<LinerPlan['wayIn'], { label: string; direction: Vec3 | undefined }>;
export type WayIn = LinerPlan['wayIn'];

/** What undo would take back. */
export const LINER_STEPS: Readonly<Record<keyof LinerPlan, string>> = {
  foamMm: 'change the foam of a liner',
  hasBridge: 'bridge the hollows of a liner',
  bridgeMm: 'bridge the hollows of a liner',
  hasWall: 'change the wall of a liner',
  wallMm: 'change the wall of a liner',
  opening: 'open a liner',
  farOpening: 'open the other end of a liner',
  half: 'choose a half of a liner',
  curves: 'draw an opening of a liner',
  largerGoes: 'draw an opening of a liner',
  zones: 'change a zone of a liner',
  wayIn: 'change the way into a liner',
  giveMm: 'change the way into a liner',
  isTipped: 'change the way into a liner',
  isCleared: 'take the undercuts out of a liner',
  keepOuts: 'leave room beside a liner',
  projectId: 'choose the project of a liner',
};

/** What a press on the form does at the moment. */
export type LinerTool =
  | { readonly kind: 'paint'; readonly zoneId: string; readonly isErasing: boolean; readonly isMirrored: boolean }
  | { readonly kind: 'curve'; readonly drawing: Drawing }
  | { readonly kind: 'keep-out'; readonly shape: KeepOutShape };

/**
 * Where a flat opening is told from and first lies, by the frame of the body: under the notches of the ears about the
 * jaw, over the wrist or ankle, at the waist; and how far above the origin one at the other end. Common practice, no source, as are the other lengths here.
 */
export const OPENINGS = {
  head: { label: `Below ${heightsFrom('head')} by`, sign: -1, firstMm: 90, farMm: 100 },
  limb: { label: `Above ${heightsFrom('limb')} by`, sign: 1, firstMm: 10, farMm: 200 },
  torso: { label: `Below ${heightsFrom('torso')} by`, sign: -1, firstMm: 350, farMm: 40 },
} as const;

/**
 * Hollows are bridged from the start: a sheet of foam does not follow a hollow much tighter than it is thick, and where
 * sheets meet in a fold the liner has a crease that no hand can reach. Common practice, no source.
 */
export const FIRST_PLAN: LinerPlan = {
  foamMm: 8,
  hasBridge: true,
  bridgeMm: 12,
  hasWall: false,
  wallMm: 3,
  opening: undefined,
  farOpening: undefined,
  half: undefined,
  curves: [],
  zones: [],
  wayIn: 'none',
  giveMm: 3,
  isTipped: false,
  isCleared: false,
  keepOuts: [],
  projectId: undefined,
};

/** A level plane so far above the origin of a form. */
export const levelAt = (mm: number): OpeningPlane => ({ point: [0, 0, mm], normal: [0, 0, 1] });

/** The same with what is below it staying. */
export const levelUnder = (mm: number): OpeningPlane => ({ point: [0, 0, mm], normal: [0, 0, -1] });

/** How far above the origin the plane passes; infinite for one that stands upright. */
export function heightOf({ point, normal }: OpeningPlane): number {
  const [x, y, z] = point;
  const [nx, ny, nz] = normal;
  return z + (nx * x + ny * y) / nz;
}

export function tiltDegrees({ normal }: OpeningPlane): number {
  const [x, y, z] = normal;
  return Math.atan2(Math.hypot(x, y), z) * DEGREES_PER_RADIAN;
}

/** The form's middle plane is y = 0. */
const mirrored = ([x, y, z]: Vec3): Vec3 => [x, -y, z];

/** The zone after the brush touched a place, and the place opposite. */
export function painted(zone: PlannedZone, at: Vec3, isErasing: boolean, isMirrored: boolean): PlannedZone {
  const places = isMirrored ? [at, mirrored(at)] : [at];
  const dabs = places.reduce((so, place) => dabbed(so, zone.brushMm, place, isErasing), zone.dabs);
  return dabs === zone.dabs ? zone : { ...zone, dabs };
}

/** Least width of a blend, and how many times the largest step it is at least: the liner then rises by 37 degrees at most. */
const LEAST_BLEND_MM = 12;
const STEP_TO_BLEND = 2;

/** The zone's foam as worn, mm. */
export const roomOf = ({ foamMm = 0, compression }: PlannedZone): number => foamMm * (1 - compression);
const isPlaced = ({ region, dabs }: PlannedZone): boolean => region !== undefined || dabs.length > 0;

/** Width over which zones pass into their surroundings: as narrow as the steps between them allow. */
export function blendOf({ foamMm = 0, zones }: Pick<LinerPlan, 'foamMm' | 'zones'>): number {
  const rooms = [foamMm, ...zones.filter(isPlaced).map(roomOf)];
  return Math.max(LEAST_BLEND_MM, Math.ceil(STEP_TO_BLEND * (Math.max(...rooms) - Math.min(...rooms))));
}

/** Steps under this share of the largest are not drawn. */
const LEAST_SHOWN = 0.08;

/** How much thicker than the rest (thinner below 0) the foam is at each vertex of a form, mm, NaN where it is the same; undefined without zones. */
export function thicknessMap(
  { foamMm, zones }: Pick<LinerPlan, 'foamMm' | 'zones'>,
  positions: Float32Array,
): Float32Array | undefined {
  const placed = zones.filter((zone) => isPlaced(zone) && zone.foamMm !== undefined);
  if (foamMm === undefined || placed.length === 0) return undefined;
  let topMm = 0;
  for (let at = 2; at < positions.length; at += 3) topMm = Math.max(topMm, positions[at]);
  const blendMm = blendOf({ foamMm, zones });
  const wanted = placed.map(
    (zone): Zone => ({
      name: zone.name,
      region:
        zone.region === undefined
          ? { kind: 'spots', centres: zone.dabs, radiusMm: zone.brushMm }
          : namedRegion(zone.region, topMm),
      thicknessMm: roomOf(zone),
      blendMm,
    }),
  );
  const least = LEAST_SHOWN * Math.max(...wanted.map(({ thicknessMm }) => Math.abs(thicknessMm - foamMm)));
  return Float32Array.from({ length: positions.length / 3 }, (_, v) => {
    const [x, y, z] = [positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]];
    const step = thicknessAt(wanted, foamMm, x, y, z, 0) - foamMm;
    return Math.abs(step) <= least ? NaN : step;
  });
}

/** Why there is a way in but nothing can be said of it: there is no opening. */
export const needsOpening = ({ wayIn, opening, farOpening, half, curves }: LinerPlan): boolean =>
  wayIn !== 'none' &&
  half === undefined &&
  opening === undefined &&
  farOpening === undefined &&
  !curves.some((curve) => curve.length >= LEAST_PLACES);

/** How far a part is tipped at most (common practice, no source). */
export const MOST_TILT_DEGREES = 25;

/** Half of each edge of a box, forward, left and up, mm. */
export const halvesOf = ({ reachMm, halvesMm = [reachMm, reachMm, reachMm] }: PlannedKeepOut): Vec3 => halvesMm;

function boxOf(keepOut: PlannedKeepOut): { readonly min: readonly number[]; readonly max: readonly number[] } {
  const { centre } = keepOut;
  const halves = halvesOf(keepOut);
  return { min: centre.map((c, k) => c - halves[k]), max: centre.map((c, k) => c + halves[k]) };
}

/** Upright from side to side: what goes is the other half. */
const halfCut = ({ half }: LinerPlan): OpeningPlane | undefined =>
  half && { point: [half.atMm, 0, 0], normal: [half.side === 'front' ? 1 : -1, 0, 0] };

/** For `form.line` and `liner.preview`; undefined while a wanted length is not there. */
export function parametersOf(plan: LinerPlan): Record<string, unknown> | undefined {
  const { foamMm, hasBridge, bridgeMm, hasWall, wallMm, zones, keepOuts, wayIn, giveMm } = plan;
  const placed = zones.filter(isPlaced);
  const { direction } = WAYS_IN[needsOpening(plan) ? 'none' : wayIn];
  if (
    foamMm === undefined ||
    (hasBridge && bridgeMm === undefined) ||
    (hasWall && wallMm === undefined) ||
    placed.some((zone) => zone.foamMm === undefined) ||
    (direction !== undefined && giveMm === undefined)
  ) {
    return undefined;
  }
  const blendMm = blendOf(plan);
  const cuts = [plan.opening, plan.farOpening, halfCut(plan)].filter((cut) => cut !== undefined);
  return {
    foamMm,
    ...(hasBridge ? { bridgeMm } : {}),
    ...(hasWall ? { wallMm } : {}),
    ...openingParameter(cuts, plan),
    ...(placed.length === 0
      ? {}
      : {
          zones: {
            zones: placed.map(({ name, foamMm: zoneMm, compression, region, dabs, brushMm }) => ({
              name,
              foamMm: zoneMm,
              compression,
              blendMm,
              ...(region === undefined ? { points: dabs, radiusMm: brushMm } : { region }),
            })),
          },
        }),
    ...(direction === undefined
      ? {}
      : {
          donning: direction,
          giveMm,
          ...(plan.isTipped ? { tiltDegrees: MOST_TILT_DEGREES } : {}),
          ...(plan.isCleared ? { clear: true } : {}),
        }),
    ...(keepOuts.length === 0
      ? {}
      : {
          keepOut: {
            keepOut: keepOuts.map((one, number) => ({
              name: one.name.trim() || `${one.kind} ${number + 1}`,
              clearanceMm: one.clearanceMm,
              ...(one.kind === 'ball' ? { ball: { centre: one.centre, radiusMm: one.reachMm } } : { box: boxOf(one) }),
            })),
          },
        }),
  };
}
