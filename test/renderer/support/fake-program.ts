/**
 * A program for the screens to talk to, all in memory and all invented: it answers the contract's calls as the real one
 * would, so that a screen's every state can be brought about. Not shipped.
 */
import {
  CONTRACT,
  type CallName,
  type CallResult,
  type JobView,
  type WearerCard,
} from '../../../shared-types/contract.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import { inventHead } from '../../../electron/invented/head.ts';
import { smallPicture } from '../../../electron/services/studio/small-picture.ts';
import type { Call, Receive, Subscribe } from '../../../electron/services/conversation.ts';

type Answers = { [N in CallName]?: (input: any) => CallResult<N> | Outcome<CallResult<N>> };

export const idOf = (number: number): string => `00000000-0000-4000-8000-${String(number).padStart(12, '0')}`;
const DAY = '2026-11-20T10:00:00.000Z';
let invented: Mesh | undefined;
const head = (): Mesh => (invented ??= inventHead({ seed: 4 }).mesh(8000));

export interface FakeProgram {
  readonly call: Call;
  readonly subscribe: Subscribe;
  readonly receive: Receive;
  /** Every call made, in order. */
  readonly calls: { name: string; input: any }[];
  /** Replace or add answers. */
  answer(answers: Answers): void;
  emit(name: 'jobs' | 'changed', value: unknown): void;
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
    'wearer.show': () => ({
      wearer,
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
      liners: [{ id: idOf(400), foamMm: 8, createdAt: DAY, formRevisionId: idOf(9002) }],
      readings: [
        reading(1),
        reading(2, { valueMm: 194.9 }),
        reading(3, { name: 'head breadth', valueMm: 151.2 }),
        reading(4, { name: 'bitragion breadth', valueMm: 142.5 }),
        reading(5, { name: 'head circumference', kind: 'girth', valueMm: 574, uncertaintyMm: 2, instrument: 'tape' }),
      ],
      known: [
        { name: 'head length', kind: 'span', mm: 194.75, uMm: 0.4, count: 2 },
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

export const noRecord = <T>(): Outcome<T> => failed(fault('store.no-record', { kind: 'wearer', id: idOf(1) }));
