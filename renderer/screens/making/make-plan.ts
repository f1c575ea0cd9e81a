/** What the desk of making thinks over, and the parameters of the verbs it leads to. Pure. */
import type { MakingSource } from '../../../shared-types/calls/makings.ts';
import type { PlanDraft, PlanKind } from '../../../shared-types/calls/plans.ts';
import type { CallInput } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/zone-place.ts';
import { sheetOfStock } from '../../../shared-types/operations/pad.ts';
import type { Stock } from '../../../shared-types/records/making.ts';
import type { PlanSubject } from '../../../shared-types/records/plan.ts';
import type { DrawnLine, Surface } from '../../controls/drawing.ts';
import { LEAST_PLACES, openingParameter } from '../../controls/openings.ts';

export type MakingKind = CallInput<'making.start'>['kind'];
export type PadsPlan = PlanDraft<'pads'>;
export type PatternPlan = PlanDraft<'pattern'>;
export type PiecesPlan = PlanDraft<'pieces'>;
export type GaugePlan = PlanDraft<'gauge'>;
export type ShellPlan = PlanDraft<'shell'>;
export type DrawnPad = PadsPlan['drawn'][number];
export type OwnCut = PiecesPlan['cuts'][number];

/** A plan belongs to the narrowest of what it is made from. `formId`: of the form's making, where only that is known. */
export function subjectOf(source: MakingSource, formId: string | undefined): PlanSubject | undefined {
  const { fittingId, linerId, partId } = source;
  if (fittingId !== undefined) return { fittingId };
  if (linerId !== undefined) return { linerId };
  if (partId !== undefined) return { partId };
  return formId === undefined ? undefined : { formId };
}

/** Filament of 1.75 mm serves as a pin; a usual bed. Common practice, no source. */
export const FIRST_PIECES: PiecesPlan = {
  bedMm: [220, 220, 250],
  joint: 'dowel',
  pinMm: 1.75,
  clearanceMm: 0.2,
  isNumbered: true,
  cuts: [],
};

/** As thick as a printed helmet's wall usually is (common practice, no source). */
export const FIRST_SHELL: ShellPlan = { wallMm: 3, cuts: [], curves: [] };

export const firstGauge = (subject: string): GaugePlan => ({ levels: '0, 50', bandMm: 12, words: subject });

export const FIRST_PATTERN: PatternPlan = {
  zone: 'crown',
  curve: [],
  foamMm: 6,
  stretch: '5',
  allowanceMm: 0,
  paper: 'a4',
  seams: [],
};

export const FIRST_PADS: PadsPlan = {
  leastMm: 2,
  mostMm: 30,
  isMirrored: true,
  paper: 'a4',
  usual: ZONE_NAMES.map((zone) => ({ zone, foams: [] })),
  drawn: [],
};

/** What undo would take back, by the field that was changed. */
export const STEPS: {
  readonly [K in Exclude<PlanKind, 'liner' | 'fill'>]: Readonly<Record<keyof PlanDraft<K>, string>>;
} = {
  pads: {
    leastMm: 'change the room for pads',
    mostMm: 'change the room for pads',
    isMirrored: 'make pads alike on both sides',
    paper: 'change the paper of pads',
    usual: 'change the usual places of pads',
    drawn: 'change a drawn pad',
  },
  pattern: {
    zone: 'change the place of a pattern',
    curve: 'draw the outline of a pattern',
    foamMm: 'change the foam of a pattern',
    stretch: 'change what the sheet gives',
    allowanceMm: 'change the seam allowance',
    paper: 'change the paper of a pattern',
    seams: 'change a seam',
  },
  pieces: {
    bedMm: 'change the print bed',
    joint: 'change how pieces are held together',
    pinMm: 'change the pins',
    clearanceMm: 'change the pins',
    isNumbered: 'number the pieces',
    cuts: 'change a cut',
  },
  shell: {
    wallMm: 'change the wall of a shell',
    cuts: 'open a shell',
    curves: 'draw an opening of a shell',
    largerGoes: 'draw an opening of a shell',
  },
  gauge: { levels: 'change the bands', bandMm: 'change the bands', words: 'change the words on bands' },
};

type Parameters = Record<string, unknown>;

/** Fewer places make no seam. */
export const LEAST_SEAM = 2;
/** Names on papers and in files are no longer. */
const LONGEST_NAME = 50;

const mirrored = ([x, y, z]: Vec3): Vec3 => [x, -y, z];
const nameOf = (name: string, number: number): string => name.trim().slice(0, LONGEST_NAME) || `pad ${number + 1}`;
const isLeft = (curve: readonly Vec3[]): boolean => curve.reduce((sum, [, y]) => sum + y, 0) >= 0;
/** Mirrored, it would lie over itself. */
export const crossesMiddle = (curve: readonly Vec3[]): boolean =>
  curve.some(([, y]) => y > 0) && curve.some(([, y]) => y < 0);

