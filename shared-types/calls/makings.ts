/** Things to cut, print or read made over a form, a liner or a part; and the maker's stock of foam. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import {
  padsPreviewFigures,
  patternPreviewFigures,
  piecesPreviewFigures,
  shellPreviewFigures,
} from '../operations/making-preview.ts';
import { makingFileSchema, makingSchema, stockSchema } from '../records/making.ts';

const nothing = z.object({});
const float32 = z.custom<Float32Array<ArrayBuffer>>((value) => value instanceof Float32Array, 'expected 32-bit floats');
const uint32 = z.custom<Uint32Array<ArrayBuffer>>((value) => value instanceof Uint32Array, 'expected 32-bit integers');
const file = z.object({
  fileName: z.string(),
  bytes: z.custom<Uint8Array<ArrayBuffer>>((value) => value instanceof Uint8Array, 'expected bytes'),
});

/** What it is made from, and for which build and fitting. */
export const makingSourceSchema = z
  .object({
    projectId: idSchema,
    fittingId: idSchema,
    formRevisionId: idSchema,
    linerId: idSchema,
    partId: idSchema,
  })
  .partial();
export type MakingSource = z.infer<typeof makingSourceSchema>;

export const madeSchema = z.object({
  making: makingSchema,
  files: z.array(makingFileSchema),
  /** What it was made from has changed since: the part's size, or there is a newer making of the form. */
  outdated: z.enum(['part', 'form']).optional(),
  /** The part that a shell was kept as. */
  keptAs: z.object({ id: idSchema, name: z.string() }).optional(),
});
export type Made = z.infer<typeof madeSchema>;

export const MAKING_CALLS = {
  'stock.list': { input: nothing, output: z.object({ stock: z.array(stockSchema) }) },
  'stock.add': { input: stockSchema.omit({ id: true, createdAt: true }), output: z.object({ id: idSchema }) },
  'stock.edit': {
    input: stockSchema.omit({ createdAt: true }).partial().required({ id: true }),
    output: nothing,
  },
  'stock.drop': { input: z.object({ id: idSchema }), output: nothing },
  /**
   * Run a verb that makes files and keep what it makes. Pieces and gauge bands are made of a liner or a part, a pattern
   * of a form, a liner or a part, a shell of a solid part, pads between a part and a form.
   */
  'making.start': {
    input: z.object({
      kind: z.enum(['pieces', 'gauge', 'pattern', 'pads', 'shell']),
      name: z.string().trim().min(1).max(200),
      source: makingSourceSchema,
      parameters: z.record(z.string(), z.unknown()),
    }),
    output: z.object({ jobId: z.string() }),
  },
  /** The same to look at, as it would be made: pads and patterns a little over the body, pieces where they are cut. */
  'making.preview': {
    input: z.object({
      kind: z.enum(['pieces', 'pattern', 'pads', 'shell']),
      source: makingSourceSchema,
      parameters: z.record(z.string(), z.unknown()),
    }),
    output: z.object({
      positions: float32,
      triangles: uint32,
      pads: padsPreviewFigures.optional(),
      pattern: patternPreviewFigures.optional(),
      pieces: piecesPreviewFigures.optional(),
      shell: shellPreviewFigures.optional(),
    }),
  },
  /** The body all this is about, to look at and draw on: a liner, a part in true size or a form. */
  'making.body': {
    input: z.object({ kind: z.enum(['pieces', 'gauge', 'pattern', 'pads', 'shell']), source: makingSourceSchema }),
    output: z.object({ positions: float32, triangles: uint32 }),
  },
  /** Those made for or from what is named; all of them when nothing is. */
  'making.list': { input: makingSourceSchema, output: z.object({ made: z.array(madeSchema) }) },
  'making.show': { input: z.object({ id: idSchema }), output: madeSchema },
  'making.file': { input: z.object({ fileId: idSchema }), output: file },
  /** A kept mesh file for looking at, in its own coordinates. */
  'making.mesh': {
    input: z.object({ fileId: idSchema }),
    output: z.object({ positions: float32, triangles: uint32 }),
  },
  /** All its files as one zip. */
  'making.files': { input: z.object({ id: idSchema }), output: file },
  /** A shell as a part of its own, in true size: to be tried on, padded and cut. */
  'making.part': { input: z.object({ id: idSchema }), output: z.object({ id: idSchema }) },
  'making.drop': { input: z.object({ id: idSchema }), output: nothing },
} as const;
