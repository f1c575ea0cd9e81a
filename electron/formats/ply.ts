/**
 * PLY (Stanford polygon file): ascii and both binary endians, any extra elements and properties, vertex colours
 * (red green blue as bytes or 0..1 floats), faces as lists named vertex_indices or vertex_index. No unit.
 */
import { IDENTITY } from '../geometry/mesh/transform.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { finish } from './finish.ts';
import { GrowingIndices } from './growing.ts';
import { pushPolygon } from './polygon.ts';
import type { ReadMesh } from './read-mesh.ts';
import { TextScanner } from './text-scanner.ts';
import { atTheEdge, give } from './trouble.ts';

const SIZES: Readonly<Record<string, number>> = {
  char: 1,
  int8: 1,
  uchar: 1,
  uint8: 1,
  short: 2,
  int16: 2,
  ushort: 2,
  uint16: 2,
  int: 4,
  int32: 4,
  uint: 4,
  uint32: 4,
  float: 4,
  float32: 4,
  double: 8,
  float64: 8,
};
const MAX_CORNERS = 1 << 16;
const HEADER_LIMIT = 1 << 16;

interface Property {
  readonly name: string;
  readonly type: string;
  /** Type of the count, for a list. */
  readonly countType?: string;
}

interface Element {
  readonly name: string;
  readonly count: number;
  readonly properties: Property[];
}

type Encoding = 'ascii' | 'binary_little_endian' | 'binary_big_endian';

/** Hands out one value after another, whatever the encoding. */
interface Source {
  next(type: string): number;
  /** Where we are, for a sentence. */
  place(): { line?: number; byte?: number };
}

export function readPly(bytes: Uint8Array, run: RunContext = QUIET_RUN): Outcome<ReadMesh> {
  return atTheEdge(() => {
    const { encoding, elements, bodyAt, bodyLine } = readHeader(bytes);
    const source =
      encoding === 'ascii'
        ? textSource(bytes, bodyAt, bodyLine)
        : binarySource(bytes, bodyAt, encoding === 'binary_little_endian');
    let positions = new Float64Array(0);
    let colours: Uint8Array | undefined;
    let triangles = new Uint32Array(0);
    const total = elements.reduce((sum, e) => sum + e.count, 0);
    let before = 0;
    for (const element of elements) {
      checkCount(element, bytes.length - bodyAt, encoding);
      const tick = (i: number): void => {
        if ((i & 0x3fff) === 0) run.step('read', before + i, total);
      };
      if (element.name === 'vertex') {
        const read = readVertices(element, source, tick);
        positions = read.positions;
        colours = read.colours;
      } else if (element.name === 'face') {
        triangles = readFaces(element, source, positions, tick);
      } else {
        skipElement(element, source, tick);
      }
      before += element.count;
    }
    const mesh: Mesh = colours === undefined ? { positions, triangles } : { positions, triangles, colours };
    return done({ mesh: finish(mesh), format: 'ply' as const, fromFile: IDENTITY, textures: [], groups: [] });
  });
}

function readHeader(bytes: Uint8Array): { encoding: Encoding; elements: Element[]; bodyAt: number; bodyLine: number } {
  const s = new TextScanner(bytes, 0, Math.min(bytes.length, HEADER_LIMIT));
  let encoding: Encoding | undefined;
  const elements: Element[] = [];
  s.nextLine();
  for (;;) {
    if (s.atEnd) give('file.truncated', { what: 'the header ("end_header" is missing)' }, { line: s.line });
    const words = s.rest().split(/\s+/);
    const line = s.line;
    const cut = s.atEnd;
    s.nextLine();
    const [key, a = '', b = '', c = '', d = ''] = words;
    if (key === 'end_header') break;
    if (key === 'format') {
      if (a !== 'ascii' && a !== 'binary_little_endian' && a !== 'binary_big_endian') {
        give('file.malformed', { reason: `the encoding "${a.slice(0, 24)}"` }, { line });
      }
      encoding = a;
    } else if (key === 'element') {
      const count = Number(b);
      if (!Number.isSafeInteger(count) || count < 0) give('file.bad-number', { text: b.slice(0, 24) }, { line });
      elements.push({ name: a, count, properties: [] });
    } else if (key === 'property') {
      const element = elements[elements.length - 1];
      const property: Property = a === 'list' ? { name: d, type: c, countType: b } : { name: b, type: a };
      const known =
        SIZES[property.type] !== undefined &&
        (property.countType === undefined || SIZES[property.countType] !== undefined);
      if (element === undefined || !known || element.properties.length > 256) {
        give('file.malformed', { reason: `the property "${words.slice(1).join(' ').slice(0, 40)}"` }, { line });
      }
      element.properties.push(property);
    } else if (cut) {
      give('file.truncated', { what: 'the header ("end_header" is missing)' }, { line });
    } else if (key !== 'comment' && key !== 'obj_info' && key !== '') {
      give('file.malformed', { reason: `the header word "${key.slice(0, 24)}"` }, { line });
    }
  }
  if (encoding === undefined) give('file.malformed', { reason: 'no "format" line in the header' }, { line: 2 });
  return { encoding, elements, bodyAt: s.at, bodyLine: s.line };
}

