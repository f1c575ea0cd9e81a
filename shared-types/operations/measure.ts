import { z } from 'zod';
import { girthSchema, spanSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

/** A thing to measure need not have been read on the person. */
const wantedSpan = spanSchema.partial({ measured: true });
const wantedGirth = girthSchema.partial({ measured: true });
const wantedSchema = z.union([
  z.array(wantedSpan).transform((spans) => ({ spans, girths: [] as z.output<typeof wantedGirth>[] })),
  z.object({ spans: z.array(wantedSpan).default([]), girths: z.array(wantedGirth).default([]) }),
]);

export const measureParameters = z.object({
  spans: described(wantedSchema, {
    help: 'JSON file of spans and girths to take: {"spans":[{"name","from","to"}],"girths":[{"name","through"}]}.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const measureFigures = z.object({
  spans: z.array(
    z.object({ name: z.string(), lengthMm: z.number(), offSurfaceMm: z.number(), measuredMm: z.number().nullable() }),
  ),
  girths: z.array(
    z.object({
      name: z.string(),
      lengthMm: z.number(),
      sectionMm: z.number(),
      offSurfaceMm: z.number(),
      measuredMm: z.number().nullable(),
    }),
  ),
});

export const measureSpecification = {
  verb: 'measure',
  summary: 'Spans as a calliper takes them and girths as a taut tape does, on the mesh.',
  inputs: ['MESH'],
  makesMesh: false,
  parameters: measureParameters,
  figures: measureFigures,
} as const satisfies OperationSpecification;
