import { z } from 'zod';

/** A record's name for ever, the same in every library it is copied to: a random UUID (RFC 9562, version 4). */
export const idSchema = z.uuid();

/** SHA-256 of content, 64 lower-case hex digits: the address of a blob. */
export const sha256Schema = z.string().regex(/^[0-9a-f]{64}$/);

/** Moment in UTC as ISO 8601, as `Date.toISOString` writes it. */
export const momentSchema = z.iso.datetime();
