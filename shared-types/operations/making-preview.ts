/** What the desks of making ask while something is thought over: pads, patterns and pieces to look at, never to make. */
import { z } from 'zod';
import { padParameters } from './pad.ts';
import { patternParameters } from './pattern.ts';
import { shellParameters } from './shell.ts';
import { splitParameters } from './split.ts';
import type { OperationSpecification } from './specification.ts';

const float32 = z.custom<Float32Array<ArrayBuffer>>((value) => value instanceof Float32Array, 'expected 32-bit floats');

/** A stretch of the preview's faces, first and count. */
const faces = { faceFrom: z.number().int(), faceCount: z.number().int() };
/** Rims and seams on the body: xyz triples. */
const lines = z.array(z.object({ name: z.string(), points: float32, closed: z.boolean() }));

export const padsPreviewFigures = z.object({
  /** Room at each vertex before padding, mm; NaN where the part does not cover it. */
  roomMm: float32,
  lines,
  pads: z.array(
    z.object({
      name: z.string(),
      ...faces,
      areaMm2: z.number(),
      room: z.object({ p10Mm: z.number(), meanMm: z.number(), p90Mm: z.number() }),
      /** Foams from the body outward, as sold. */
      stack: z.array(z.object({ material: z.string(), nominalMm: z.number() })),
      contactPercent: z.number(),
    }),
  ),
});

export const patternPreviewFigures = z.object({
  /** What the sheet must give along itself at each vertex, percent. */
  givePercent: float32,
  lines,
  pieces: z.array(
    z.object({
      ...faces,
      areaMm2: z.number(),
      /** In all but 1 % of the area, and on the mean; percent. */
      giveP99Percent: z.number(),
      giveMeanPercent: z.number(),
      overlaps: z.boolean(),
      withinStretch: z.boolean(),
    }),
  ),
});

export const piecesPreviewFigures = z.object({
  pieces: z.array(
    z.object({
      ...faces,
      /** Room on the bed as it would lie. */
      sizeMm: z.array(z.number()).length(3),
      fits: z.boolean(),
      volumeMm3: z.number(),
    }),
  ),
  /** Every plane that cuts, those given first: point and normal. */
  planes: z.array(z.array(z.number()).length(6)),
  /** Numbers of the planes given that cut nothing. */
  idle: z.array(z.number().int()),
});

export const shellPreviewFigures = z.object({
  /** Either side of the wall. */
  outside: z.object(faces),
  inside: z.object(faces),
  /** The fair lines through the drawn openings, in their order. */
  lines,
  /** Of each opening, flat ones before drawn ones, whether it opens the hollow. */
  reaches: z.array(z.boolean()),
  /** Before openings, roughly. */
  hollowMm3: z.number(),
  wallMm3: z.number(),
});

const SUMMARY = 'To look at, never to make.';

export const padsPreviewSpecification = {
  verb: 'pads-preview',
  summary: SUMMARY,
  inputs: ['PART', 'FORM'],
  makes: 'mesh',
  parameters: padParameters,
  figures: padsPreviewFigures,
} as const satisfies OperationSpecification;

export const patternPreviewSpecification = {
  verb: 'pattern-preview',
  summary: SUMMARY,
  inputs: ['BODY'],
  makes: 'mesh',
  parameters: patternParameters,
  figures: patternPreviewFigures,
} as const satisfies OperationSpecification;

export const piecesPreviewSpecification = {
  verb: 'pieces-preview',
  summary: SUMMARY,
  inputs: ['SOLID'],
  makes: 'mesh',
  parameters: splitParameters,
  figures: piecesPreviewFigures,
} as const satisfies OperationSpecification;

export const shellPreviewSpecification = {
  verb: 'shell-preview',
  summary: SUMMARY,
  inputs: ['SOLID'],
  makes: 'mesh',
  parameters: shellParameters,
  figures: shellPreviewFigures,
} as const satisfies OperationSpecification;
