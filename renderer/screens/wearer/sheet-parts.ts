/** The parts of the measurement sheet, one for each body region and limb, and the lines on each. */
import {
  measureKind,
  REGION_NAMES,
  REGIONS,
  sidedName,
  splitSide,
  type MeasureKind,
  type RegionName,
  type Side,
} from '../../../shared-types/measures/index.ts';
import { sureKindOf } from '../../../shared-types/usual-uncertainty.ts';
import type { Wearing } from './wearing.ts';

/** `other`: lengths of the maker's own naming. */
export type SheetPart = RegionName | 'other';

const OTHER_HOW: Readonly<Record<MeasureKind['kind'], string>> = {
  span: 'Straight, by calliper.',
  girth: 'Round, by tape.',
  arc: 'Along the surface, by tape.',
};

/** Names of the readings that no region has. */
function othersOf(wearing: Wearing): MeasureKind[] {
  const others = new Map<string, MeasureKind>();
  for (const { name, kind, instrument } of wearing.readings) {
    if (measureKind(name) !== undefined || others.has(name)) continue;
    others.set(name, {
      name,
      kind,
      landmarks: [],
      how: OTHER_HOW[kind],
      instrument: instrument ?? (kind === 'span' ? 'spreading calliper' : 'tape'),
      sure: sureKindOf(kind, undefined),
      uMm: wearing.usual[sureKindOf(kind, undefined)],
    });
  }
  return [...others.values()];
}

export const isPaired = (part: SheetPart): boolean => part !== 'other' && REGIONS[part].isPaired;

/** The measures of a part, those of a limb by the name their readings have. */
export function linesOf(wearing: Wearing, part: SheetPart, side: Side): MeasureKind[] {
  if (part === 'other') return othersOf(wearing);
  const { measures } = REGIONS[part];
  return isPaired(part) ? measures.map((one) => ({ ...one, name: sidedName(one.name, side) })) : [...measures];
}

export interface PartCount {
  readonly part: SheetPart;
  readonly title: string;
  /** Lengths taken, and all there are; a limb's on both sides. */
  readonly taken: number;
  readonly all: number;
}

export function partsOf(wearing: Wearing): PartCount[] {
  const known = new Set(wearing.known.map(({ name }) => name));
  const regions = REGION_NAMES.map((part): PartCount => {
    const { title, measures } = REGIONS[part];
    const names = measures.flatMap(({ name }) =>
      isPaired(part) ? [sidedName(name, 'left'), sidedName(name, 'right')] : [name],
    );
    return { part, title, taken: names.filter((name) => known.has(name)).length, all: names.length };
  });
  const others = othersOf(wearing).length;
  return others === 0 ? regions : [...regions, { part: 'other', title: 'Other lengths', taken: others, all: others }];
}

/** The part on which something is written, else the head. */
export const firstPart = (parts: readonly PartCount[]): SheetPart =>
  parts.find(({ taken }) => taken > 0)?.part ?? 'head';

/** The same measure of the other limb. */
export const otherSide = (name: string): string | undefined => {
  const { name: plain, side } = splitSide(name);
  return side === undefined ? undefined : sidedName(plain, side === 'left' ? 'right' : 'left');
};
