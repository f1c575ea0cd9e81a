/**
 * A program for the screens to talk to, all in memory and all invented: it answers the contract's calls as the real one
 * would, so that a screen's every state can be brought about. Not shipped.
 */
import { READING_UNCERTAINTY_MM } from '../../../shared-types/tolerances.ts';
import {
  CONTRACT,
  type CallName,
  type CallResult,
  type JobView,
  type ViewMesh,
  type WearerCard,
} from '../../../shared-types/contract.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { FormRevision } from '../../../shared-types/records/form.ts';
import type { Liner } from '../../../shared-types/records/project.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import { inventHead } from '../../../electron/invented/head.ts';
import { smallPicture } from '../../../electron/services/studio/small-picture.ts';
import type { Call, Receive, Subscribe } from '../../../electron/services/conversation.ts';

export type Answers = { [N in CallName]?: (input: any) => CallResult<N> | Outcome<CallResult<N>> };

export const idOf = (number: number): string => `00000000-0000-4000-8000-${String(number).padStart(12, '0')}`;
const DAY = '2026-11-20T10:00:00.000Z';
let invented: Mesh | undefined;
const head = (): Mesh => (invented ??= inventHead({ seed: 4 }).mesh(8000));

/** A crown filled, in round numbers. */
const FILLED: CallResult<'fill.preview'>['figures'] = {
  survey: 'either',
  source: 'an invented survey',
  patch: ['crown'],
  takenOut: { vertices: 300, areaMm2: 12_000 },
  setIn: { vertices: 240, areaMm2: 10_000 },
  kept: { vertices: 3700, movedMaxMm: 0 },
  moved: { maxMm: 16, meanMm: 9, outMm: 0, inMm: 16, at: [0, 0, 120] },
  guess: { within95Mm: 5.2, usually95Mm: 3.1, at: [0, 0, 120], samples: 100 },
  seenMissMm: 0.8,
  measures: [
    { name: 'tragion to top of head', role: 'given', measuredMm: 128, uMm: 1.5, beforeMm: 143.8, formMm: 128.2 },
    { name: 'head length', role: 'outside', measuredMm: 194.6, uMm: 0.4, beforeMm: 195.1, formMm: 195.1 },
  ],
  largestMiss: 0.2,
  outliers: [],
  orElse: [],
  notUsed: [],
  volumeMm3: 4_000_000,
  formVolumeMm3: 4_100_000,
  health: {
    faces: 8000,
    vertices: 4000,
    pieces: 1,
    openEdges: 0,
    boundaryLoops: 0,
    nonManifoldEdges: 0,
    nonManifoldVertices: 0,
    degenerateFaces: 0,
    duplicateFaces: 0,
    selfIntersections: 0,
    oriented: true,
    watertight: true,
    bounds: { min: [-110, -90, -180], max: [110, 90, 130] },
    areaMm2: 230_000,
    volumeMm3: 4_000_000,
    unitGuess: { unit: 'millimetre', mmPerUnit: 1, reason: 'invented' },
  },
  advice: [
    'Guessed, not scanned: crown. It follows what is seen and "tragion to top of head"; 95 of 100 people lie within 3.1 mm of it at most places and 5.2 mm at the worst.',
  ],
};

export interface FakeProgram {
  readonly call: Call;
  readonly subscribe: Subscribe;
  readonly receive: Receive;
  /** Every call made, in order. */
  readonly calls: { name: string; input: any }[];
  /** The answers as they are now. */
  readonly answers: Answers;
  /** Replace or add answers. */
  answer(answers: Answers): void;
  emit(name: 'jobs' | 'changed' | 'opened', value: unknown): void;
}

export function wearerCard(number: number, name: string, more: Partial<WearerCard> = {}): WearerCard {
  return {
    id: idOf(number),
    name,
    scans: 1,
    readings: 6,
    forms: 1,
    tickets: 1,
    lastSeen: DAY,
    revisionId: idOf(9000 + number),
    sizes: [
      { name: 'head breadth', kind: 'span', mm: 151.2, uMm: 0.4, count: 2 },
      { name: 'head length', kind: 'span', mm: 194.6, uMm: 0.4, count: 2 },
      { name: 'head circumference', kind: 'girth', mm: 574, uMm: 2, count: 1 },
    ],
    ...more,
  };
}

