/**
 * The landmarks and measures a maker takes, by body region. Each measure runs between or through landmarks, so that
 * placing the landmarks once finds every measure on the scan.
 */
import { HAND_FOREARM } from './hand-forearm.ts';
import { HEAD } from './head.ts';
import type { BodyRegion, LandmarkKind, MeasureKind, RegionName, Side } from './kinds.ts';
import { LEG_FOOT } from './leg-foot.ts';
import { TORSO } from './torso.ts';

export { HEAD_LANDMARKS, HEAD_MEASURES } from './head.ts';
export type { BodyRegion, LandmarkKind, MeasureKind, MeasureRange, RegionName, Side } from './kinds.ts';

export const REGION_NAMES = ['head', 'arm', 'torso', 'leg'] as const satisfies readonly RegionName[];
export const REGIONS: Readonly<Record<RegionName, BodyRegion>> = {
  head: HEAD,
  arm: HAND_FOREARM,
  torso: TORSO,
  leg: LEG_FOOT,
};
const ALL = REGION_NAMES.map((name) => REGIONS[name]);

const LANDMARKS = new Map(ALL.flatMap(({ landmarks }) => landmarks.map((one) => [one.name, one] as const)));
const MEASURES = new Map(ALL.flatMap(({ measures }) => measures.map((one) => [one.name, one] as const)));

/** A reading of one of two limbs carries its side behind the measure's name. */
const SIDED = /, (left|right)$/;

export const sidedName = (name: string, side: Side | undefined): string =>
  side === undefined ? name : `${name}, ${side}`;

/** The measure's name without the limb's side, and the side. */
export function splitSide(name: string): { readonly name: string; readonly side?: Side } {
  const side = SIDED.exec(name)?.[1] as Side | undefined;
  return side === undefined ? { name } : { name: name.replace(SIDED, ''), side };
}

export const landmarkKind = (name: string): LandmarkKind | undefined => LANDMARKS.get(name);

/** Of the catalogue; the side of a paired limb does not matter. */
export const measureKind = (name: string): MeasureKind | undefined => MEASURES.get(splitSide(name).name);

/** Region, and side where it is one of two limbs, as a title: "Leg and foot, left". */
export const regionTitle = (name: RegionName, side: Side | undefined): string => sidedName(REGIONS[name].title, side);

/** The region a measure belongs to. */
export function regionOfMeasure(name: string): BodyRegion | undefined {
  const plain = splitSide(name).name;
  return ALL.find(({ measures }) => measures.some((one) => one.name === plain));
}

/**
 * Standard uncertainty that landmarks found by the program, and not looked at yet, add to a length, mm: the typical
 * error of the difference of two of them on invented heads (test/geometry/register/landmarks.test.ts); on limbs and
 * torsos they are only first places (propose-body.test.ts).
 */
export const foundLandmarkUMm = (region: RegionName = 'head'): number => (region === 'head' ? 2.5 : 20);
