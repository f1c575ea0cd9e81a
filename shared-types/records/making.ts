import { z } from 'zod';
import { idSchema, momentSchema, sha256Schema } from '../ids.ts';

/** A sheet of foam the maker keeps. */
export const stockSchema = z.object({
  id: idSchema,
  material: z.string().trim().min(1).max(200),
  /** Thickness as sold, mm. */
  nominalMm: z.number().positive().max(200),
  /** As the maker's calliper says, unloaded, mm. */
  measuredMm: z.number().positive().max(200).optional(),
  /** Share of its thickness that it gives under wear. */
  compression: z.number().min(0).max(0.95),
  sheetWidthMm: z.number().positive().max(10_000).optional(),
  sheetHeightMm: z.number().positive().max(10_000).optional(),
  note: z.string().max(20_000).optional(),
  createdAt: momentSchema,
});
export type Stock = z.infer<typeof stockSchema>;

/** What is decided about one part on one body, step by step; `draft` is read by the fitting's own schema. */
export const fittingSchema = z.object({
  id: idSchema,
  projectId: idSchema.optional(),
  formId: idSchema,
  partId: idSchema.optional(),
  name: z.string().min(1).max(200),
  draft: z.record(z.string(), z.unknown()),
  createdAt: momentSchema,
});
export type Fitting = z.infer<typeof fittingSchema>;

export const MAKING_KINDS = ['pads', 'pattern', 'pieces', 'gauge', 'shell', 'paper'] as const;

/** Things to cut, print or read that were made at one time from the same decisions. */
export const makingSchema = z.object({
  id: idSchema,
  kind: z.enum(MAKING_KINDS),
  name: z.string().min(1).max(200),
  projectId: idSchema.optional(),
  fittingId: idSchema.optional(),
  formRevisionId: idSchema.optional(),
  linerId: idSchema.optional(),
  partId: idSchema.optional(),
  parameters: z.record(z.string(), z.unknown()),
  figures: z.record(z.string(), z.unknown()),
  programVersion: z.string().min(1).max(50),
  createdAt: momentSchema,
});
export type Making = z.infer<typeof makingSchema>;

/** One file of a making. */
export const makingFileSchema = z.object({
  id: idSchema,
  makingId: idSchema,
  name: z.string().min(1).max(200),
  byteCount: z.int().min(0),
  sha256: sha256Schema,
});
export type MakingFile = z.infer<typeof makingFileSchema>;
