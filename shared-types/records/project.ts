import { z } from 'zod';
import { idSchema, momentSchema, sha256Schema } from '../ids.ts';

/** One build. */
export const projectSchema = z.object({
  id: idSchema,
  name: z.string().min(1).max(200),
  note: z.string().max(20_000).optional(),
  createdAt: momentSchema,
});
export type Project = z.infer<typeof projectSchema>;

/** A form's place in a project: a reference, so one form serves many projects without a copy. */
export const projectFormSchema = z.object({ id: idSchema, projectId: idSchema, formId: idSchema });

/** A worn piece, made or bought, with the one dimension its maker knows. */
export const partSchema = z.object({
  id: idSchema,
  projectId: idSchema.optional(),
  name: z.string().min(1).max(200),
  fileName: z.string().min(1).max(500),
  originalSha256: sha256Schema,
  knownName: z.string().max(200).optional(),
  knownMm: z.number().positive().max(5000).optional(),
  /** How it was made ready to be tried on, the figures of that, and the mesh in true size. */
  recipe: z.record(z.string(), z.unknown()).optional(),
  figures: z.record(z.string(), z.unknown()).optional(),
  madeSha256: sha256Schema.optional(),
  createdAt: momentSchema,
});
export type Part = z.infer<typeof partSchema>;

/** A part tried on one making of a form: placement and figures. */
export const trialSchema = z.object({
  id: idSchema,
  partId: idSchema,
  formRevisionId: idSchema,
  placement: z.array(z.number()).length(16),
  figures: z.record(z.string(), z.unknown()),
  createdAt: momentSchema,
});

/** A liner made over one making of a form. */
export const linerSchema = z.object({
  id: idSchema,
  formRevisionId: idSchema,
  projectId: idSchema.optional(),
  parameters: z.record(z.string(), z.unknown()),
  figures: z.record(z.string(), z.unknown()),
  foamMm: z.number().positive().max(200),
  programVersion: z.string().min(1).max(50),
  meshSha256: sha256Schema,
  createdAt: momentSchema,
});
export type Liner = z.infer<typeof linerSchema>;