/** A count is believed only as far as the file's length can back it. */
function checkCount(element: Element, room: number, encoding: Encoding): void {
  // An element without properties takes no room at all, so nothing could back its count.
  if (element.properties.length === 0) {
    if (element.count > 0)
      give('file.malformed', { reason: `element "${element.name.slice(0, 24)}" has no properties` });
    return;
  }
  const least =
    encoding === 'ascii'
      ? 2 * element.properties.length
      : element.properties.reduce((sum, p) => sum + SIZES[p.countType ?? p.type], 0);
  const possible = Math.floor((room + 1) / least);
  if (element.count > possible)
    give('file.count-lies', { what: `"${element.name.slice(0, 24)}" elements`, claimed: element.count, possible });
}

function textSource(bytes: Uint8Array, at: number, line: number): Source {
  const s = new TextScanner(bytes, at);
  s.line = line;
  return {
    next: () => {
      s.skipSpace();
      if (s.atEnd) give('file.truncated', { what: 'the list of numbers' }, { line: s.line });
      return s.number();
    },
    place: () => ({ line: s.line }),
  };
}

function binarySource(bytes: Uint8Array, start: number, little: boolean): Source {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  let at = start;
  return {
    next: (type) => {
      const size = SIZES[type];
      const from = at;
      if (from + size > bytes.length) give('file.truncated', { what: 'the body' }, { byte: bytes.length });
      at = from + size;
      switch (type) {
        case 'float':
        case 'float32':
          return view.getFloat32(from, little);
        case 'double':
        case 'float64':
          return view.getFloat64(from, little);
        case 'int':
        case 'int32':
          return view.getInt32(from, little);
        case 'uint':
        case 'uint32':
          return view.getUint32(from, little);
        case 'short':
        case 'int16':
          return view.getInt16(from, little);
        case 'ushort':
        case 'uint16':
          return view.getUint16(from, little);
        case 'char':
        case 'int8':
          return view.getInt8(from);
        default:
          return view.getUint8(from);
      }
    },
    place: () => ({ byte: at }),
  };
}

function readVertices(
  element: Element,
  source: Source,
  tick: (i: number) => void,
): { positions: Float64Array<ArrayBuffer>; colours?: Uint8Array } {
  const positions = new Float64Array(element.count * 3);
  const slots = element.properties.map((p) => ['x', 'y', 'z', 'red', 'green', 'blue'].indexOf(p.name));
  if ([0, 1, 2].some((k) => !slots.includes(k))) give('file.malformed', { reason: 'vertices without x, y and z' });
  const coloured = [3, 4, 5].every((k) => slots.includes(k));
  const colours = coloured ? new Uint8Array(element.count * 3) : undefined;
  for (let i = 0; i < element.count; i++) {
    tick(i);
    for (let k = 0; k < slots.length; k++) {
      const property = element.properties[k];
      if (property.countType !== undefined) {
        skipList(property, source);
        continue;
      }
      const value = source.next(property.type);
      const slot = slots[k];
      if (slot >= 0 && slot < 3) {
        if (!Number.isFinite(value)) give('file.not-finite', { vertex: i + 1 }, source.place());
        positions[i * 3 + slot] = value;
      } else if (slot >= 3 && colours !== undefined) {
        const real = property.type.startsWith('float') || property.type.startsWith('double');
        colours[i * 3 + slot - 3] = Math.max(0, Math.min(255, Math.round(real ? value * 255 : value)));
      }
    }
  }
  return colours === undefined ? { positions } : { positions, colours };
}

