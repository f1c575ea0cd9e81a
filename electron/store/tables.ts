/**
 * The journalled tables: schema of a record, its columns, and which of them are personal (sealed while a passphrase is
 * set). Record fields are camelCase, columns snake_case; objects are kept as JSON. Lengths stay plain REAL columns:
 * without the sealed names around them they are figures of nobody.
 */
import type { z } from 'zod';
import { wearerSchema } from '../../shared-types/records/wearer.ts';
import { landmarkSchema, scanSchema } from '../../shared-types/records/scan.ts';
import { readingSchema } from '../../shared-types/records/reading.ts';
import { formRevisionSchema, formSchema } from '../../shared-types/records/form.ts';
import {
  linerSchema,
  partSchema,
  projectFormSchema,
  projectSchema,
  trialSchema,
} from '../../shared-types/records/project.ts';
import { ticketSchema } from '../../shared-types/records/ticket.ts';
import { fittingSchema, makingFileSchema, makingSchema, stockSchema } from '../../shared-types/records/making.ts';
import { planSchema } from '../../shared-types/records/plan.ts';
import { usualSchema } from '../../shared-types/records/usual.ts';
import { jobSchema } from '../../shared-types/records/job.ts';

interface Table<S extends z.ZodObject = z.ZodObject> {
  /** The word for one row in sentences. */
  readonly kind: string;
  readonly schema: S;
  readonly sealed: readonly string[];
}

const table = <S extends z.ZodObject>(kind: string, schema: S, sealed: readonly (keyof z.infer<S> & string)[] = []) =>
  ({ kind, schema, sealed }) satisfies Table<S>;

/** Parents before children. */
export const TABLES = {
  wearers: table('wearer', wearerSchema, ['name', 'note', 'consentNote']),
  scans: table('scan', scanSchema, ['fileName', 'health']),
  landmarks: table('landmark', landmarkSchema, ['point']),
  readings: table('reading', readingSchema, ['takenBy']),
  forms: table('form', formSchema, ['name']),
  form_revisions: table('form revision', formRevisionSchema, ['recipe', 'steps']),
  projects: table('project', projectSchema, ['name', 'note']),
  project_forms: table('form in a project', projectFormSchema),
  parts: table('part', partSchema, ['name', 'fileName', 'recipe', 'figures']),
  trials: table('trial', trialSchema, ['placement', 'figures']),
  liners: table('liner', linerSchema, ['parameters', 'figures']),
  tickets: table('ticket', ticketSchema, ['name', 'draft']),
  stock: table('foam', stockSchema),
  fittings: table('fitting', fittingSchema, ['name', 'draft']),
  plans: table('plan', planSchema, ['draft']),
  makings: table('making', makingSchema, ['name', 'parameters', 'figures']),
  making_files: table('file of a making', makingFileSchema, ['name']),
  usual_uncertainties: table('usual uncertainty', usualSchema),
  jobs: table('job', jobSchema, ['request', 'sentence']),
} as const;

export type TableName = keyof typeof TABLES;
export type RecordOf<T extends TableName> = z.infer<(typeof TABLES)[T]['schema']>;

/** A row as the database holds it. */
export type Row = Record<string, string | number | null>;

export const columnOf = (field: string): string => field.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);
export const fieldsOf = (name: TableName): string[] => Object.keys(TABLES[name].schema.shape);
