/**
 * The binary layout in which a message with typed arrays crosses a socket or a file.
 *
 *   u32 little-endian   bytes of the JSON head
 *   JSON head, UTF-8    the message, each typed array replaced by {"$array": n, "type", "length"}
 *   zero padding to a multiple of 8
 *   the arrays, in order, each padded to a multiple of 8
 *
 * Arrays come back as views of the received bytes, uncopied. Everything else is plain JSON data: no class
 * instance, function or undefined survives, which is the point.
 */

const KINDS = {
  f64: Float64Array,
  f32: Float32Array,
  u32: Uint32Array,
  i32: Int32Array,
  u16: Uint16Array,
  u8: Uint8Array,
} as const;
type Kind = keyof typeof KINDS;
export type WireArray = InstanceType<(typeof KINDS)[Kind]>;

const PLACEHOLDER = '$array';
const padded = (bytes: number): number => (bytes + 7) & ~7;

function kindOf(value: object): Kind | undefined {
  for (const kind of Object.keys(KINDS) as Kind[]) if (value instanceof KINDS[kind]) return kind;
  return undefined;
}

/** The message as bytes. Typed arrays may stand anywhere in it. O(bytes). */
export function encodeWire(message: unknown): Uint8Array<ArrayBuffer> {
  const arrays: WireArray[] = [];
  const head = new TextEncoder().encode(
    JSON.stringify(message, (_key, value: unknown) => {
      if (typeof value !== 'object' || value === null) return value;
      const kind = kindOf(value);
      if (kind === undefined) return value;
      arrays.push(value as WireArray);
      return { [PLACEHOLDER]: arrays.length - 1, type: kind, length: (value as WireArray).length };
    }) ?? 'null',
  );
  let total = padded(4 + head.length);
  for (const array of arrays) total += padded(array.byteLength);
  const bytes = new Uint8Array(total);
  new DataView(bytes.buffer).setUint32(0, head.length, true);
  bytes.set(head, 4);
  let at = padded(4 + head.length);
  for (const array of arrays) {
    bytes.set(new Uint8Array(array.buffer, array.byteOffset, array.byteLength), at);
    at += padded(array.byteLength);
  }
  return bytes;
}

/**
 * The message back, or undefined when the bytes are not one: lengths that lie, broken JSON, arrays out of
 * order or too long. Never throws, never allocates beyond the bytes given.
 */
export function decodeWire(bytes: Uint8Array): unknown {
  if (bytes.length < 4) return undefined;
  // Views need 8-byte alignment; a socket's buffer may start anywhere. (`slice` of a Node buffer does not copy.)
  const aligned = bytes.byteOffset % 8 === 0 ? bytes : new Uint8Array(bytes);
  const headLength = new DataView(aligned.buffer, aligned.byteOffset).getUint32(0, true);
  if (headLength > aligned.length - 4) return undefined;
  let at = padded(4 + headLength);
  let expected = 0;
  const arrayFor = (mark: Record<string, unknown>): WireArray => {
    const kind = mark['type'] as Kind;
    const length = mark['length'];
    if (mark[PLACEHOLDER] !== expected || !Object.hasOwn(KINDS, kind) || !Number.isSafeInteger(length))
      throw new Error();
    const byteLength = (length as number) * KINDS[kind].BYTES_PER_ELEMENT;
    if (byteLength < 0 || at + byteLength > aligned.length) throw new Error();
    const view = new KINDS[kind](aligned.buffer as ArrayBuffer, aligned.byteOffset + at, length as number);
    expected++;
    at += padded(byteLength);
    return view;
  };
  /** Depth-first in the order the encoder met the arrays. */
  const revive = (value: unknown): unknown => {
    if (typeof value !== 'object' || value === null) return value;
    if (Array.isArray(value)) return value.map(revive);
    if (Object.hasOwn(value, PLACEHOLDER)) return arrayFor(value as Record<string, unknown>);
    return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, revive(inner)]));
  };
  try {
    return revive(JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(aligned.subarray(4, 4 + headLength))));
  } catch {
    return undefined;
  }
}
