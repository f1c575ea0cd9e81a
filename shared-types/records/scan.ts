import { z } from 'zod';
import { idSchema, momentSchema, sha256Schema } from '../ids.ts';

/** A scan as it came, byte for byte; never edited. */
export const scanSchema = z.object({
  id: idSchema,
  wearerId: idSchema,
  fileName: z.string().min(1).max(500),
  byteCount: z.int().min(1),
  originalSha256: sha256Schema,
  /** A body's surface, or a sheet of readings from which a form was made without one; absent in old records: a mesh. */
  kind: z.enum(['mesh', 'sheet']).optional(),
  /** What intake found: faces, unit guess and the rest of the health report. */
  health: z.record(z.string(), z.unknown()).optional(),
  createdAt: momentSchema,
});
export type Scan = z.infer<typeof scanSchema>;

/** A named point on one scan, in the scan file's own coordinates. */
export const landmarkSchema = z.object({
  id: idSchema,
  scanId: idSchema,
  name: z.string().min(1).max(100),
  point: z.tuple([z.number(), z.number(), z.number()]),
  /** Set by hand, guessed, or carried over from an earlier scan. */
  origin: z.enum(['hand', 'guess', 'carried']),
});
export type Landmark = z.infer<typeof landmarkSchema>;