/** The names under which a drawn pad comes back. */
export function namesOf(pad: DrawnPad, number: number): readonly string[] {
  const name = nameOf(pad.name, number);
  if (!pad.isMirrored) return [name];
  return isLeft(pad.curve) ? [`${name} left`, `${name} right`] : [`${name} right`, `${name} left`];
}

/** Names under which more than one pad would come back: usual places count with their sides. */
export function sharedNames({ drawn, usual }: PadsPlan): ReadonlySet<string> {
  const usually = usual.flatMap(({ zone }) => [zone, `${zone} left`, `${zone} right`]);
  const seen = new Set<string>(usually);
  const shared = new Set<string>();
  for (const name of drawn.flatMap((pad, number) => namesOf(pad, number))) {
    if (seen.has(name)) shared.add(name);
    seen.add(name);
  }
  return shared;
}

/** Pads from the stock at hand, with the part where it was tried on. */
export function padsParameters(
  plan: PadsPlan,
  stock: readonly Stock[],
  placement: readonly number[] | undefined,
): Parameters | undefined {
  const { leastMm, mostMm, isMirrored, paper, usual } = plan;
  const drawn = plan.drawn
    .map((pad, number) => ({ pad, number }))
    .filter(({ pad }) => pad.curve.length >= LEAST_PLACES);
  if (leastMm === undefined || mostMm === undefined || placement === undefined || stock.length === 0) return undefined;
  if (usual.length + drawn.length === 0 || sharedNames(plan).size > 0) return undefined;
  const foams: Record<string, number[]> = {};
  const choose = (name: string, ids: readonly string[]): void => {
    // A foam that has left the stock counts no more.
    const numbers = ids.map((id) => stock.findIndex((one) => one.id === id)).filter((number) => number >= 0);
    if (numbers.length > 0) foams[name] = numbers;
  };
  for (const { zone, foams: ids } of usual) choose(zone, ids);
  const patches = drawn.flatMap(({ pad, number }) => {
    choose(nameOf(pad.name, number), pad.foams);
    const [name, other] = namesOf(pad, number);
    const one = { name, curve: pad.curve };
    return other === undefined ? [one] : [one, { name: other, curve: pad.curve.map(mirrored) }];
  });
  return {
    stock: { stock: stock.map(sheetOfStock) },
    place: { matrix: [...placement] },
    pads: { patches, usual: usual.map(({ zone }) => zone), foams },
    leastMm,
    mostMm,
    mirror: isMirrored,
    paper,
  };
}

export function piecesParameters(plan: PiecesPlan): Parameters | undefined {
  const { bedMm, joint, pinMm, clearanceMm, isNumbered, cuts } = plan;
  if (bedMm.some((mm) => mm === null)) return undefined;
  if (joint !== 'none' && (pinMm === undefined || clearanceMm === undefined)) return undefined;
  return {
    bed: bedMm,
    planes: cuts.map(({ point, normal }) => [...point, ...normal]),
    joint,
    ...(joint === 'none' ? {} : { pinMm, clearanceMm }),
    ...(isNumbered ? {} : { markMm: 0 }),
  };
}

/** Heights as people list them, "0, 40 80"; undefined when one cannot be read. */
export function levelsOf(text: string): number[] | undefined {
  const words = text.split(/[\s;]+|,(?=\s|$)/).filter((word) => word !== '');
  const levels = words.map((word) => Number(word.replace(',', '.').replace('\u2212', '-')));
  return levels.length > 0 && levels.every(Number.isFinite) ? levels : undefined;
}

export function gaugeParameters({ levels, bandMm, words }: GaugePlan): Parameters | undefined {
  const levelsMm = levelsOf(levels);
  return levelsMm === undefined || bandMm === undefined ? undefined : { levelsMm, bandMm, words: words.trim() };
}

export function shellParameters(plan: ShellPlan): Parameters | undefined {
  const { wallMm, cuts } = plan;
  return wallMm === undefined ? undefined : { wallMm, ...openingParameter(cuts, plan) };
}

/** `by`: seams are told apart by their id, as on the desk, or named as on paper. */
export function patternParameters(plan: PatternPlan, by: 'id' | 'name'): Parameters | undefined {
  const { zone, curve, foamMm, stretch, allowanceMm, paper } = plan;
  const stretchPercent = stretchOf(stretch);
  if (foamMm === undefined || stretchPercent === undefined || allowanceMm === undefined) return undefined;
  if (zone === undefined && curve.length < LEAST_PLACES) return undefined;
  const seams = plan.seams
    .filter(({ points }) => points.length >= LEAST_SEAM)
    .map(({ id, name, points }, number) => ({
      name: by === 'id' ? id : name.trim().slice(0, LONGEST_NAME) || `seam ${number + 1}`,
      points,
    }));
  const patch = zone === undefined ? { name: 'drawn', curve } : { zone };
  return { patch: { ...patch, seams }, foamMm, stretchPercent, allowanceMm, paper };
}

