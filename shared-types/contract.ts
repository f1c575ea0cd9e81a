/**
 * What the screens may ask of the program, in one table: a name, the schema of what is given, the schema of what comes
 * back. Both transports (the desktop shell's and the local port's) and the dispatcher read this table; nothing else
 * crosses. Long work is a job: the asking call returns its id at once, `job.list` and the `jobs` event tell how it
 * stands, and what it made is in the library when it is done, whatever screen is open by then.
 */
import { z } from 'zod';
import { ALLOWANCE_CALLS } from './calls/allowances.ts';
import { BLOCK_CALLS } from './calls/blocks.ts';
import { FILL_CALLS } from './calls/fills.ts';
import { LINER_CALLS, listedLinerSchema } from './calls/liners.ts';
import { FITTING_CALLS } from './calls/fittings.ts';
import { MAKING_CALLS } from './calls/makings.ts';
import { PAPER_CALLS } from './calls/papers.ts';
import { USUAL_CALLS, usualUncertaintySchema } from './calls/usual.ts';
import { PLAN_CALLS } from './calls/plans.ts';
import { idSchema, momentSchema } from './ids.ts';
import { formRevisionSchema, formSchema } from './records/form.ts';
import { linerSchema, projectSchema } from './records/project.ts';
import { readingSchema } from './records/reading.ts';
import { scanSchema } from './records/scan.ts';
import { ticketDraftSchema, ticketSchema } from './records/ticket.ts';
import { wearerSchema } from './records/wearer.ts';
import { standMethodSchema } from './operations/stand.ts';
import { trueFigures } from './operations/true.ts';

const float32 = z.custom<Float32Array<ArrayBuffer>>((value) => value instanceof Float32Array, 'expected 32-bit floats');
const uint32 = z.custom<Uint32Array<ArrayBuffer>>((value) => value instanceof Uint32Array, 'expected 32-bit integers');
const bytes = z.custom<Uint8Array<ArrayBuffer>>((value) => value instanceof Uint8Array, 'expected bytes');
const matrix = z.array(z.number()).length(16);
const name = z.string().trim().min(1).max(200);
const nothing = z.object({});
const made = z.object({ id: idSchema });
const warning = z.object({ code: z.string(), sentence: z.string() });

/** A mesh for looking at: single precision, in a frame near the origin. */
export const viewMeshSchema = z.object({
  positions: float32,
  triangles: uint32,
  colours: bytes.optional(),
  /** From the view's coordinates to the scan file's (identity for a form): 16 numbers, row by row. */
  toFile: matrix,
});
export type ViewMesh = z.infer<typeof viewMeshSchema>;

/** A length known of a wearer, from the newest readings of that name. */
export const knownLengthSchema = z.object({
  name: z.string(),
  kind: z.enum(['span', 'girth', 'arc']),
  /** Mean of the readings that stand, taken about the same time as the newest. */
  mm: z.number(),
  /** Standard uncertainty of that mean. */
  uMm: z.number(),
  count: z.number().int(),
  /** Mean of readings of an earlier body, which count no more, and the day of their newest. */
  earlier: z.object({ mm: z.number(), takenOn: z.string() }).optional(),
  /** Other lengths of this part of the body were taken long since. */
  isOfEarlierBody: z.boolean().optional(),
  /** Between the least and the largest of several readings. */
  spreadMm: z.number().optional(),
  /** Something odd about it, in a sentence. */
  doubt: z.string().optional(),
});
export type KnownLength = z.infer<typeof knownLengthSchema>;

/** How well readings of one kind repeat on a sheet. */
export const repeatabilitySchema = z.object({
  kind: z.enum(['span', 'girth', 'arc']),
  /** Technical error of measurement. */
  temMm: z.number(),
  /** Lengths taken more than once, and their readings. */
  lengths: z.number().int(),
  readings: z.number().int(),
});
export type Repeatability = z.infer<typeof repeatabilitySchema>;

export const wearerCardSchema = z.object({
  id: idSchema,
  name: z.string(),
  scans: z.number().int(),
  readings: z.number().int(),
  forms: z.number().int(),
  tickets: z.number().int(),
  consentDate: z.string().optional(),
  /** When something of theirs last changed. */
  lastSeen: momentSchema,
  /** Newest making of a form, for the small picture. */
  revisionId: idSchema.optional(),
  sizes: z.array(knownLengthSchema),
});
export type WearerCard = z.infer<typeof wearerCardSchema>;

