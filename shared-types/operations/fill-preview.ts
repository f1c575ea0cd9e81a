/** What the form's page asks before a form is filled: the filled form, and a map of what moved. */
import { z } from 'zod';
import { fillFigures, fillParameters } from './fill.ts';
import type { OperationSpecification } from './specification.ts';

export const fillPreviewSpecification = {
  verb: 'fill-preview',
  summary: 'A filled form to look at, with how far each point of it moved.',
  inputs: ['FORM'],
  makes: 'mesh',
  parameters: fillParameters,
  figures: z.object({
    told: fillFigures,
    /** At each vertex, how far it lies outside the form as it was, mm; NaN where it stayed. */
    movedMm: z.custom<Float32Array>((value) => value instanceof Float32Array),
  }),
} as const satisfies OperationSpecification;