/** A share in percent as people write it; undefined when it cannot be read or is out of range. */
export function stretchOf(text: string): number | undefined {
  const percent = Number(text.trim().replace(',', '.').replace(/\s*%$/, ''));
  return text.trim() !== '' && percent >= 0.1 && percent <= 50 ? percent : undefined;
}

/** The lines of a plan that can be drawn on. */
export const OUTLINE = 'outline';
export const padLines = ({ drawn }: PadsPlan): DrawnLine[] =>
  drawn.map((pad, number) => ({ id: pad.id, name: nameOf(pad.name, number), places: pad.curve, isClosed: true }));
export const patternLines = ({ zone, curve, seams }: PatternPlan): DrawnLine[] => [
  ...(zone === undefined ? [{ id: OUTLINE, name: 'Outline', places: curve, isClosed: true }] : []),
  ...seams.map(({ id, name, points }) => ({ id, name, places: points, isClosed: false })),
];

/** So many places spread evenly along a closed line of xyz triples. O(points). */
export function spread(points: ArrayLike<number>, count: number): Vec3[] {
  const total = points.length / 3;
  const at = (k: number): Vec3 => [points[(k % total) * 3], points[(k % total) * 3 + 1], points[(k % total) * 3 + 2]];
  const far = Array.from({ length: total }, (_, k) => Math.hypot(...at(k + 1).map((c, i) => c - at(k)[i])));
  const round = far.reduce((sum, mm) => sum + mm, 0);
  const out: Vec3[] = [];
  let [k, gone] = [0, 0];
  for (let i = 0; i < count; i++) {
    const along = (round * i) / count;
    while (k < total - 1 && gone + far[k] < along) gone += far[k++];
    const share = far[k] === 0 ? 0 : (along - gone) / far[k];
    const [from, to] = [at(k), at(k + 1)];
    out.push(from.map((c, axis) => c + share * (to[axis] - c)) as unknown as Vec3);
  }
  return out;
}

/** Flat cuts as makers name them, by the way their planes face. */
export const CUT_WAYS = {
  level: { label: 'Level', normal: [0, 0, 1], axis: 'Up', words: 'top from bottom' },
  side: { label: 'Left from right', normal: [0, 1, 0], axis: 'Left', words: 'left from right' },
  front: { label: 'Front from back', normal: [1, 0, 0], axis: 'Forward', words: 'front from back' },
} as const satisfies Record<string, { label: string; normal: Vec3; axis: string; words: string }>;
export type CutWay = keyof typeof CUT_WAYS;

/** Whichever way a plane faces most, and where along it it lies: the point over the origin of that axis. */
export function cutPlace({ point, normal }: Pick<OwnCut, 'point' | 'normal'>): {
  readonly way: CutWay;
  readonly mm: number;
  readonly tiltDegrees: number;
} {
  const size = Math.hypot(...normal);
  const sizes = normal.map((c) => Math.abs(c) / size);
  const axis = sizes.indexOf(Math.max(...sizes));
  const way = (['front', 'side', 'level'] as const)[axis] ?? 'level';
  const along = (point[0] * normal[0] + point[1] * normal[1] + point[2] * normal[2]) / normal[axis];
  return { way, mm: along, tiltDegrees: (Math.acos(Math.min(1, sizes[axis])) * 180) / Math.PI };
}

/** The cut moved so that it lies at `mm` along the axis it faces. */
export function cutAt(cut: OwnCut, mm: number): OwnCut {
  const { way, mm: before } = cutPlace(cut);
  const axis = CUT_WAYS[way].normal.findIndex((c) => c !== 0);
  return { ...cut, point: cut.point.with(axis, cut.point[axis] + mm - before) as unknown as Vec3 };
}

/** The cut facing straight along its axis, the same side of it staying. */
export function straightened(cut: OwnCut): OwnCut {
  const { way, mm } = cutPlace(cut);
  const { normal } = CUT_WAYS[way];
  const sign = Math.sign(normal[0] * cut.normal[0] + normal[1] * cut.normal[1] + normal[2] * cut.normal[2]);
  return cutAt({ ...cut, normal: normal.map((c) => sign * c) as unknown as Vec3 }, mm);
}

/** The box round a body; without one the origin. O(points). */
export function boxOfSurface(surface: Surface | undefined): { readonly low: Vec3; readonly high: Vec3 } {
  const [low, high] = [
    [Infinity, Infinity, Infinity],
    [-Infinity, -Infinity, -Infinity],
  ];
  for (const [i, c] of (surface?.positions ?? [0, 0, 0]).entries()) {
    low[i % 3] = Math.min(low[i % 3], c);
    high[i % 3] = Math.max(high[i % 3], c);
  }
  return { low: low as unknown as Vec3, high: high as unknown as Vec3 };
}