function readFaces(
  element: Element,
  source: Source,
  positions: Float64Array,
  tick: (i: number) => void,
): Uint32Array<ArrayBuffer> {
  const triangles = new GrowingIndices(element.count * 3);
  const vertexCount = positions.length / 3;
  const loop = new Uint32Array(MAX_CORNERS);
  const listAt = element.properties.findIndex(
    (p) => p.countType !== undefined && (p.name === 'vertex_indices' || p.name === 'vertex_index'),
  );
  if (listAt < 0 && element.count > 0) give('file.malformed', { reason: 'faces without a list of vertices' });
  for (let i = 0; i < element.count; i++) {
    tick(i);
    for (let k = 0; k < element.properties.length; k++) {
      const property = element.properties[k];
      if (property.countType === undefined) {
        source.next(property.type);
      } else if (k !== listAt) {
        skipList(property, source);
      } else {
        const count = source.next(property.countType);
        if (!(Number.isInteger(count) && count >= 0 && count <= MAX_CORNERS))
          give('file.malformed', { reason: `a face with "${count}" corners` }, source.place());
        for (let c = 0; c < count; c++) {
          const vertex = source.next(property.type);
          if (!Number.isInteger(vertex)) give('file.bad-number', { text: String(vertex) }, source.place());
          if (!(vertex >= 0 && vertex < vertexCount)) {
            give('file.bad-index', { index: vertex, count: vertexCount }, source.place());
          }
          loop[c] = vertex;
        }
        pushPolygon(positions, loop, count, triangles);
      }
    }
  }
  return triangles.data.slice(0, triangles.length) as Uint32Array<ArrayBuffer>;
}

function skipList(property: Property, source: Source): void {
  const count = source.next(property.countType as string);
  if (!(Number.isInteger(count) && count >= 0))
    give('file.malformed', { reason: `a list of "${count}" entries` }, source.place());
  for (let c = 0; c < count; c++) source.next(property.type);
}

function skipElement(element: Element, source: Source, tick: (i: number) => void): void {
  for (let i = 0; i < element.count; i++) {
    tick(i);
    for (const property of element.properties) {
      if (property.countType === undefined) source.next(property.type);
      else skipList(property, source);
    }
  }
}

/** Little-endian binary PLY: float coordinates, or double where single precision would change them. */
export function writePly(mesh: Mesh): Uint8Array {
  const { positions: p, triangles: t, colours } = mesh;
  const vertexCount = p.length / 3;
  const single = p.every((x) => Math.fround(x) === x);
  const size = single ? 4 : 8;
  const head = new TextEncoder().encode(
    [
      'ply',
      'format binary_little_endian 1.0',
      'comment lengths in millimetres',
      `element vertex ${vertexCount}`,
      ...['x', 'y', 'z'].map((k) => `property ${single ? 'float' : 'double'} ${k}`),
      ...(colours === undefined ? [] : ['red', 'green', 'blue'].map((k) => `property uchar ${k}`)),
      `element face ${t.length / 3}`,
      'property list uchar int vertex_indices',
      'end_header',
      '',
    ].join('\n'),
  );
  const stride = 3 * size + (colours === undefined ? 0 : 3);
  const bytes = new Uint8Array(head.length + vertexCount * stride + (t.length / 3) * 13);
  bytes.set(head);
  const view = new DataView(bytes.buffer);
  let at = head.length;
  for (let i = 0; i < p.length; i += 3) {
    for (let k = 0; k < 3; k++, at += size) {
      if (single) view.setFloat32(at, p[i + k], true);
      else view.setFloat64(at, p[i + k], true);
    }
    if (colours !== undefined) for (let k = 0; k < 3; k++) bytes[at++] = colours[i + k];
  }
  for (let f = 0; f < t.length; f += 3) {
    bytes[at++] = 3;
    for (let k = 0; k < 3; k++, at += 4) view.setUint32(at, t[f + k], true);
  }
  return bytes;
}
