/**
 * Meshes as bytes: exact, the same mesh always the same bytes. Little-endian:
 *   "WMSH", u8 version 1, u8 flags (1: positions fit single precision, 2: colours), u16 0, u32 vertices, u32 faces
 *   positions, one plane of bytes after another (all lowest bytes first), then index steps likewise, then colours.
 * Byte planes and steps between successive indices make the bytes repeat, which the blob's compression then uses.
 */
import type { Mesh } from '../../shared-types/mesh.ts';

const MAGIC = 0x48534d57;
const HEAD_BYTES = 16;
const SINGLE = 1;
const COLOURED = 2;

function toPlanes(bytes: Uint8Array, width: number, out: Uint8Array, at: number): number {
  const count = bytes.length / width;
  for (let plane = 0; plane < width; plane++) {
    const base = at + plane * count;
    for (let item = 0, from = plane; item < count; item++, from += width) out[base + item] = bytes[from] as number;
  }
  return at + bytes.length;
}

function fromPlanes(source: Uint8Array, at: number, bytes: Uint8Array, width: number): number {
  const count = bytes.length / width;
  for (let plane = 0; plane < width; plane++) {
    const base = at + plane * count;
    for (let item = 0, to = plane; item < count; item++, to += width) bytes[to] = source[base + item] as number;
  }
  return at + bytes.length;
}

const bytesOf = (array: ArrayBufferView): Uint8Array =>
  new Uint8Array(array.buffer, array.byteOffset, array.byteLength);

/** O(vertices + faces). Positions that single precision holds exactly take half the room. */
export function encodeMesh(mesh: Mesh): Uint8Array {
  const { positions, triangles, colours } = mesh;
  const single = positions.every((value) => Object.is(Math.fround(value), value));
  const stored = single ? Float32Array.from(positions) : positions;
  const steps = new Uint32Array(triangles.length);
  let previous = 0;
  for (let corner = 0; corner < triangles.length; corner++) {
    const step = ((triangles[corner] as number) - previous) | 0;
    steps[corner] = (step << 1) ^ (step >> 31);
    previous = triangles[corner] as number;
  }
  const out = new Uint8Array(HEAD_BYTES + stored.byteLength + steps.byteLength + (colours?.length ?? 0));
  const view = new DataView(out.buffer);
  view.setUint32(0, MAGIC, true);
  view.setUint8(4, 1);
  view.setUint8(5, (single ? SINGLE : 0) | (colours === undefined ? 0 : COLOURED));
  view.setUint32(8, positions.length / 3, true);
  view.setUint32(12, triangles.length / 3, true);
  let at = toPlanes(bytesOf(stored), stored.BYTES_PER_ELEMENT, out, HEAD_BYTES);
  at = toPlanes(bytesOf(steps), 4, out, at);
  if (colours !== undefined) out.set(colours, at);
  return out;
}

/** The mesh back, or undefined when the bytes are not one. */
export function decodeMesh(bytes: Uint8Array): Mesh | undefined {
  if (bytes.length < HEAD_BYTES) return undefined;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (view.getUint32(0, true) !== MAGIC || view.getUint8(4) !== 1) return undefined;
  const flags = view.getUint8(5);
  const vertices = view.getUint32(8, true);
  const faces = view.getUint32(12, true);
  const width = (flags & SINGLE) === 0 ? 8 : 4;
  const colourBytes = (flags & COLOURED) === 0 ? 0 : 3 * vertices;
  if (bytes.length !== HEAD_BYTES + 3 * vertices * width + 12 * faces + colourBytes) return undefined;
  const stored = width === 4 ? new Float32Array(3 * vertices) : new Float64Array(3 * vertices);
  let at = fromPlanes(bytes, HEAD_BYTES, bytesOf(stored), width);
  const triangles = new Uint32Array(3 * faces);
  at = fromPlanes(bytes, at, bytesOf(triangles), 4);
  let previous = 0;
  for (let corner = 0; corner < triangles.length; corner++) {
    const code = triangles[corner] as number;
    previous = (previous + ((code >>> 1) ^ -(code & 1))) >>> 0;
    triangles[corner] = previous;
    if (previous >= vertices) return undefined;
  }
  const positions = stored instanceof Float64Array ? stored : Float64Array.from(stored);
  return colourBytes === 0 ? { positions, triangles } : { positions, triangles, colours: bytes.slice(at) };
}
