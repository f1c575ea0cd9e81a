/** What a scan missed of a head, filled by the likely body: told by what is seen, by readings and by the survey. */
import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { fillSpecification, type FillMeasure } from '../../shared-types/operations/fill.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { SURVEY_SOURCE } from '../../shared-types/survey.ts';
import type { WantedMeasure } from '../geometry/figure/bend-head.ts';
import { expectGiven, spreadOf } from '../geometry/figure/expect.ts';
import { HeadFill, MARGINS, sampleSeen } from '../geometry/figure/fill-head.ts';
import type { Joined } from '../geometry/figure/fill-seam.ts';
import { neutralHead } from '../geometry/figure/neutral-head.ts';
import { HEAD_FIGURE_MEASURES, type Taken } from '../geometry/figure/take-measures.ts';
import { insideBy } from '../geometry/measure/zone-share.ts';
import { examine, HEALTH_PHASE, type Health } from '../geometry/mend/health.ts';
import { areaOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { keepFaces } from '../geometry/mesh/compact.ts';
import { IDENTITY, roundToSingle } from '../geometry/mesh/transform.ts';
import { SignedField } from '../geometry/offset/signed-field.ts';
import { LIGHTEN_PHASES } from '../geometry/simplify/lighten.ts';
import { regionOf, troubleOfPlaces } from './allow.ts';
import { COVERAGE_95, judgeSheet, ONLY_GIVEN, type Judged } from './block.ts';
import { healthAsFigures } from './health.ts';
import type { InputMesh, Operation } from './operation.ts';

type Parameters = z.output<typeof fillSpecification.parameters>;
type Figures = z.output<typeof fillSpecification.figures>;

/** The bent head has about as many faces as the form, within these. */
const LEAST_FACES = 4000;
const MOST_FACES = 12_000;
/** What is seen lies farther from any bent head than this: it is none, mm. Own judgement. */
const NO_HEAD_MM = 5;
/** How well a length is known that is taken on the seen part by the program's own landmarks, mm (own judgement). */
const SEEN_U_MM = 3;
/** Readings are wanted more exactly than they are known; those missed still more, so often. */
const EXACTNESS = 0.2;
const TIGHTER = 0.25;
const TIGHTENINGS = 2;
/** A reading that the patch has no part in is doubted beyond so many uncertainties. */
const DOUBTFUL = 2;
/** Places at which the patch's uncertainty is asked. */
const SPREAD_PLACES = 100;

interface Patch {
  readonly names: string[];
  readonly isPatch: Uint8Array;
}

function patchOf(input: InputMesh, form: Mesh, { zones }: Parameters['patch'], tick: () => void): Patch {
  const regions = zones.map((zone) => regionOf(zone, form, input.fromFile));
  const p = form.positions;
  const isPatch = Uint8Array.from({ length: p.length / 3 }, (_, v) => {
    if (v % 256 === 0) tick();
    return regions.some((region) => insideBy(region, p[v * 3], p[v * 3 + 1], p[v * 3 + 2], 0) > 0) ? 1 : 0;
  });
  return { names: zones.map(({ name, region }, i) => name ?? region ?? `zone ${i + 1}`), isPatch };
}

/** A form filled: also what the studio shows before anything is made. */
export interface Filled {
  readonly form: Mesh;
  readonly mesh: Mesh;
  readonly figures: Figures;
  readonly warnings: readonly Warning[];
  /** At each vertex of `mesh`: how far it lies outside the form as it was (inside below 0), mm; NaN where it stayed. */
  readonly movedMm: Float32Array;
}

/** Lengths on the form as joined, those in which the patch has a part, and those of the form as it was. */
interface Lengths {
  readonly now: ReadonlyMap<string, Taken>;
  readonly before: ReadonlyMap<string, Taken>;
}

const isOfPatch = (taken: Taken | undefined): boolean => taken !== undefined && taken.pulls.length > 0;

function lengthsOf(fill: HeadFill, form: Mesh): Lengths {
  const tape = fill.tapeOf(form, new Int32Array(form.positions.length / 3).fill(-1));
  const all = (on: typeof tape): Map<string, Taken> =>
    new Map(
      HEAD_FIGURE_MEASURES.flatMap((measure) => {
        const taken = fill.take(on, measure);
        return taken === undefined ? [] : [[measure.name, taken] as const];
      }),
    );
  return { now: all(fill.tape), before: all(tape) };
}

/** What is asked of the patch: readings exactly, and what was neither read nor seen as the rest leads to expect. */
function wishesOf(
  judged: Judged,
  given: readonly string[],
  now: Lengths['now'],
  exactness: ReadonlyMap<string, number>,
) {
  return HEAD_FIGURE_MEASURES.flatMap((measure): (WantedMeasure & { readonly uMm: number })[] => {
    const { name } = measure;
    if (!isOfPatch(now.get(name))) return [];
    const reading = judged.used.find((one) => one.name === name && given.includes(name));
    if (reading !== undefined) {
      const { measuredMm: targetMm, uMm } = reading;
      return [{ measure, targetMm, slackMm: (exactness.get(name) ?? EXACTNESS) * uMm, uMm }];
    }
    if (ONLY_GIVEN.has(name)) return [];
    const spread = spreadOf(judged.now, name);
    return [{ measure, targetMm: judged.now.meanMm[judged.now.names.indexOf(name)], slackMm: spread, uMm: spread }];
  });
}

/** Bend until the readings are met, those missed wanted more exactly. */
function fitReadings(
  fill: HeadFill,
  judged: Judged,
  given: readonly string[],
  now: Lengths['now'],
  told: (share: number) => void,
): Outcome<{ wishes: ReturnType<typeof wishesOf>; taken: ReadonlyMap<string, Taken> }> {
  const exactness = new Map<string, number>();
  for (let attempt = 0; ; attempt++) {
    const wishes = wishesOf(judged, given, now, exactness);
    const taken = fill.fit(wishes, (round, of) => told((attempt + round / of) / (TIGHTENINGS + 1)));
    if (taken === undefined) {
      return failed(fault('fill.cannot', { names: wishes.map(({ measure }) => measure.name).join(', ') }));
    }
    const missed = judged.used.filter(({ name, measuredMm, uMm }) => {
      const one = given.includes(name) ? taken.get(name) : undefined;
      return one !== undefined && Math.abs(one.lengthMm - measuredMm) > uMm;
    });
    if (missed.length === 0 || attempt === TIGHTENINGS) return done({ wishes, taken });
    for (const { name } of missed) exactness.set(name, (exactness.get(name) ?? EXACTNESS) * TIGHTER);
  }
}

/** The first sound form, the ring between the rims growing wider. */
function soundForm(
  fill: HeadFill,
  mostPieces: number,
  prove: (mesh: Mesh, turn: number) => Health,
): Outcome<{ mesh: Mesh; health: Health; joined: Joined }> {
  let worst: Health | undefined;
  for (const [turn, margin] of MARGINS.entries()) {
    const joined = turn === 0 ? fill.joined : fill.join(margin);
    const mesh = roundToSingle(joined.mesh);
    const health = prove(mesh, turn);
    const { watertight, selfIntersections, pieces, degenerateFaces } = health;
    if (watertight && selfIntersections === 0 && pieces <= mostPieces && degenerateFaces === 0) {
      return done({ mesh, health, joined });
    }
    worst ??= health;
  }
  return failed(
    fault('fill.not-sound', { crossings: worst?.selfIntersections ?? 0, openEdges: worst?.openEdges ?? 0 }),
  );
}

function movedOf(form: Mesh, mesh: Mesh, keptCount: number, tick: () => void) {
  const field = new SignedField(form, tick);
  const movedMm = new Float32Array(mesh.positions.length / 3).fill(NaN);
  const moved = { maxMm: 0, meanMm: 0, outMm: 0, inMm: 0, at: [0, 0, 0] };
  for (let v = keptCount; v < movedMm.length; v++) {
    if (v % 256 === 0) tick();
    const at = [...mesh.positions.subarray(v * 3, v * 3 + 3)] as [number, number, number];
    const mm = (movedMm[v] = field.at(...at));
    moved.meanMm += Math.abs(mm) / (movedMm.length - keptCount);
    moved.outMm = Math.max(moved.outMm, mm);
    moved.inMm = Math.max(moved.inMm, -mm);
    if (Math.abs(mm) > moved.maxMm) [moved.maxMm, moved.at] = [Math.abs(mm), at];
  }
  return { movedMm, moved };
}

/** Area of the faces with a corner among the marked vertices. */
function areaAt(mesh: Mesh, isMarked: (v: number) => boolean): number {
  const keep = Uint8Array.from({ length: mesh.triangles.length / 3 }, (_, f) =>
    [0, 1, 2].some((k) => isMarked(mesh.triangles[f * 3 + k])) ? 1 : 0,
  );
  return areaOf(keepFaces(mesh, keep));
}

/** Each reading and each usual length: before, after, and what was read. */
function measuresOf(judged: Judged, given: readonly string[], { now, before }: Lengths, taken: Lengths['now']) {
  return HEAD_FIGURE_MEASURES.flatMap(({ name }): FillMeasure[] => {
    const one = taken.get(name) ?? now.get(name);
    if (one === undefined) return [];
    const reading = given.includes(name) ? judged.given.find((each) => each.name === name) : undefined;
    const isHeld = reading !== undefined && judged.outliers.includes(name);
    const part = isOfPatch(now.get(name));
    return [
      {
        name,
        role: isHeld ? 'left out' : reading === undefined ? (part ? 'guessed' : 'seen') : part ? 'given' : 'outside',
        measuredMm: reading?.measuredMm ?? null,
        uMm: reading?.uMm ?? null,
        beforeMm: before.get(name)?.lengthMm ?? null,
        formMm: one.lengthMm,
      },
    ];
  });
}

const asList = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');

type Told = Pick<Figures, 'patch' | 'guess' | 'measures' | 'outliers' | 'orElse' | 'notUsed'>;

function adviceOf({ patch, guess, measures, outliers, orElse, notUsed }: Told): {
  advice: string[];
  warnings: Warning[];
} {
  const advice: string[] = [];
  const warnings: Warning[] = [];
  const warn = (code: string, sentence: string): void => {
    advice.push(sentence);
    warnings.push({ code, sentence });
  };
  const given = measures.filter(({ role }) => role === 'given');
  const by =
    given.length === 0
      ? 'what is seen and the survey alone'
      : `what is seen and ${asList(given.map(({ name }) => name))}`;
  warn(
    'fill.guessed',
    `Guessed, not scanned: ${patch.join(', ')}. It follows ${by}; 95 of 100 people lie within ${guess.usually95Mm.toFixed(1)} mm of it at most places and ${guess.within95Mm.toFixed(1)} mm at the worst.`,
  );
  if (outliers.length > 0) {
    warn(
      'fill.outlier',
      `Take ${asList(outliers)} again: it does not belong with the other readings and what is seen, and the patch was filled without.`,
    );
    if (orElse.length > 0) advice.push(`It could be ${asList(orElse)} instead: the rest would agree almost as well.`);
  }
  for (const { name, role, measuredMm, uMm, formMm } of measures) {
    if (measuredMm === null || uMm === null) continue;
    const told = `"${name}" was read as ${measuredMm.toFixed(1)} mm and is ${formMm.toFixed(1)} mm on the form`;
    const off = Math.abs(formMm - measuredMm);
    if (role === 'given' && off > uMm) {
      warn(
        'fill.not-met',
        `${told}: with what is seen no likely head has it. Take it again, or look whether the patch holds all that is false.`,
      );
    }
    if (role === 'outside' && off > DOUBTFUL * Math.hypot(uMm, SEEN_U_MM)) {
      warn('fill.disagrees', `${told}, where nothing was filled: either the reading or the form is wrong there.`);
    }
  }
  if (notUsed.length > 0) advice.push(`Not a length taken on a filled form here, so not used: ${asList(notUsed)}.`);
  return { advice, warnings };
}

/** Phases of `fillForm`, for whoever runs it. */
export const FILL_FORM_PHASES = { check: 0.05, carve: 0.2, settle: 0.3, fit: 0.25, prove: 0.2 } as const;

export function fillForm(
  input: InputMesh,
  { patch, sheet, survey, blendMm, all }: Parameters,
  run: RunContext,
): Outcome<Filled> {
  const form = roundToSingle(input.mesh);
  const before = examine(form, run.within('check', { [HEALTH_PHASE]: 1 }));
  if (!before.watertight) return failed(fault('mesh.not-closed', { openEdges: before.openEdges, verb: 'fill' }));
  const misplaced = troubleOfPlaces(patch.zones, form);
  if (misplaced !== undefined) return failed(misplaced);
  let [phase, share] = ['check', 1];
  const tick = (): void => run.step(phase, share, 1);
  const { names, isPatch } = patchOf(input, form, patch, tick);
  if (!isPatch.includes(1)) return failed(fault('fill.nothing', { zones: names.join(', ') }));
  const typed = judgeSheet(sheet, survey, all);
  if (!typed.ok) return typed;
  const part = sampleSeen(form, isPatch, tick);
  if (typeof part === 'number') return failed(fault('fill.too-little-seen', { samples: part }));
  const faces = Math.min(MOST_FACES, Math.max(LEAST_FACES, form.triangles.length / 3));
  const head = neutralHead(faces, run.within('carve', LIGHTEN_PHASES));
  if (!head.ok) return head;
  run.step('carve', 1, 1);
  [phase, share] = ['settle', 0];
  const fill = new HeadFill(part, head.value, blendMm, tick);
  if (fill.detailMm > NO_HEAD_MM) {
    const reason = `it lies ${fill.detailMm.toFixed(0)} mm off any head bent to it`;
    return failed(fault('fill.not-a-head', { reason }));
  }
  const lengths = lengthsOf(fill, form);
  const given = typed.value.given.map(({ name }) => name).filter((name) => lengths.now.has(name));
  const seen = [...lengths.now].filter(([name, taken]) => !isOfPatch(taken) && !given.includes(name));
  // What is seen speaks for the rest as a reading would.
  const more = seen.map(([name, { lengthMm }]) => ({ name, measured: lengthMm, u: SEEN_U_MM }));
  const both = judgeSheet({ ...sheet, readings: [...sheet.readings, ...more] }, survey, all);
  if (!both.ok) {
    const { name, measuredMm } = both.fault.facts;
    return failed(
      fault('fill.not-a-head', { reason: `its "${String(name)}" would be ${Number(measuredMm).toFixed(0)} mm` }),
    );
  }
  const judged = withGiven(both.value, given);
  run.step('settle', 1, 1);
  [phase, share] = ['fit', 0];
  const fitted = fitReadings(fill, judged, given, lengths.now, (so) => (share = Math.max(share, so)));
  if (!fitted.ok) return fitted;
  const { wishes, taken } = fitted.value;
  run.step('fit', 1, 1);
  [phase, share] = ['prove', 0];
  const sound = soundForm(fill, before.pieces, (mesh, turn) => {
    const health = examine(mesh, run.within('prove', { [HEALTH_PHASE]: 1 }));
    share = Math.max(share, (turn + 1) / (MARGINS.length + 1));
    return health;
  });
  if (!sound.ok) return sound;
  const { mesh, health, joined } = sound.value;
  const { ofForm, isGone } = fill.seen;
  const { movedMm, moved } = movedOf(form, mesh, ofForm.length, tick);
  const spread = fill.spread(
    joined,
    wishes.flatMap(({ measure, uMm }) => {
      const one = taken.get(measure.name);
      return one === undefined ? [] : [{ taken: one, uMm }];
    }),
    SPREAD_PLACES,
  );
  const guess = guessOf(spread);
  const measures = measuresOf(judged, given, lengths, taken);
  const { outliers, orElse } = judged;
  const notUsed = [...new Set(sheet.readings.map(({ name }) => name))].filter((name) => !given.includes(name));
  const told = { patch: names, guess, measures, outliers: [...outliers], orElse: [...orElse], notUsed };
  const { advice, warnings } = adviceOf(told);
  const misses = measures.flatMap(({ role, measuredMm, uMm, formMm }) =>
    role === 'given' && measuredMm !== null && uMm !== null ? [Math.abs(formMm - measuredMm) / uMm] : [],
  );
  const keptMm = [...ofForm].reduce(
    (most, v, i) =>
      Math.max(most, ...[0, 1, 2].map((k) => Math.abs(mesh.positions[i * 3 + k] - form.positions[v * 3 + k]))),
    0,
  );
  const figures: Figures = {
    ...told,
    survey: judged.survey,
    source: SURVEY_SOURCE,
    takenOut: { vertices: form.positions.length / 3 - ofForm.length, areaMm2: areaAt(form, (v) => isGone[v] === 1) },
    setIn: { vertices: mesh.positions.length / 3 - ofForm.length, areaMm2: areaAt(mesh, (v) => v >= ofForm.length) },
    kept: { vertices: ofForm.length, movedMaxMm: keptMm },
    moved,
    seenMissMm: fill.detailMm,
    largestMiss: Math.max(0, ...misses),
    volumeMm3: volumeOf(mesh),
    formVolumeMm3: volumeOf(form),
    health: healthAsFigures(health, 'millimetre'),
    advice,
  };
  return done({ form, mesh, figures, warnings, movedMm });
}

/** Of what does not belong only readings are told: what is seen is not read again. */
function withGiven(judged: Judged, given: readonly string[]): Judged {
  const outliers = judged.outliers.filter((name) => given.includes(name));
  const used = judged.given.filter(({ name }) => !outliers.includes(name));
  const orElse = judged.orElse.filter((name) => given.includes(name));
  return { ...judged, outliers, orElse, used, now: expectGiven(judged.prior, used) };
}

function guessOf(spread: readonly { readonly at: Vec3; readonly mm: number }[]): Figures['guess'] {
  const sorted = spread.toSorted((a, b) => a.mm - b.mm);
  const worst = sorted.at(-1);
  return {
    within95Mm: COVERAGE_95 * (worst?.mm ?? 0),
    usually95Mm: COVERAGE_95 * (sorted[sorted.length >> 1]?.mm ?? 0),
    at: [...(worst?.at ?? [0, 0, 0])],
    samples: sorted.length,
  };
}

export const fillOperation: Operation<typeof fillSpecification> = {
  specification: fillSpecification,
  phases: FILL_FORM_PHASES,
  run: ([input], parameters, run) => {
    const filled = fillForm(input, parameters, run);
    if (!filled.ok) return filled;
    const { mesh, figures, warnings } = filled.value;
    return done({ mesh, matrix: IDENTITY, figures }, warnings);
  },
};
