/**
 * What every operation says about itself. Parameters are a zod object whose fields carry their range,
 * default and, in `.meta()`, the unit and one sentence of help: the command line's flags and help, the
 * form on screen and the validation all come from here.
 */
import type { z } from 'zod';

export interface ParameterMeta {
  /** One sentence for help and screen. */
  readonly help: string;
  /** Unit of the number as typed: 'mm', 'faces', '%'... */
  readonly unit?: string;
  /** Flag on the command line when it is not the field's name in kebab-case. */
  readonly flag?: string;
  /** What stands after the flag in the help, when not the unit: 'FILE', 'x,y,z'. */
  readonly placeholder?: string;
  /** The flag names a JSON file whose contents are the value. */
  readonly jsonFile?: boolean;
  /** A field that is an array of number lists: the flag may be given several times. */
  readonly repeatable?: boolean;
}

/** Attach help and unit to a schema: `described(z.number().min(1), { help: '...', unit: 'mm' })`. */
export function described<S extends z.ZodType>(schema: S, meta: ParameterMeta): S {
  return schema.meta({ ...meta }) as S;
}

export type Makes = 'mesh' | 'folder' | 'nothing';

export interface OperationSpecification {
  /** The word typed on the command line and shown on the ticket. */
  readonly verb: string;
  /** One sentence: what it does. */
  readonly summary: string;
  /** Names of the mesh files it takes, in order, as the help prints them: ['SCAN']. */
  readonly inputs: readonly string[];
  /** What it makes: with a mesh `-o FILE` is required, with several files and papers `-o FOLDER`. */
  readonly makes: Makes;
  /** The figures are worth having alone: -o may be left out. */
  readonly outOptional?: boolean;
  readonly parameters: z.ZodObject;
  /** Schema of the figures it reports: checked before they leave. */
  readonly figures: z.ZodObject;
}
