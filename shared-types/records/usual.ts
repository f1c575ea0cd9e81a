import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';
import { sureKindSchema, sureMmSchema } from '../usual-uncertainty.ts';

/** What this library takes a reading of a kind to be worth; a kind without a row has the program's own value. */
export const usualSchema = z.object({ id: idSchema, kind: sureKindSchema, uMm: sureMmSchema, createdAt: momentSchema });