export const jobViewSchema = z.object({
  id: z.string(),
  /** What it does, for people: "Mending captain-scan.zip". */
  title: z.string(),
  kind: z.enum(['prepare', 'make', 'line', 'part', 'fit', 'company', 'things', 'demo']),
  state: z.enum(['running', 'done', 'failed', 'stopped', 'interrupted']),
  fraction: z.number(),
  phase: z.string(),
  startedAt: momentSchema,
  /** Why it did not end well, or what to know about the result. */
  sentence: z.string().optional(),
  ticketId: idSchema.optional(),
  wearerId: idSchema.optional(),
  revisionId: idSchema.optional(),
  linerId: idSchema.optional(),
  partId: idSchema.optional(),
  fittingId: idSchema.optional(),
  makingId: idSchema.optional(),
});
export type JobView = z.infer<typeof jobViewSchema>;

/** What is known of a ticket's scan once it has been read and mended. */
export const preparedSchema = z.object({
  fileName: z.string(),
  byteCount: z.number().int(),
  sha256: z.string(),
  unitSentence: z.string(),
  facesBefore: z.number().int(),
  facesAfter: z.number().int(),
  openEdgesBefore: z.number().int(),
  selfIntersectionsBefore: z.number().int(),
  piecesBefore: z.number().int(),
  sound: z.boolean(),
  dropped: z.array(z.object({ faces: z.number(), widthMm: z.number(), distanceMm: z.number() })),
  holesFilled: z.number().int(),
  largestHoleMm: z.number(),
  movedMaxMm: z.number(),
  movedMeanMm: z.number(),
  reskinned: z.string().optional(),
  /** mm per number of the file taken for the figures above; the true size comes later. */
  assumedMmPerUnit: z.number(),
  assumedBecause: z.string(),
  warnings: z.array(warning),
});
export type Prepared = z.infer<typeof preparedSchema>;

/** A length drawn on the scan, points in the view's coordinates; a girth is a closed line. */
export const drawnLengthSchema = z.object({
  name: z.string(),
  kind: z.enum(['span', 'girth', 'arc']),
  points: float32,
  /** On the scan in the file's own unit, and scaled by the factor if there is one. */
  onScan: z.number(),
  scaledMm: z.number().optional(),
});

