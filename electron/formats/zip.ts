/**
 * Zip archives from strangers: names are looked at, nothing is written to disk, and inflating stops at a bound
 * whatever the directory claims. Inflation is fflate's, fed in slices so that the bound holds while it runs.
 */
import { Inflate } from 'fflate';
import { Cancelled, QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { crc32 } from './crc32.ts';
import { give, Trouble } from './trouble.ts';

const END = 0x06054b50,
  CENTRAL = 0x02014b50,
  LOCAL = 0x04034b50;
const MAX_ENTRIES = 10_000;
/** Nothing a phone makes unpacks to more than this. */
const ENTRY_LIMIT = 1 << 30;
/** Text of meshes packs some 4 to 10 times; a ratio beyond this is a bomb. */
const RATIO_LIMIT = 200;
const RATIO_FREE_BYTES = 16 << 20;
/** Bytes inflated before the bound is looked at again: they may unpack to a thousand times as many. */
const LEAST_SLICE = 1 << 13,
  MOST_SLICE = 1 << 18,
  LARGEST_EXPANSION = 1 << 12;

export interface ZipEntry {
  readonly name: string;
  readonly method: number;
  readonly encrypted: boolean;
  readonly packedSize: number;
  readonly claimedSize: number;
  /** CRC-32 of the contents. */
  readonly checksum: number;
  readonly localAt: number;
}

export function isZip(bytes: Uint8Array): boolean {
  if (bytes.length < 4) return false;
  const head = new DataView(bytes.buffer, bytes.byteOffset).getUint32(0, true);
  return head === LOCAL || head === END;
}

/** The directory of the archive. Faults on names that point outside it and on what is cut short. */
export function listZip(bytes: Uint8Array): ZipEntry[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  let end = -1;
  for (let at = bytes.length - 22; at >= Math.max(0, bytes.length - 22 - 65535); at--) {
    if (view.getUint32(at, true) === END) {
      end = at;
      break;
    }
  }
  if (end < 0) give('file.truncated', { what: 'the zip (its directory is missing)' }, { byte: bytes.length });
  const count = view.getUint16(end + 10, true);
  let at = view.getUint32(end + 16, true);
  const largeForm = (): never =>
    give('file.unsupported', { what: 'the large-archive form of zip', remedy: 'send the mesh unpacked' });
  if (count === 0xffff || at === 0xffffffff) largeForm();
  if (count > MAX_ENTRIES) give('file.malformed', { reason: `${count} entries` });
  const entries: ZipEntry[] = [];
  for (let i = 0; i < count; i++) {
    if (at + 46 > bytes.length || view.getUint32(at, true) !== CENTRAL)
      give('file.malformed', { reason: 'its zip directory is damaged' }, { byte: at });
    const nameLength = view.getUint16(at + 28, true);
    const next = at + 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (next > bytes.length) give('file.truncated', { what: 'the zip directory' }, { byte: at });
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + nameLength));
    if (isUnsafeName(name)) give('archive.unsafe-name', { entry: name.slice(0, 80) });
    if (view.getUint32(at + 20, true) === 0xffffffff || view.getUint32(at + 24, true) === 0xffffffff) largeForm();
    entries.push({
      name,
      method: view.getUint16(at + 10, true),
      encrypted: (view.getUint16(at + 8, true) & 1) === 1,
      packedSize: view.getUint32(at + 20, true),
      claimedSize: view.getUint32(at + 24, true),
      checksum: view.getUint32(at + 16, true),
      localAt: view.getUint32(at + 42, true),
    });
    at = next;
  }
  return entries;
}

export function isUnsafeName(name: string): boolean {
  const parts = name.split(/[\\/]/);
  return name.includes('\0') || /^[\\/]/.test(name) || /^[A-Za-z]:/.test(name) || parts.includes('..');
}

/** The contents of one entry. Memory stays within the bound whatever the entry claims. */
export function inflateEntry(
  bytes: Uint8Array,
  entry: ZipEntry,
  run: RunContext = QUIET_RUN,
  limit = ENTRY_LIMIT,
): Uint8Array {
  if (entry.encrypted) give('archive.encrypted', { entry: entry.name.slice(0, 80) });
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const at = entry.localAt;
  if (at + 30 > bytes.length || view.getUint32(at, true) !== LOCAL)
    give('file.malformed', { reason: 'its zip directory points nowhere' }, { byte: at });
  const start = at + 30 + view.getUint16(at + 26, true) + view.getUint16(at + 28, true);
  const end = start + entry.packedSize;
  if (end > bytes.length)
    give('file.truncated', { what: `the entry "${entry.name.slice(0, 80)}"` }, { byte: bytes.length });
  const packed = bytes.subarray(start, end);
  const tooLarge = (): never =>
    give('archive.too-large', { entry: entry.name.slice(0, 80), limitMib: Math.floor(limit / (1 << 20)) });
  if (entry.method === 0) {
    if (packed.length > limit) tooLarge();
    return checked(packed, entry, start);
  }
  if (entry.method !== 8)
    give('file.unsupported', { what: `zip packing method ${entry.method}`, remedy: 'pack it again the ordinary way' });
  const bound = Math.min(limit, Math.max(RATIO_FREE_BYTES, packed.length * RATIO_LIMIT));
  if (entry.claimedSize > bound) tooLarge();
  const chunks: Uint8Array[] = [];
  let total = 0;
  let ended = false;
  const inflate = new Inflate((chunk, last) => {
    total += chunk.length;
    if (total > bound) tooLarge();
    chunks.push(chunk);
    ended = last;
  });
  try {
    for (let from = 0; from < packed.length; ) {
      run.step('read', 0, packed.length);
      const slice = Math.min(MOST_SLICE, Math.max(LEAST_SLICE, Math.floor((bound - total) / LARGEST_EXPANSION)));
      inflate.push(packed.subarray(from, from + slice), from + slice >= packed.length);
      from += slice;
    }
  } catch (error) {
    if (error instanceof Trouble || error instanceof Cancelled) throw error;
    give('file.malformed', { reason: `the entry "${entry.name.slice(0, 80)}" is damaged` }, { byte: start });
  }
  if (!ended) give('file.truncated', { what: `the entry "${entry.name.slice(0, 80)}"` }, { byte: end });
  const whole = new Uint8Array(total);
  let to = 0;
  for (const chunk of chunks) {
    whole.set(chunk, to);
    to += chunk.length;
  }
  return checked(whole, entry, start);
}

function checked(contents: Uint8Array, entry: ZipEntry, byte: number): Uint8Array {
  if (crc32(contents) !== entry.checksum)
    give('file.malformed', { reason: `the entry "${entry.name.slice(0, 80)}" is damaged` }, { byte });
  return contents;
}

/**
 * Inflates entries of one archive, each once; all of them together stay within the bound, so that an archive that is
 * named by many material files costs no more than one.
 */
export function archiveReader(bytes: Uint8Array, run: RunContext): (entry: ZipEntry) => Uint8Array {
  const kept = new Map<ZipEntry, Uint8Array>();
  let left = ENTRY_LIMIT;
  return (entry) => {
    let contents = kept.get(entry);
    if (contents === undefined) {
      contents = inflateEntry(bytes, entry, run, left);
      left -= contents.length;
      kept.set(entry, contents);
    }
    return contents;
  };
}
