/**
 * The invented production in a library, so that everything can be tried without a scan: one wearer whose form is made,
 * one whose scan and readings wait for the three decisions.
 */
import { Worker } from 'node:worker_threads';
import { fault } from '../../../shared-types/faults/index.ts';
import { HEAD_MEASURES } from '../../../shared-types/measures/index.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { Recipe } from '../../../shared-types/recipe.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { PRODUCTION, WEARERS, type InventedWearer } from '../../invented/production.ts';
import type { Watch } from '../../jobs/pool.ts';
import * as records from '../../store/records.ts';
import { keepScan, makeForm } from '../making.ts';
import { knownLengths } from './known-lengths.ts';
import { placedMeasures, recipeOf } from './recipe-of.ts';
import type { InventedScan, InventOrder } from './invent-worker.ts';
import { changed, type Handlers, type OpenSession } from './session.ts';

/** Faces of the demo scans here: quick to try on any machine. */
const DEMO_FACES = 53_000;
const TAKEN_BY = 'an invented fitter';
/** Shares of the progress: inventing each scan, and making the first form. */
const INVENT_SHARE = 0.25;
const MAKE_SHARE = 0.5;

const extension = import.meta.url.endsWith('.ts') ? '.ts' : '.js';
const THREAD = new URL(`./invent-worker${extension}`, import.meta.url);

function invent(order: InventOrder, signal: AbortSignal | undefined): Promise<Outcome<InventedScan>> {
  return new Promise((settle, refuse) => {
    const worker = new Worker(THREAD, { workerData: order });
    const stop = (): void => {
      void worker.terminate();
      settle(failed(fault('job.cancelled', {})));
    };
    signal?.addEventListener('abort', stop, { once: true });
    worker.once('message', (scan: InventedScan) => {
      signal?.removeEventListener('abort', stop);
      settle(done(scan));
    });
    worker.once('error', refuse);
  });
}

interface Kept {
  readonly wearerId: string;
  readonly ticketId: string;
  readonly recipe: Recipe;
}

/** Wearer, scan, readings and ticket; `placed` puts the landmarks and the cut on the ticket too. */
async function keep(
  { library }: OpenSession,
  wearer: InventedWearer,
  fileName: string,
  scanned: InventedScan,
  placed: boolean,
): Promise<Outcome<Kept>> {
  const { recipe, bytes } = scanned;
  const person = records.addWearer(library, {
    name: wearer.role[0].toUpperCase() + wearer.role.slice(1),
    note: `Invented, of the invented production "${PRODUCTION}".`,
    consentNote: 'Invented; no real person, so nobody had to be asked.',
    consentDate: new Date().toISOString().slice(0, 10),
  });
  if (!person.ok) return person;
  const wearerId = person.value.id;
  const kept = await keepScan(library, { wearerId, fileName, bytes });
  if (!kept.ok) return kept;
  const taken = [
    ...recipe.spans.map((span) => ({ ...span, kind: 'span' as const, instrument: 'spreading calliper' })),
    ...recipe.girths.map((girth) => ({ ...girth, kind: 'girth' as const, instrument: 'tape' })),
  ];
  const readings = records.addReadings(
    library,
    wearerId,
    taken.map(({ kind, name, measured, u, instrument }) => ({
      kind,
      name,
      valueMm: measured,
      ...(u === undefined ? {} : { uncertaintyMm: u }),
      instrument,
      takenBy: TAKEN_BY,
    })),
  );
  if (!readings.ok) return readings;
  const ticket = records.addTicket(library, {
    wearerId,
    scanId: kept.value.id,
    name: `Head of ${wearer.role.replace(' (invented)', '')}`,
    draft: draftOf(wearer, scanned, placed),
  });
  if (!ticket.ok) return ticket;
  // What the ticket says, so that the form made from it is the one the ticket shows.
  const { id: ticketId, draft } = ticket.value;
  const [left, right] = [scanned.landmarks['tragion-left'], scanned.landmarks['tragion-right']];
  const sideways: Vec3 = [left[0] - right[0], left[1] - right[1], left[2] - right[2]];
  return done({
    wearerId,
    ticketId,
    recipe: recipeOf(draft, placedMeasures(draft, knownLengths(readings.value), { sideways })),
  });
}

function draftOf(wearer: InventedWearer, { recipe, landmarks }: InventedScan, placed: boolean): TicketDraft {
  const used = new Set(['orbitale-left', ...HEAD_MEASURES.flatMap((measure) => measure.landmarks)]);
  return {
    keep: 'largest',
    trim: placed ? recipe.trim : [],
    landmarks: placed
      ? Object.fromEntries(
          Object.entries(landmarks)
            .filter(([name]) => used.has(name))
            .map(([name, point]) => [name, { point, origin: 'hand' as const }]),
        )
      : {},
    measures: HEAD_MEASURES.map((measure) => ({
      name: measure.name,
      kind: measure.kind,
      landmarks: [...measure.landmarks],
      role: wearer.held === measure.name ? 'hold' : 'use',
    })),
    faces: recipe.faces,
  };
}

async function fill(session: OpenSession, watch: Watch): Promise<Outcome<{ wearerId: string }>> {
  const { library, pool } = session;
  let begun = 0;
  const share = (part: number): Watch => {
    const [from, size] = [begun, part];
    begun += part;
    return { ...watch, progress: (fraction, phase) => watch.progress?.(from + size * fraction, phase) };
  };
  let wearerId = '';
  for (const [at, wearer] of WEARERS.entries()) {
    const inner = share(INVENT_SHARE);
    inner.progress?.(0, `scanning ${wearer.role}`);
    const fileName = wearer.scanFile.replace(/\.\w+$/, '.ply');
    const order = { wearer: { ...wearer, faces: Math.min(wearer.faces, DEMO_FACES) }, fileName };
    const scanned = await invent(order, watch.signal);
    if (!scanned.ok) return scanned;
    const kept = await keep(session, wearer, fileName, scanned.value, at === 0);
    if (!kept.ok) return kept;
    session.tell('changed', { what: 'library' });
    if (at > 0) continue;
    wearerId = kept.value.wearerId;
    const { bytes } = scanned.value;
    const { recipe } = kept.value;
    const wanted = { wearerId, name: 'Head', fileName, bytes, recipe };
    const made = await makeForm({ library, pool, watch: share(MAKE_SHARE) }, wanted);
    if (!made.ok) return made;
    const formId = made.value.form.id;
    const linked = records.editTicket(library, kept.value.ticketId, { formId }, 'make a form');
    if (!linked.ok) return linked;
    const project = records.addProject(library, { name: `${PRODUCTION} (invented)` });
    if (!project.ok) return project;
    const used = records.useForm(library, project.value.id, formId);
    if (!used.ok) return used;
    session.tell('changed', { what: 'library' });
  }
  return done({ wearerId });
}

export const demoCalls: Handlers<'demo.make'> = {
  'demo.make': (_given, session) =>
    done({
      jobId: session.jobs.start({
        kind: 'demo',
        title: `The invented production "${PRODUCTION}"`,
        work: async (watch) => changed(session, await fill(session, watch)),
      }),
    }),
};