export const reading = (number: number, more: Partial<Reading> = {}): Reading => ({
  id: idOf(7000 + number),
  wearerId: idOf(1),
  revision: number,
  kind: 'span',
  name: 'head length',
  valueMm: 194.6,
  uncertaintyMm: 0.6,
  instrument: 'spreading calliper',
  takenBy: 'Invented helper',
  takenOn: '2026-11-20',
  withdrawn: false,
  createdAt: DAY,
  ...more,
});

export const job = (number: number, more: Partial<JobView> = {}): JobView => ({
  id: `job-${number}`,
  title: 'Mending captain-scan.zip',
  kind: 'prepare',
  state: 'running',
  fraction: 0.42,
  phase: 'Filling holes',
  startedAt: new Date(Date.now() - 4000).toISOString(),
  ...more,
});

/** A shelf of invented people; a few are enough for pictures, five hundred for weight. */
export function fakeProgram(count = 9): FakeProgram {
  const listeners = new Set<(name: string, value: unknown) => void>();
  const calls: { name: string; input: any }[] = [];
  const names = ['The captain', 'The understudy', 'Ferrin Oake', 'Maud Tinder', 'Ioan Vex', 'Sable Wren', 'Old Hobb'];
  const wearers = Array.from({ length: count }, (_, index) =>
    wearerCard(index + 1, names[index] ?? `Invented wearer ${index + 1}`, {
      lastSeen: new Date(Date.UTC(2026, 10, 20) - index * 86_400_000 * 3).toISOString(),
      ...(index % 4 === 3 ? { forms: 0, scans: 1 } : {}),
      ...(index % 4 === 2 ? { scans: 0, forms: 0, sizes: [], readings: 0 } : {}),
    }),
  ).map((card) => {
    if (card.forms > 0) return card;
    const { revisionId: _none, ...rest } = card;
    return rest;
  });
  let undo: string | undefined = 'Reading of head length';
  let redo: string | undefined;
  const wearer = { id: idOf(1), name: 'The captain', consentDate: '2026-11-18', createdAt: DAY };
  const form = { id: idOf(300), wearerId: idOf(1), name: 'The captain, head', createdAt: DAY };

  const answers: Answers = {
    'app.about': () => ({ version: '0.1.0', libraryPath: '/invented/library.wearwright', locked: false, empty: false }),
    'history.show': () => ({ ...(undo === undefined ? {} : { undo }), ...(redo === undefined ? {} : { redo }) }),
    'history.undo': () => {
      const label = undo ?? '';
      [undo, redo] = [undefined, label];
      return { label };
    },
    'history.redo': () => {
      const label = redo ?? '';
      [undo, redo] = [label, undefined];
      return { label };
    },
    'shelf.show': () => ({
      wearers,
      projects: [{ id: idOf(500), name: 'The glass harbour (invented play)', createdAt: DAY, forms: 2 }],
    }),
    'form.picture': ({ pixels }) => ({ png: smallPicture(head(), pixels) }),
    'job.list': () => ({ jobs: [] }),
    'scan.keep': () => ({ ticketId: idOf(200), wearerId: idOf(1) }),
    'wearer.add': () => ({ id: idOf(1) }),
    'project.add': () => ({ id: idOf(500) }),
    'demo.make': () => ({ jobId: 'job-1' }),
    'usual.set': () => ({}),
    'usual.reset': () => ({}),
    'wearer.show': () => ({
      wearer,
      usual: { ...READING_UNCERTAINTY_MM, limbGirth: 6 },
      scans: [{ id: idOf(100), fileName: 'captain-scan.zip', byteCount: 12_345_678, createdAt: DAY }],
      tickets: [{ id: idOf(200), name: 'Head, November', scanId: idOf(100), formId: form.id, createdAt: DAY }],
      forms: [
        {
          form,
          revisions: [
            { id: idOf(9001), revision: 1, faceCount: 9498, createdAt: DAY, scanId: idOf(100) },
            { id: idOf(9002), revision: 2, faceCount: 9500, createdAt: DAY, scanId: idOf(100) },
          ],
        },
      ],
      liners: [
        { id: idOf(400), foamMm: 8, createdAt: DAY, formRevisionId: idOf(9002), told: [{ words: 'wall', mm: 3 }] },
      ],
      readings: [
        reading(1),
        reading(2, { valueMm: 194.9 }),
        reading(3, { name: 'head breadth', valueMm: 151.2 }),
        reading(4, { name: 'bitragion breadth', valueMm: 142.5 }),
        reading(5, { name: 'head circumference', kind: 'girth', valueMm: 574, uncertaintyMm: 2, instrument: 'tape' }),
      ],
      known: [
        { name: 'head length', kind: 'span', mm: 194.75, uMm: 0.4, count: 2, spreadMm: 0.3 },
        { name: 'head breadth', kind: 'span', mm: 151.2, uMm: 0.6, count: 1 },
        {
          name: 'bitragion breadth',
          kind: 'span',
          mm: 142.5,
          uMm: 0.6,
          count: 1,
          doubt: 'Taken once only; take it again.',
        },
        { name: 'head circumference', kind: 'girth', mm: 574, uMm: 2, count: 1 },
      ],
      repeatability: [{ kind: 'span', temMm: 0.2, lengths: 1, readings: 2 }],
    }),
    'form.show': () => ({ form, revision: revision(), wearer }),
    'form.mesh': () => viewMesh(),
    'form.deviation': () => {
      const perVertexMm = Float32Array.from({ length: head().positions.length / 3 }, (_, vertex) => {
        const z = head().positions[3 * vertex + 2] ?? 0;
        return 0.3 * Math.sin(z / 17);
      });
      return { perVertexMm, maxMm: 0.3, meanMm: 0.19 };
    },
    'form.export': ({ format }) => ({ fileName: `The captain, head.${format}`, bytes: new Uint8Array([1, 2, 3]) }),
    'form.line': () => ({ jobId: 'job-2' }),
    'fill.preview': () => {
      const { positions, triangles } = viewMesh();
      const movedMm = Float32Array.from({ length: positions.length / 3 }, (_, v) =>
        positions[v * 3 + 2] > 100 ? (100 - positions[v * 3 + 2]) / 2 : NaN,
      );
      return { positions, triangles, movedMm, figures: FILLED };
    },
    'fill.make': () => ({ jobId: 'job-3' }),
    'plan.show': () => ({}),
    'making.list': () => ({ made: [] }),
    'making.body': () => {
      const { positions, triangles } = viewMesh();
      return { positions, triangles };
    },
    'making.preview': ({ kind }) => lookedAt(kind),
    'part.list': () => ({ parts: [] }),
    'fitting.list': () => ({ fittings: [] }),
    'stock.list': () => ({
      stock: [{ id: idOf(600), material: 'invented soft foam', nominalMm: 10, compression: 0.2, createdAt: DAY }],
    }),
    'liner.preview': () => {
      const { positions, triangles } = viewMesh(1.08);
      return { positions, triangles, depthMm: null, deepestMm: null, foamVolumeMm3: 1_200_000, curves: [] };
    },
    'liner.map': () => ({
      thicknessMm: Float32Array.from({ length: head().positions.length / 3 }, (_, v) => 7 + (v % 5) / 2),
      depthMm: null,
    }),
    'liner.show': () => ({ liner, mesh: viewMesh(1.08) }),
    'paper.measures': () => ({ fileName: 'measurements The captain.pdf', bytes: new Uint8Array([1, 2, 3]) }),
    'paper.capture': () => ({ fileName: 'capture card.pdf', bytes: new Uint8Array([1, 2, 3]) }),
    'paper.fitting': () => ({ fileName: 'fitting The captain, head.pdf', bytes: new Uint8Array([1, 2, 3]) }),
    'liner.export': ({ format }) => ({ fileName: `liner.${format}`, bytes: new Uint8Array([1, 2, 3]) }),
    'project.show': () => ({
      project: {
        id: idOf(500),
        name: 'The glass harbour (invented play)',
        note: 'Eleven helmets, two understudies.',
        createdAt: DAY,
      },
      forms: [
        { form, wearerName: 'The captain', revisionId: idOf(9002) },
        {
          form: { ...form, id: idOf(301), wearerId: idOf(2), name: 'The understudy, head' },
          wearerName: 'The understudy',
          revisionId: idOf(9003),
        },
      ],
      liners: [
        { id: idOf(400), foamMm: 8, createdAt: DAY, formRevisionId: idOf(9002), told: [{ words: 'wall', mm: 3 }] },
      ],
    }),
    'reading.add': () => ({ id: idOf(7999) }),
    'reading.export': () => ({ csv: 'kind,name,valueMm\nspan,head length,194.6\n' }),
    'reading.import': () => ({ added: 3, alreadyHere: 1 }),
    'wearer.forgetPlan': () => ({
      name: 'The captain',
      rows: { scans: 1, readings: 5, forms: 1, form_revisions: 2, liners: 1 },
      historySteps: 12,
      copiesHolding: ['library-2026-11-19.copy'],
      copiesUnread: [],
    }),
  };

  return {
    calls,
    answers,
    answer: (more) => void Object.assign(answers, more),
    emit(name, value) {
      for (const listener of listeners) listener(name, value);
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    async receive(_name, body) {
      for await (const _chunk of body);
      return done({ upload: 'upload-1' });
    },
    async call(name, input) {
      calls.push({ name, input });
      const spec = (
        CONTRACT as Record<string, { input: { safeParse(v: unknown): any }; output: { safeParse(v: unknown): any } }>
      )[name];
      const answer = (answers as Record<string, ((input: unknown) => unknown) | undefined>)[name];
      if (spec === undefined) throw new Error(`no call ${name}`);
      const parsed = spec.input.safeParse(input);
      if (!parsed.success) throw new Error(`${name}: ${parsed.error.message}`);
      if (answer === undefined) return done({});
      const value = answer(parsed.data);
      if (typeof value === 'object' && value !== null && 'ok' in value) return value as Outcome<unknown>;
      const shaped = spec.output.safeParse(value);
      if (!shaped.success) throw new Error(`${name} answers wrongly: ${shaped.error.message}`);
      return done(value);
    },
  };
}

const check = (name: string, measuredMm: number, differenceMm: number, role: string, agrees = true) => ({
  name,
  kind: name === 'head circumference' ? 'girth' : 'span',
  role,
  onFormMm: measuredMm + differenceMm,
  measuredMm,
  uMm: 0.6,
  uTogetherMm: 0.7,
  differenceMm,
  agrees,
});

/** The whole head as one pad, one piece of a pattern, one piece that does not fit or both sides of a wall. */
function lookedAt(kind: 'pads' | 'pattern' | 'pieces' | 'shell'): CallResult<'making.preview'> {
  const { positions, triangles } = viewMesh(1.02);
  const whole = { faceFrom: 0, faceCount: triangles.length / 3 };
  const values = (mean: number): Float32Array<ArrayBuffer> =>
    Float32Array.from(
      { length: positions.length / 3 },
      (_, vertex) => mean + Math.sin((positions[3 * vertex] ?? 0) / 20),
    );
  if (kind === 'shell') {
    const shell = { outside: whole, inside: whole, lines: [], reaches: [false], hollowMm3: 3e6, wallMm3: 4e5 };
    return { positions, triangles, shell };
  }
  const piece = { ...whole, areaMm2: 20_000, overlaps: false, giveMeanPercent: 2.5 };
  return {
    positions,
    triangles,
    ...(kind === 'pads'
      ? {
          pads: {
            roomMm: values(12),
            lines: [],
            pads: [
              {
                ...whole,
                name: 'crown',
                areaMm2: 9000,
                room: { p10Mm: 11, meanMm: 12, p90Mm: 13.4 },
                stack: [{ material: 'invented soft foam', nominalMm: 10 }],
                contactPercent: 92,
              },
            ],
          },
        }
      : kind === 'pattern'
        ? {
            pattern: {
              givePercent: values(4),
              lines: [],
              pieces: [{ ...piece, giveP99Percent: 7.3, withinStretch: false }],
            },
          }
        : {
            pieces: {
              pieces: [{ ...whole, sizeMm: [260, 190, 230], fits: false, volumeMm3: 450_000 }],
              planes: [],
              idle: [],
            },
          }),
  };
}

function viewMesh(scale = 1): ViewMesh {
  const mesh = head();
  return {
    positions: Float32Array.from(mesh.positions, (value) => value * scale),
    triangles: new Uint32Array(mesh.triangles),
    toFile: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1],
  };
}

