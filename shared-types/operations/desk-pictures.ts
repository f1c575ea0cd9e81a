/** The pictures of a fitting sheet; only the screens and the verb `sheet` need them. */
import { z } from 'zod';
import { formRevisionSchema } from '../records/form.ts';
import type { OperationSpecification } from './specification.ts';

/** mm on the body from the picture's upper left corner. */
const point = z.tuple([z.number(), z.number()]);

export const formPictureSchema = z.object({
  /** A byte for each pixel, row by row from the upper left. */
  grey: z.custom<Uint8Array<ArrayBuffer>>((value) => value instanceof Uint8Array),
  width: z.int(),
  height: z.int(),
  /** What it spans on the body. */
  widthMm: z.number(),
  heightMm: z.number(),
  spans: z.array(z.object({ name: z.string(), from: point, to: point })),
  /** As far as they are seen: lines of x, y pairs. */
  tapes: z.array(z.object({ name: z.string(), runs: z.array(z.array(z.number())) })),
});
export type FormPicture = z.infer<typeof formPictureSchema>;

export const formPicturesSpecification = {
  verb: 'form-pictures',
  summary: 'A form drawn from two sides, with the spans and tapes of its making where they lie.',
  inputs: ['FORM'],
  makes: 'nothing',
  parameters: formRevisionSchema.pick({ recipe: true, steps: true }),
  figures: z.object({ pictures: z.array(formPictureSchema) }),
} as const satisfies OperationSpecification;