export const CONTRACT = {
  'app.about': {
    input: nothing,
    output: z.object({
      version: z.string(),
      libraryPath: z.string(),
      locked: z.boolean(),
      /** Nothing in it yet: the first start. */
      empty: z.boolean(),
    }),
  },
  'library.unlock': { input: z.object({ passphrase: z.string().max(1000) }), output: nothing },
  'history.show': {
    input: nothing,
    output: z.object({ undo: z.string().optional(), redo: z.string().optional() }),
  },
  'history.undo': { input: nothing, output: z.object({ label: z.string() }) },
  'history.redo': { input: nothing, output: z.object({ label: z.string() }) },

  'shelf.show': {
    input: z.object({ text: z.string().max(200).default('') }),
    output: z.object({
      wearers: z.array(wearerCardSchema),
      projects: z.array(projectSchema.extend({ forms: z.number().int() })),
    }),
  },
  'project.add': { input: z.object({ name, note: z.string().max(20_000).optional() }), output: made },
  'project.use': { input: z.object({ projectId: idSchema, formId: idSchema }), output: nothing },
  'project.show': {
    input: z.object({ id: idSchema }),
    output: z.object({
      project: projectSchema,
      forms: z.array(z.object({ form: formSchema, wearerName: z.string(), revisionId: idSchema.optional() })),
      liners: z.array(listedLinerSchema),
    }),
  },
  'wearer.add': {
    input: z.object({
      name,
      note: z.string().max(20_000).optional(),
      consentNote: z.string().max(20_000).optional(),
      consentDate: z.iso.date().optional(),
    }),
    output: made,
  },
  'wearer.edit': {
    input: z.object({
      id: idSchema,
      name: name.optional(),
      note: z.string().max(20_000).optional(),
      consentNote: z.string().max(20_000).optional(),
      consentDate: z.iso.date().optional(),
    }),
    output: nothing,
  },
  'wearer.show': {
    input: z.object({ id: idSchema }),
    output: z.object({
      wearer: wearerSchema,
      scans: z.array(scanSchema.pick({ id: true, fileName: true, byteCount: true, createdAt: true })),
      tickets: z.array(ticketSchema.pick({ id: true, name: true, scanId: true, formId: true, createdAt: true })),
      forms: z.array(
        z.object({
          form: formSchema,
          revisions: z.array(
            formRevisionSchema.pick({ id: true, revision: true, faceCount: true, createdAt: true, scanId: true }),
          ),
        }),
      ),
      liners: z.array(listedLinerSchema),
      readings: z.array(readingSchema),
      known: z.array(knownLengthSchema),
      usual: usualUncertaintySchema,
      repeatability: z.array(repeatabilitySchema),
    }),
  },
  'wearer.forgetPlan': {
    input: z.object({ id: idSchema }),
    output: z.object({
      name: z.string(),
      rows: z.record(z.string(), z.number()),
      historySteps: z.number().int(),
      copiesHolding: z.array(z.string()),
      copiesUnread: z.array(z.string()),
    }),
  },
  'wearer.forget': { input: z.object({ id: idSchema }), output: nothing },
  'reading.add': {
    input: readingSchema.pick({
      wearerId: true,
      kind: true,
      name: true,
      valueMm: true,
      uncertaintyMm: true,
      instrument: true,
      takenBy: true,
      takenOn: true,
      replacesId: true,
    }),
    output: made,
  },
  'reading.withdraw': { input: z.object({ wearerId: idSchema, id: idSchema }), output: nothing },
  'reading.import': {
    input: z.object({ wearerId: idSchema, csv: z.string().max(5_000_000) }),
    output: z.object({ added: z.number().int(), alreadyHere: z.number().int() }),
  },
  'reading.export': { input: z.object({ wearerId: idSchema }), output: z.object({ csv: z.string() }) },

  /** A file's bytes, where the transport has no better way to bring them; the handle serves `scan.keep` until it has succeeded. */
  'scan.receive': { input: z.object({ fileName: name, bytes }), output: z.object({ upload: z.string() }) },
  /** Keep a received scan under a wearer (a new one if only a name is given) and start a ticket for it. */
  'scan.keep': {
    input: z.object({
      upload: z.string().min(1).max(100),
      fileName: z.string().min(1).max(500),
      wearerId: idSchema.optional(),
      wearerName: name.optional(),
      /** What it is a scan of; of a limb, which. */
      region: ticketDraftSchema.shape.region,
      side: ticketDraftSchema.shape.side,
    }),
    output: z.object({ ticketId: idSchema, wearerId: idSchema }),
  },
  /** Another ticket for a scan already kept. */
  'ticket.start': { input: z.object({ scanId: idSchema }), output: made },
  'ticket.show': {
    input: z.object({ id: idSchema }),
    output: z.object({
      ticket: ticketSchema,
      wearer: wearerSchema,
      prepared: preparedSchema.optional(),
      known: z.array(knownLengthSchema),
      readings: z.array(readingSchema),
      usual: usualUncertaintySchema,
      /** Newest making of this ticket's form. */
      revision: formRevisionSchema.optional(),
    }),
  },
  'ticket.edit': {
    input: z.object({ id: idSchema, label: name, draft: ticketDraftSchema.optional(), name: name.optional() }),
    output: ticketSchema,
  },
  /** Read and mend the scan; at once done when it still lies ready. */
  'ticket.prepare': { input: z.object({ id: idSchema }), output: z.object({ jobId: z.string() }) },
  'ticket.mesh': {
    input: z.object({ id: idSchema, which: z.enum(['scan', 'mended']) }),
    output: viewMeshSchema,
  },
  /** How it stands: by the ticket's landmarks if there are enough, else by a guess. */
  'ticket.stand': {
    input: z.object({ id: idSchema }),
    output: z.object({
      /** From the view's coordinates to standing upright, in the view's own size. */
      matrix,
      method: standMethodSchema,
      confidence: z.number(),
      warnings: z.array(warning),
    }),
  },
  /** Landmarks the program finds by itself, in the scan file's coordinates, taking the scan to be of this region. */
  'ticket.propose': {
    input: z.object({ id: idSchema, region: ticketDraftSchema.shape.region, side: ticketDraftSchema.shape.side }),
    output: z.object({
      landmarks: z.array(
        z.object({ name: z.string(), point: z.tuple([z.number(), z.number(), z.number()]), confidence: z.number() }),
      ),
    }),
  },
  /** The size as the ticket's readings give it, each length drawn, and what leaving each out would change. */
  'ticket.size': {
    input: z.object({ id: idSchema }),
    output: z.object({
      fit: trueFigures.optional(),
      /** Why there is no size yet. */
      missing: z.string().optional(),
      drawn: z.array(drawnLengthSchema),
      without: z.array(
        z.object({ name: z.string(), factor: z.number(), changePercent: z.number(), expandedPercent: z.number() }),
      ),
      warnings: z.array(warning),
    }),
  },
  'ticket.make': { input: z.object({ id: idSchema }), output: z.object({ jobId: z.string() }) },

  'form.show': {
    input: z.object({ revisionId: idSchema }),
    output: z.object({ form: formSchema, revision: formRevisionSchema, wearer: wearerSchema }),
  },
  'form.mesh': { input: z.object({ revisionId: idSchema }), output: viewMeshSchema },
  /** For each vertex of the form, how far the mended, sized scan lies outside (+) or inside (-) of it. */
  'form.deviation': {
    input: z.object({ revisionId: idSchema }),
    output: z.object({ perVertexMm: float32, maxMm: z.number(), meanMm: z.number() }),
  },
  'form.picture': {
    input: z.object({ revisionId: idSchema, pixels: z.number().int().min(32).max(512) }),
    output: z.object({ png: bytes }),
  },
  'form.export': {
    input: z.object({ revisionId: idSchema, format: z.enum(['3mf', 'stl', 'ply', 'obj', 'glb']) }),
    output: z.object({ fileName: z.string(), bytes }),
  },
  'form.line': {
    input: z.object({
      revisionId: idSchema,
      parameters: z.record(z.string(), z.unknown()),
      /** The project it is made for. */
      projectId: idSchema.optional(),
    }),
    output: z.object({ jobId: z.string() }),
  },
  'liner.show': { input: z.object({ id: idSchema }), output: z.object({ liner: linerSchema, mesh: viewMeshSchema }) },
  'liner.export': {
    input: z.object({ id: idSchema, format: z.enum(['3mf', 'stl', 'ply', 'obj', 'glb']) }),
    output: z.object({ fileName: z.string(), bytes }),
  },

  ...BLOCK_CALLS,
  ...ALLOWANCE_CALLS,
  ...FILL_CALLS,
  ...LINER_CALLS,
  ...PLAN_CALLS,
  ...FITTING_CALLS,
  ...MAKING_CALLS,
  ...PAPER_CALLS,
  ...USUAL_CALLS,

  'job.list': { input: nothing, output: z.object({ jobs: z.array(jobViewSchema) }) },
  'job.stop': { input: z.object({ id: z.string() }), output: nothing },
  /** Put an ended job's note away; an interrupted one is run again by `job.again`. */
  'job.dismiss': { input: z.object({ id: z.string() }), output: nothing },
  'job.again': { input: z.object({ id: z.string() }), output: z.object({ jobId: z.string() }) },
  /** Fill the library with the invented production, so that everything can be tried without a scan. */
  'demo.make': { input: nothing, output: z.object({ jobId: z.string() }) },
} as const satisfies Record<string, { input: z.ZodType; output: z.ZodType }>;

export type CallName = keyof typeof CONTRACT;
export type CallInput<N extends CallName> = z.input<(typeof CONTRACT)[N]['input']>;
export type CallGiven<N extends CallName> = z.output<(typeof CONTRACT)[N]['input']>;
export type CallResult<N extends CallName> = z.output<(typeof CONTRACT)[N]['output']>;

/** Events that go to every open page. */
export const EVENTS = {
  jobs: z.object({ jobs: z.array(jobViewSchema) }),
  /** Records changed: what is shown may be stale. */
  changed: z.object({ what: z.enum(['library', 'ticket']), id: z.string().optional() }),
  /** A scan given to the program from outside the page (double click, menu): received, waiting for `scan.keep`. */
  opened: z.object({ upload: z.string(), fileName: z.string(), byteCount: z.number().int() }),
} as const;
export type EventName = keyof typeof EVENTS;
export type EventValue<N extends EventName> = z.infer<(typeof EVENTS)[N]>;