/** The figures of a making, as the program keeps them. */
function revision(): FormRevision {
  return {
    id: idOf(9002),
    formId: idOf(300),
    revision: 2,
    scanId: idOf(100),
    recipe: {},
    programVersion: '0.1.0',
    meshSha256: 'a'.repeat(64),
    faceCount: 9500,
    createdAt: DAY,
    steps: [
      {
        verb: 'mend',
        parameters: {},
        figures: {
          dropped: [{ faces: 300, widthMm: 40, areaMm2: 900, distanceMm: 210 }],
          filled: [{ perimeterMm: 214 }, { perimeterMm: 61 }, { perimeterMm: 12 }],
          holesLeft: 0,
          reskinned: null,
          movedMaxMm: 1.12,
          movedMeanMm: 0.16,
        },
      },
      { verb: 'trim', parameters: {}, figures: { cut: [{}], cappedAreaMm2: 14_210 } },
      { verb: 'stand', parameters: {}, figures: { method: 'frankfurt', confidence: 1 } },
      {
        verb: 'true',
        parameters: {},
        figures: {
          factor: 999.27,
          expandedPercent: 0.31,
          residuals: [{ role: 'used' }, { role: 'used' }, { role: 'used' }, { role: 'left out' }],
          outliers: ['face length'],
          advice: ['Take the face length again: it is 9.6 mm longer than all others say.'],
        },
      },
      {
        verb: 'lighten',
        parameters: {},
        figures: { faces: 9500, facesBefore: 53_110, maxDeviationMm: 0.41, meanDeviationMm: 0.028 },
      },
      {
        verb: 'form',
        parameters: {},
        figures: {
          sizeMm: [231, 402, 398],
          health: { watertight: true, selfIntersections: 0, openEdges: 0, volumeMm3: 9.81e6 },
          checks: [
            check('head length', 194.8, 0.2, 'used'),
            check('head breadth', 151.2, -0.4, 'used'),
            check('bitragion breadth', 142.5, 0.9, 'held back'),
            check('face length', 128.9, -9.6, 'left out', false),
            check('head circumference', 574, 5.1, 'used', false),
          ],
        },
      },
    ],
  };
}

const liner: Liner = {
  id: idOf(400),
  formRevisionId: idOf(9002),
  parameters: { foamMm: 8, bridgeMm: 12, wallMm: 3, toleranceMm: 0.1 },
  figures: {
    faces: 56_720,
    minMm: 7.91,
    maxMm: 8.12,
    maxAbsErrorMm: 0.124,
    meanAbsErrorMm: 0.0098,
    samples: 214_000,
    watertight: true,
    selfIntersections: 0,
    volumeMm3: 812_000,
    foamVolumeMm3: 1.92e6,
    wallMinMm: 2.94,
    wallMaxMm: 3.07,
  },
  foamMm: 8,
  programVersion: '0.1.0',
  meshSha256: 'b'.repeat(64),
  createdAt: DAY,
};

export const noRecord = <T>(): Outcome<T> => failed(fault('store.no-record', { kind: 'wearer', id: idOf(1) }));
