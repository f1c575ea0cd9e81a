import { z } from 'zod';
import { arcSchema, girthSchema, spanSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

/** A thing to measure need not have been read on the person. */
const wantedSpan = spanSchema.partial({ measured: true });
const wantedGirth = girthSchema.partial({ measured: true });
const wantedArc = arcSchema.partial({ measured: true });
const wantedSchema = z.union([
  z.array(wantedSpan).transform((spans) => ({
    spans,
    girths: [] as z.output<typeof wantedGirth>[],
    arcs: [] as z.output<typeof wantedArc>[],
  })),
  z.object({
    spans: z.array(wantedSpan).default([]),
    girths: z.array(wantedGirth).default([]),
    arcs: z.array(wantedArc).default([]),
  }),
]);

export const measureParameters = z.object({
  spans: described(wantedSchema, {
    help: 'JSON file of what to take: {"spans":[{"name","from","to"}],"girths":[{"name","through"}],"arcs":[{"name","along"}]}.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const measureFigures = z.object({
  spans: z.array(
    z.object({
      name: z.string(),
      lengthMm: z.number(),
      /** Standard uncertainty that the mesh's own fineness and roughness at the ends give it. */
      meshUMm: z.number(),
      offSurfaceMm: z.number(),
      measuredMm: z.number().nullable(),
    }),
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
  /** Along the surface through the points in turn; `straightMm` is the sum of the straight lines between them. */
  arcs: z.array(
    z.object({
      name: z.string(),
      lengthMm: z.number(),
      straightMm: z.number(),
      offSurfaceMm: z.number(),
      measuredMm: z.number().nullable(),
    }),
  ),
});

export const measureSpecification = {
  verb: 'measure',
  summary: 'Spans as a calliper takes them, girths as a taut tape does and arcs along the skin, on the mesh.',
  inputs: ['MESH'],
  makes: 'nothing',
  parameters: measureParameters,
  figures: measureFigures,
} as const satisfies OperationSpecification;
