/** Calls about a ticket: from a scan dropped in to the form. */
import type { z } from 'zod';
import type { KnownLength } from '../../../shared-types/contract.ts';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { REGIONS, type RegionName, type Side } from '../../../shared-types/measures/index.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { done, type Outcome } from '../../../shared-types/outcome.ts';
import type {
  poseSpecification,
  proposeSpecification,
  sizeSpecification,
} from '../../../shared-types/operations/desk.ts';
import type { standFigures } from '../../../shared-types/operations/stand.ts';
import {
  measuresAsBefore,
  ticketMeasures,
  type Ticket,
  type TicketDraft,
} from '../../../shared-types/records/ticket.ts';
import { SOLID_CAD_FACES } from '../../../shared-types/tolerances.ts';
import { IDENTITY, invert, multiply } from '../../geometry/mesh/transform.ts';
import * as records from '../../store/records.ts';
import { usualUncertainty } from '../../store/usual-records.ts';
import { makeCopyIfDue } from '../../store/safety-copies.ts';
import { keepScan, makeForm } from '../making.ts';
import { readScan, viewOf, type Ready } from './bench.ts';
import { knownLengths } from './known-lengths.ts';
import { placedMeasures, recipeOf, upOf, type PlacedMeasure } from './recipe-of.ts';
import { changed, type Handlers, type OpenSession } from './session.ts';
import { byId } from '../by-id.ts';
import type { Watch } from '../../jobs/pool.ts';

/** A light margin under what solid CAD takes. */
const FORM_FACES = SOLID_CAD_FACES - 500;

const freshDraft = (region: RegionName = 'head', side?: Side, earlier: readonly Ticket[] = []): TicketDraft => ({
  ...(region === 'head' ? {} : { region }),
  ...(side === undefined ? {} : { side }),
  keep: 'largest',
  trim: [],
  landmarks: {},
  measures: measuresAsBefore(
    ticketMeasures(region, side),
    earlier.findLast(({ draft }) => (draft.region ?? 'head') === region && draft.side === side)?.draft.measures ?? [],
  ),
  faces: FORM_FACES,
});

const ticketsOf = ({ library }: OpenSession, wearerId: string): readonly Ticket[] =>
  records.allOf(library, 'tickets', 'WHERE wearer_id = ?', wearerId);

const plainName = (fileName: string): string => fileName.replace(/\.[^.]*$/, '').replace(/[-_]+/g, ' ') || fileName;

function find(session: OpenSession, id: string): Outcome<{ ticket: Ticket; known: KnownLength[] }> {
  const ticket = byId(session.library, 'tickets', id, 'ticket');
  if (!ticket.ok) return ticket;
  const sheet = records.sheetOf(session.library, ticket.value.wearerId);
  return done({ ticket: ticket.value, known: knownLengths(sheet, usualUncertainty(session.library)) });
}

async function readyFor(session: OpenSession, ticket: Ticket, watch: Watch): Promise<Outcome<Ready>> {
  return session.bench.prepare(session.library, ticket.scanId, ticket.draft.keep, watch);
}

/** The wearer's left in the file's coordinates: by the tragions, else by how the scan seems to stand. */
function leftOf(draft: TicketDraft, { toView, mended }: Ready): Vec3 {
  const [left, right] = [draft.landmarks['tragion-left']?.point, draft.landmarks['tragion-right']?.point];
  if (left !== undefined && right !== undefined) return [0, 1, 2].map((k) => left[k] - right[k]) as unknown as Vec3;
  const toFile = invert(multiply(toView, mended.fromFile));
  return [toFile[1], toFile[5], toFile[9]];
}

const placedOf = (ticket: Ticket, known: readonly KnownLength[], ready: Ready): PlacedMeasure[] =>
  placedMeasures(ticket.draft, known, upOf(ticket.draft) ?? { sideways: leftOf(ticket.draft, ready) });

/** What stands the body up; undefined while one or two points fix no frame: three of a head do, a limb's or torso's own. */
function standingBy({ region, landmarks }: TicketDraft): z.input<typeof poseSpecification.parameters> | undefined {
  const { frame, standing } = REGIONS[region ?? 'head'];
  const placed = Object.entries(landmarks);
  const isFixed = standing === 'head' ? placed.length >= 3 : frame.every((name) => landmarks[name] !== undefined);
  if (!isFixed) return undefined;
  return { landmarks: Object.fromEntries(placed.map(([name, { point }]) => [name, point])), region: standing };
}

export const ticketCalls: Handlers<
  | 'scan.receive'
  | 'scan.keep'
  | 'ticket.start'
  | 'ticket.show'
  | 'ticket.edit'
  | 'ticket.prepare'
  | 'ticket.mesh'
  | 'ticket.stand'
  | 'ticket.propose'
  | 'ticket.size'
  | 'ticket.make'
