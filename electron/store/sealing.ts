/**
 * Authenticated encryption of stored values: AES-256-GCM (NIST SP 800-38D) under a random library key, which is itself
 * wrapped by a key made from the passphrase with scrypt (RFC 7914). Each value has its own random 96-bit nonce and is
 * bound to its place (table, row and column, or blob and chunk), so values cannot be exchanged for one another.
 */
import { createCipheriv, createDecipheriv, randomBytes, scryptSync } from 'node:crypto';

/** 64 MiB and about 0.2 s a guess. */
export const SCRYPT_COST = 2 ** 16;
export const SCRYPT_BLOCK_SIZE = 8;
export const SCRYPT_PARALLEL = 1;
const NONCE_BYTES = 12;
const TAG_BYTES = 16;
const TEXT_MARK = 'sealed:';

export function seal(key: Uint8Array, plain: Uint8Array, place: string): Buffer {
  const nonce = randomBytes(NONCE_BYTES);
  const cipher = createCipheriv('aes-256-gcm', key, nonce).setAAD(Buffer.from(place));
  const body = cipher.update(plain);
  return Buffer.concat([nonce, body, cipher.final(), cipher.getAuthTag()]);
}

/** The plain bytes, or undefined when key, place or bytes are not the ones that were sealed. */
export function unseal(key: Uint8Array, sealed: Uint8Array, place: string): Buffer | undefined {
  if (sealed.length < NONCE_BYTES + TAG_BYTES) return undefined;
  const nonce = sealed.subarray(0, NONCE_BYTES);
  const tag = sealed.subarray(sealed.length - TAG_BYTES);
  const decipher = createDecipheriv('aes-256-gcm', key, nonce, { authTagLength: TAG_BYTES })
    .setAAD(Buffer.from(place))
    .setAuthTag(tag);
  try {
    const body = decipher.update(sealed.subarray(NONCE_BYTES, sealed.length - TAG_BYTES));
    return Buffer.concat([body, decipher.final()]);
  } catch {
    return undefined;
  }
}

export function sealText(key: Uint8Array, text: string, place: string): string {
  return TEXT_MARK + seal(key, Buffer.from(text), place).toString('base64');
}

export function unsealText(key: Uint8Array, text: string, place: string): string | undefined {
  if (!text.startsWith(TEXT_MARK)) return undefined;
  return unseal(key, Buffer.from(text.slice(TEXT_MARK.length), 'base64'), place)?.toString();
}

export interface LockRow {
  readonly salt: Uint8Array;
  readonly cost: number;
  readonly block_size: number;
  readonly parallel: number;
  readonly wrapped_key: Uint8Array;
}

function passKey(passphrase: string, row: Omit<LockRow, 'wrapped_key'>): Buffer {
  const { cost, block_size: r, parallel: p } = row;
  // Unicode forms of one passphrase typed on two keyboards are one passphrase.
  return scryptSync(passphrase.normalize('NFKC'), row.salt, 32, { N: cost, r, p, maxmem: 256 * cost * r });
}

/** A new library key wrapped by the passphrase. */
export function newLock(passphrase: string, cost = SCRYPT_COST): { row: LockRow; key: Buffer } {
  const key = randomBytes(32);
  return { row: wrapKey(passphrase, key, cost), key };
}

/** A library key wrapped by a passphrase, with a salt of its own. */
export function wrapKey(passphrase: string, key: Uint8Array, cost = SCRYPT_COST): LockRow {
  const base = { salt: randomBytes(16), cost, block_size: SCRYPT_BLOCK_SIZE, parallel: SCRYPT_PARALLEL };
  return { ...base, wrapped_key: seal(passKey(passphrase, base), key, 'library-key') };
}

/** The library key, or undefined for a wrong passphrase. */
export function openLock(passphrase: string, row: LockRow): Buffer | undefined {
  return unseal(passKey(passphrase, row), row.wrapped_key, 'library-key');
}