> = {
  'scan.receive': ({ fileName, bytes }, { uploads }) =>
    uploads.receive(
      fileName,
      (async function* () {
        yield bytes;
      })(),
    ),

  'scan.keep': async ({ upload, fileName, wearerId, wearerName, region, side }, session, watch) => {
    const { library, pool } = session;
    const taken = session.uploads.read(upload);
    if (!taken.ok) return taken;
    // A file that cannot be read is not kept: the sentence says what is wrong with it.
    const bytes = taken.value;
    const read = await pool.run({ verb: 'intake', inputs: [{ bytes, name: fileName }], parameters: {} }, watch);
    if (!read.ok) return read;
    const wearer =
      wearerId === undefined
        ? records.addWearer(library, { name: wearerName ?? plainName(fileName) })
        : byId(library, 'wearers', wearerId, 'wearer');
    if (!wearer.ok) return wearer;
    const scan = await keepScan(library, { wearerId: wearer.value.id, fileName, bytes });
    if (!scan.ok) return scan;
    const ticket = records.addTicket(library, {
      wearerId: wearer.value.id,
      scanId: scan.value.id,
      name: plainName(fileName),
      draft: freshDraft(region, side, ticketsOf(session, wearer.value.id)),
    });
    if (!ticket.ok) return ticket;
    session.uploads.putAway(upload);
    return changed(session, done({ ticketId: ticket.value.id, wearerId: wearer.value.id }, read.warnings));
  },

  'ticket.start': ({ scanId }, session) => {
    const scan = byId(session.library, 'scans', scanId, 'scan');
    if (!scan.ok) return scan;
    const { wearerId, fileName } = scan.value;
    // What an earlier ticket says the scan is of, it still is.
    const before = records.allOf(session.library, 'tickets', 'WHERE scan_id = ?', scanId).at(-1)?.draft;
    const made = records.addTicket(session.library, {
      wearerId,
      scanId,
      name: plainName(fileName),
      draft: freshDraft(before?.region, before?.side, ticketsOf(session, wearerId)),
    });
    return changed(session, made.ok ? done({ id: made.value.id }) : made);
  },

  'ticket.show': ({ id }, session) => {
    const found = find(session, id);
    if (!found.ok) return found;
    const { ticket, known } = found.value;
    const { library, bench } = session;
    const wearer = byId(library, 'wearers', ticket.wearerId, 'wearer');
    if (!wearer.ok) return wearer;
    const revision = ticket.formId === undefined ? undefined : records.revisionsOf(library, ticket.formId).at(-1);
    const ready = bench.ready(ticket.scanId, ticket.draft.keep);
    return done({
      ticket,
      wearer: wearer.value,
      known,
      readings: records.sheetOf(library, ticket.wearerId),
      usual: usualUncertainty(library),
      ...(ready === undefined ? {} : { prepared: ready.prepared }),
      ...(revision === undefined ? {} : { revision }),
    });
  },

  'ticket.edit': ({ id, label, draft, name }, session) => {
    const edits = { ...(draft === undefined ? {} : { draft }), ...(name === undefined ? {} : { name }) };
    return changed(session, records.editTicket(session.library, id, edits, label), 'ticket', id);
  },

  'ticket.prepare': ({ id }, session) => {
    const found = find(session, id);
    if (!found.ok) return found;
    const { ticket } = found.value;
    const { scanId, wearerId, draft } = ticket;
    const under = session.jobs
      .list()
      .find((job) => job.kind === 'prepare' && job.ticketId === id && job.state === 'running');
    if (under !== undefined) return done({ jobId: under.id });
    const jobId = session.jobs.start({
      kind: 'prepare',
      title: `Mending ${ticket.name}`,
      ticketId: id,
      wearerId,
      work: async (watch) => {
        const ready = await session.bench.prepare(session.library, scanId, draft.keep, watch);
        if (!ready.ok) return ready;
        session.tell('changed', { what: 'ticket', id });
        return done({}, ready.value.prepared.warnings);
      },
    });
    return done({ jobId });
  },

  'ticket.mesh': async ({ id, which }, session, watch) => {
    const found = find(session, id);
    if (!found.ok) return found;
    const ready = await readyFor(session, found.value.ticket, watch);
    if (!ready.ok) return ready;
    if (which === 'scan') return session.bench.asItCame(session.library, ready.value, watch);
    const { mended, toView } = ready.value;
    return done(viewOf(mended.mesh, toView, mended.fromFile));
  },

  'ticket.stand': async ({ id }, session, watch) => {
    const found = find(session, id);
    if (!found.ok) return found;
    const { ticket } = found.value;
    const ready = await readyFor(session, ticket, watch);
    if (!ready.ok) return ready;
    const { mended, toView } = ready.value;
    const by = standingBy(ticket.draft);
    const { standing: region } = REGIONS[ticket.draft.region ?? 'head'];
    if (by === undefined && region === 'head') {
      return done({ matrix: [...IDENTITY], method: 'guess', confidence: ready.value.confidence, warnings: [] });
    }
    const order = { verb: 'pose', inputs: [mended], parameters: by ?? { landmarks: {}, region } };
    const posed = await session.pool.run(order, watch);
    if (!posed.ok) return posed;
    const { transform, method, confidence } = posed.value.figures as z.output<typeof standFigures>;
    // Standing happens in the mesh's own size; the view keeps the guessed mm.
    const mm = ready.value.prepared.assumedMmPerUnit;
    const sized = transform.map((x, at) => (at < 12 ? x * mm : x));
    const matrix = [...multiply(sized, invert(toView))];
    return done({ matrix, method, confidence, warnings: [...posed.warnings] });
  },

  'ticket.propose': async ({ id, region, side }, session, watch) => {
    const ticket = find(session, id);
    if (!ticket.ok) return ticket;
    const ready = await readyFor(session, ticket.value.ticket, watch);
    if (!ready.ok) return ready;
    const { mended, toView } = ready.value;
    const order = { verb: 'propose', inputs: [mended], parameters: { toView: [...toView], region, side } };
    const found = await session.pool.run(order, watch);
    if (!found.ok) return found;
    return done(found.value.figures as z.output<typeof proposeSpecification.figures>);
  },

  'ticket.size': async ({ id }, session, watch) => {
    const found = find(session, id);
    if (!found.ok) return found;
    const { ticket, known } = found.value;
    const ready = await readyFor(session, ticket, watch);
    if (!ready.ok) return ready;
    const { mended, toView } = ready.value;
    const measures = placedOf(ticket, known, ready.value);
    if (measures.length === 0) {
      const missing = 'Place the landmarks of at least one measure.';
      return done({ missing, drawn: [], without: [], warnings: [] });
    }
    const standing = standingBy(ticket.draft);
    const parameters = { measures, toView: [...toView], ...(standing === undefined ? {} : { standing }) };
    const outcome = await session.pool.run({ verb: 'size', inputs: [mended], parameters }, watch);
    if (!outcome.ok) return outcome;
    const { fit, missing, drawn, without } = outcome.value.figures as z.output<typeof sizeSpecification.figures>;
    return done({
      ...(fit === null ? {} : { fit }),
      ...(missing === null ? {} : { missing }),
      drawn: drawn.map((one) => ({
        ...one,
        points: one.points as Float32Array<ArrayBuffer>,
        ...(fit === null ? {} : { scaledMm: one.onScan * fit.factor }),
      })),
      without,
      warnings: [...outcome.warnings],
    });
  },

  'ticket.make': ({ id }, session) => {
    const found = find(session, id);
    if (!found.ok) return found;
    const { ticket } = found.value;
    const jobId = session.jobs.start({
      kind: 'make',
      title: `Making the form ${ticket.name}`,
      ticketId: id,
      wearerId: ticket.wearerId,
      work: async (watch) => {
        // The ticket may have been changed while this waited: what is made is what it says now.
        const now = find(session, id);
        if (!now.ok) return now;
        const { library, pool } = session;
        const ready = await readyFor(session, now.value.ticket, { signal: watch.signal as AbortSignal });
        if (!ready.ok) return ready;
        const scan = readScan(library, ticket.scanId);
        if (!scan.ok) return scan;
        const { formId, draft, name, wearerId } = now.value.ticket;
        const recipe = recipeOf(draft, placedOf(now.value.ticket, now.value.known, ready.value));
        const wanted = { wearerId, name, fileName: scan.value.scan.fileName, bytes: scan.value.bytes, recipe };
        const made = await makeForm({ library, pool, watch }, formId === undefined ? wanted : { ...wanted, formId });
        if (!made.ok) return made;
        if (formId === undefined) {
          const linked = records.editTicket(library, id, { formId: made.value.form.id }, 'make a form');
          if (!linked.ok) return linked;
        }
        session.tell('changed', { what: 'library' });
        session.tell('changed', { what: 'ticket', id });
        const copied = makeCopyIfDue(library);
        // The form is kept all the same; that the copy failed is worth knowing.
        const warnings = copied.ok ? [] : [{ code: 'copy', sentence: faultSentence(copied.fault) }];
        return done({ revisionId: made.value.revision.id }, [...made.warnings, ...warnings]);
      },
    });
    return done({ jobId });
  },
};
