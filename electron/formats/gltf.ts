/**
 * glTF 2.0 and GLB (Khronos specification 2.0): all triangle primitives of the scene, node transforms applied.
 * The format states metres with y up and +z front; the mesh comes back in mm with x forward, y to the left, z up.
 */
import { invert, multiply, IDENTITY, transformMesh } from '../geometry/mesh/transform.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { finish } from './finish.ts';
import type { ReadMesh } from './read-mesh.ts';
import { atTheEdge, give } from './trouble.ts';

const MAGIC = 0x46546c67,
  JSON_CHUNK = 0x4e4f534a,
  BIN_CHUNK = 0x004e4942;
const MAX_DEPTH = 256,
  MAX_PRIMITIVES = 100_000;

/** Metres, y up, front +z, left +x  ->  mm, x forward, y left, z up. */
export const FROM_GLTF: Matrix4 = [0, 0, 1000, 0, 1000, 0, 0, 0, 0, 1000, 0, 0, 0, 0, 0, 1];
export const TO_GLTF: Matrix4 = invert(FROM_GLTF);

const COMPONENT: Readonly<Record<number, { size: number; read: (v: DataView, at: number) => number; norm: number }>> = {
  5120: { size: 1, read: (v, at) => v.getInt8(at), norm: 127 },
  5121: { size: 1, read: (v, at) => v.getUint8(at), norm: 255 },
  5122: { size: 2, read: (v, at) => v.getInt16(at, true), norm: 32767 },
  5123: { size: 2, read: (v, at) => v.getUint16(at, true), norm: 65535 },
  5125: { size: 4, read: (v, at) => v.getUint32(at, true), norm: 1 },
  5126: { size: 4, read: (v, at) => v.getFloat32(at, true), norm: 1 },
};
const WIDTH: Readonly<Record<string, number>> = { SCALAR: 1, VEC2: 2, VEC3: 3, VEC4: 4 };

type Json = Readonly<Record<string, unknown>>;

/** A file named beside this one, from the same archive; undefined when it is not there. */
export type Companion = (name: string) => Uint8Array | undefined;

export function isGlb(bytes: Uint8Array): boolean {
  return bytes.length >= 12 && new DataView(bytes.buffer, bytes.byteOffset).getUint32(0, true) === MAGIC;
}

export function readGltf(
  bytes: Uint8Array,
  run: RunContext = QUIET_RUN,
  companion: Companion = () => undefined,
): Outcome<ReadMesh> {
  return atTheEdge(() => {
    const { json, binary } = isGlb(bytes) ? splitGlb(bytes) : { json: parseJson(bytes), binary: undefined };
    return done(assemble(json, binary, run, companion));
  });
}

function splitGlb(bytes: Uint8Array): { json: Json; binary: Uint8Array | undefined } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const version = view.getUint32(4, true);
  if (version !== 2)
    give('file.unsupported', { what: `GLB version ${version}`, remedy: 'export it as version 2' }, { byte: 4 });
  const total = view.getUint32(8, true);
  if (total > bytes.length) give('file.truncated', { what: 'the binary body' }, { byte: bytes.length });
  let at = 12;
  let json: Json | undefined;
  let binary: Uint8Array | undefined;
  while (at + 8 <= total) {
    const length = view.getUint32(at, true);
    const kind = view.getUint32(at + 4, true);
    if (at + 8 + length > total) give('file.truncated', { what: 'a chunk' }, { byte: at });
    const body = bytes.subarray(at + 8, at + 8 + length);
    if (kind === JSON_CHUNK) json ??= parseJson(body);
    else if (kind === BIN_CHUNK) binary ??= body;
    at += 8 + length;
  }
  if (json === undefined) give('file.malformed', { reason: 'no description chunk' }, { byte: 12 });
  return { json, binary };
}

function parseJson(bytes: Uint8Array): Json {
  let value: unknown;
  try {
    value = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
  } catch (error) {
    give('file.malformed', { reason: `its description is not JSON: ${(error as Error).message.slice(0, 80)}` });
  }
  if (typeof value !== 'object' || value === null || Array.isArray(value))
    give('file.malformed', { reason: 'its description is no object' });
  return value as Json;
}

const listOf = (json: Json, key: string): readonly Json[] => {
  const value = json[key];
  return Array.isArray(value) ? (value as Json[]) : [];
};

function entry(list: readonly Json[], index: unknown, what: string): Json {
  const found = typeof index === 'number' ? list[index] : undefined;
  if (typeof found !== 'object' || found === null)
    give('file.malformed', { reason: `${what} ${String(index).slice(0, 12)} does not exist` });
  return found;
}

function whole(value: unknown, what: string, fallback?: number): number {
  if (value === undefined && fallback !== undefined) return fallback;
  if (!Number.isSafeInteger(value) || (value as number) < 0)
    give('file.malformed', { reason: `${what} is not a count` });
  return value as number;
}

function assemble(json: Json, binary: Uint8Array | undefined, run: RunContext, companion: Companion): ReadMesh {
  const required = Array.isArray(json['extensionsRequired']) ? (json['extensionsRequired'] as unknown[]) : [];
  for (const name of required) {
    if (name !== 'KHR_mesh_quantization' && !/^KHR_(materials|texture|lights)/.test(String(name))) {
      give('file.unsupported', {
        what: `the extension ${String(name).slice(0, 48)}`,
        remedy: 'export the scan without compression or extensions',
      });
    }
  }
  const buffers = listOf(json, 'buffers').map((buffer, i) => bufferBytes(buffer, i, binary, companion));
  const placed: { mesh: number; matrix: Matrix4 }[] = [];
  const nodes = listOf(json, 'nodes');
  const scenes = listOf(json, 'scenes');
  const scene = scenes[whole(json['scene'], 'the scene', 0)];
  const roots = Array.isArray(scene?.['nodes'])
    ? (scene['nodes'] as unknown[])
    : nodes.map((_, i) => i).filter((i) => !isChild(nodes, i));
  const visit = (index: unknown, parent: Matrix4, depth: number): void => {
    if (depth > MAX_DEPTH || placed.length > MAX_PRIMITIVES)
      give('file.malformed', { reason: 'its nodes contain one another' });
    const node = entry(nodes, index, 'node');
    const matrix = multiply(parent, nodeMatrix(node));
    if (node['mesh'] !== undefined) placed.push({ mesh: whole(node['mesh'], 'a mesh number'), matrix });
    for (const child of Array.isArray(node['children']) ? (node['children'] as unknown[]) : [])
      visit(child, matrix, depth + 1);
  };
  for (const root of roots) visit(root, IDENTITY, 0);
  if (nodes.length === 0) listOf(json, 'meshes').forEach((_, mesh) => placed.push({ mesh, matrix: IDENTITY }));

  const parts: Mesh[] = [];
  const groups: string[] = [];
  placed.forEach(({ mesh: number, matrix }, i) => {
    run.step('read', i, placed.length);
    const described = entry(listOf(json, 'meshes'), number, 'mesh');
    if (typeof described['name'] === 'string') groups.push(described['name'].slice(0, 200));
    for (const primitive of listOf(described, 'primitives')) {
      const part = readPrimitive(json, buffers, primitive);
      if (part !== undefined) parts.push(transformMesh(matrix, part));
    }
  });
  const textures = listOf(json, 'images').map((image) =>
    String(image['uri'] ?? image['name'] ?? 'embedded').slice(0, 200),
  );
  return {
    mesh: transformMesh(FROM_GLTF, finish(join(parts))),
    format: 'gltf',
    unit: 'metre',
    fromFile: FROM_GLTF,
    textures: textures.map((name) => (name.startsWith('data:') ? 'embedded' : name)),
    groups,
  };
}

function isChild(nodes: readonly Json[], index: number): boolean {
  return nodes.some((node) => Array.isArray(node['children']) && (node['children'] as unknown[]).includes(index));
}

function nodeMatrix(node: Json): Matrix4 {
  const numbers = (key: string, count: number): number[] | undefined => {
    const value = node[key];
    if (value === undefined) return undefined;
    if (!Array.isArray(value) || value.length !== count || !value.every((x) => Number.isFinite(x))) {
      give('file.malformed', { reason: `a node's ${key} is not ${count} numbers` });
    }
    return value as number[];
  };
  const m = numbers('matrix', 16);
  // glTF stores matrices by columns.
  if (m !== undefined) return Array.from({ length: 16 }, (_, i) => m[(i % 4) * 4 + Math.floor(i / 4)]);
  const t = numbers('translation', 3) ?? [0, 0, 0];
  const [x, y, z, w] = numbers('rotation', 4) ?? [0, 0, 0, 1];
  const s = numbers('scale', 3) ?? [1, 1, 1];
  return [
    (1 - 2 * (y * y + z * z)) * s[0],
    2 * (x * y - z * w) * s[1],
    2 * (x * z + y * w) * s[2],
    t[0],
    2 * (x * y + z * w) * s[0],
    (1 - 2 * (x * x + z * z)) * s[1],
    2 * (y * z - x * w) * s[2],
    t[1],
    2 * (x * z - y * w) * s[0],
    2 * (y * z + x * w) * s[1],
    (1 - 2 * (x * x + y * y)) * s[2],
    t[2],
    0,
    0,
    0,
    1,
  ];
}

function bufferBytes(buffer: Json, index: number, binary: Uint8Array | undefined, companion: Companion): Uint8Array {
  const uri = buffer['uri'];
  if (uri === undefined) {
    if (index === 0 && binary !== undefined) return binary;
    return give('file.malformed', { reason: `buffer ${index} has no data` });
  }
  const text = String(uri);
  if (text.startsWith('data:')) {
    const comma = text.indexOf(',');
    if (!/;base64$/.test(text.slice(0, comma)))
      give('file.unsupported', { what: 'an embedded buffer that is not base64', remedy: 'export it as GLB' });
    try {
      return Uint8Array.from(atob(text.slice(comma + 1)), (c) => c.charCodeAt(0));
    } catch {
      return give('file.malformed', { reason: `buffer ${index} is not base64` });
    }
  }
  const found = companion(text);
  if (found !== undefined) return found;
  return give('file.unsupported', {
    what: `a second file, ${text.slice(0, 80)}`,
    remedy: 'export it as one GLB, or zip both files together',
  });
}

/** The numbers of an accessor, `width` a row; bounds checked against the buffer before anything is allocated. */
function readAccessor(
  json: Json,
  buffers: readonly Uint8Array[],
  index: unknown,
): { values: Float64Array; width: number } {
  const accessor = entry(listOf(json, 'accessors'), index, 'accessor');
  const component = COMPONENT[accessor['componentType'] as number];
  const width = WIDTH[accessor['type'] as string];
  if (component === undefined || width === undefined) give('file.malformed', { reason: 'an accessor of unknown type' });
  const count = whole(accessor['count'], 'an accessor count');
  const normalized = accessor['normalized'] === true ? component.norm : 1;
  const scan = (
    viewIndex: unknown,
    offset: number,
    rows: number,
    type: typeof component,
    columns: number,
    put: (row: number, column: number, value: number) => void,
  ): void => {
    const view = entry(listOf(json, 'bufferViews'), viewIndex, 'buffer view');
    const bytes = buffers[whole(view['buffer'], 'a buffer number')];
    if (bytes === undefined) give('file.malformed', { reason: 'a buffer view without a buffer' });
    const start = whole(view['byteOffset'], 'a byte offset', 0) + offset;
    const viewEnd = whole(view['byteOffset'], 'a byte offset', 0) + whole(view['byteLength'], 'a byte length');
    const stride = whole(view['byteStride'], 'a stride', 0) || type.size * columns;
    const end = start + (rows - 1) * stride + type.size * columns;
    if (rows > 0 && (end > viewEnd || viewEnd > bytes.length))
      give('file.truncated', { what: 'its buffer' }, { byte: bytes.length });
    const data = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    for (let row = 0; row < rows; row++) {
      for (let column = 0; column < columns; column++)
        put(row, column, type.read(data, start + row * stride + column * type.size));
    }
  };
  const sparse = accessor['sparse'] as Json | undefined;
  if (accessor['bufferView'] === undefined) {
    const longest = Math.max(0, ...buffers.map((b) => b.length));
    if (count > longest) give('file.count-lies', { what: 'accessor rows', claimed: count, possible: longest });
  } else {
    scan(
      accessor['bufferView'],
      whole(accessor['byteOffset'], 'a byte offset', 0) + (count - 1) * 0,
      count > 0 ? 1 : 0,
      component,
      width,
      () => {},
    );
    const view = entry(listOf(json, 'bufferViews'), accessor['bufferView'], 'buffer view');
    const possible = Math.floor(whole(view['byteLength'], 'a byte length') / component.size);
    if (count > possible) give('file.count-lies', { what: 'accessor rows', claimed: count, possible });
  }
  const values = new Float64Array(count * width);
  if (accessor['bufferView'] !== undefined) {
    scan(
      accessor['bufferView'],
      whole(accessor['byteOffset'], 'a byte offset', 0),
      count,
      component,
      width,
      (row, column, value) => {
        values[row * width + column] = value / normalized;
      },
    );
  }
  if (typeof sparse === 'object' && sparse !== null) {
    const rows = whole(sparse['count'], 'a sparse count');
    if (rows > count) give('file.malformed', { reason: 'a sparse accessor longer than its own' });
    const indices = (sparse['indices'] ?? {}) as Json;
    const replaced = (sparse['values'] ?? {}) as Json;
    const indexType = COMPONENT[indices['componentType'] as number];
    if (indexType === undefined) give('file.malformed', { reason: 'sparse indices of unknown type' });
    const at = new Float64Array(rows);
    scan(
      indices['bufferView'],
      whole(indices['byteOffset'], 'a byte offset', 0),
      rows,
      indexType,
      1,
      (row, _c, value) => (at[row] = value),
    );
    scan(
      replaced['bufferView'],
      whole(replaced['byteOffset'], 'a byte offset', 0),
      rows,
      component,
      width,
      (row, column, value) => {
        if (at[row] >= count) give('file.bad-index', { index: at[row], count });
        values[at[row] * width + column] = value / normalized;
      },
    );
  }
  return { values, width };
}

function readPrimitive(json: Json, buffers: readonly Uint8Array[], primitive: Json): Mesh | undefined {
  const mode = whole(primitive['mode'], 'a drawing mode', 4);
  if (mode < 4) return undefined; // points and lines have no surface
  const attributes = (primitive['attributes'] ?? {}) as Json;
  const position = readAccessor(json, buffers, attributes['POSITION']);
  if (position.width !== 3) give('file.malformed', { reason: 'positions that are not triples' });
  const positions = position.values;
  const count = positions.length / 3;
  const order =
    primitive['indices'] === undefined
      ? Float64Array.from({ length: count }, (_, i) => i)
      : readAccessor(json, buffers, primitive['indices']).values;
  const corners: number[] = [];
  const faces = mode === 4 ? Math.floor(order.length / 3) : Math.max(0, order.length - 2);
  const triangles = new Uint32Array(faces * 3);
  for (let f = 0; f < faces; f++) {
    if (mode === 4) corners.splice(0, 3, order[f * 3], order[f * 3 + 1], order[f * 3 + 2]);
    else if (mode === 5) corners.splice(0, 3, order[f], order[f + 1 + (f % 2)], order[f + 2 - (f % 2)]);
    else corners.splice(0, 3, order[0], order[f + 1], order[f + 2]);
    for (let k = 0; k < 3; k++) {
      if (!(corners[k] < count)) give('file.bad-index', { index: corners[k], count });
      triangles[f * 3 + k] = corners[k];
    }
  }
  if (attributes['COLOR_0'] === undefined) return { positions, triangles };
  const colour = readAccessor(json, buffers, attributes['COLOR_0']);
  if (colour.values.length / colour.width < count) give('file.malformed', { reason: 'fewer colours than vertices' });
  const colours = new Uint8Array(count * 3);
  const accessor = entry(listOf(json, 'accessors'), attributes['COLOR_0'], 'accessor');
  const scale = accessor['componentType'] === 5126 || accessor['normalized'] === true ? 255 : 1;
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < 3; k++)
      colours[i * 3 + k] = Math.max(0, Math.min(255, Math.round(colour.values[i * colour.width + k] * scale)));
  }
  return { positions, triangles, colours };
}

/** One mesh of several; colours are kept when every part has them. */
export function join(parts: readonly Mesh[]): Mesh {
  const vertices = parts.reduce((sum, part) => sum + part.positions.length, 0);
  const corners = parts.reduce((sum, part) => sum + part.triangles.length, 0);
  const positions = new Float64Array(vertices);
  const triangles = new Uint32Array(corners);
  const colours =
    parts.length > 0 && parts.every((part) => part.colours !== undefined) ? new Uint8Array(vertices) : undefined;
  let v = 0;
  let c = 0;
  for (const part of parts) {
    positions.set(part.positions, v);
    colours?.set(part.colours as Uint8Array, v);
    for (let i = 0; i < part.triangles.length; i++) triangles[c + i] = part.triangles[i] + v / 3;
    v += part.positions.length;
    c += part.triangles.length;
  }
  return colours === undefined ? { positions, triangles } : { positions, triangles, colours };
}

/** GLB of a mesh in mm, z up: metres and y up in the file, as the format requires. */
export function writeGlb(mesh: Mesh): Uint8Array {
  const turned = transformMesh(TO_GLTF, mesh);
  const count = turned.positions.length / 3;
  const positions = Float32Array.from(turned.positions);
  const colours = mesh.colours === undefined ? undefined : new Uint8Array(count * 4).fill(255);
  if (colours !== undefined)
    for (let i = 0; i < count; i++)
      for (let k = 0; k < 3; k++) colours[i * 4 + k] = (mesh.colours as Uint8Array)[i * 3 + k];
  const min = [Infinity, Infinity, Infinity],
    max = [-Infinity, -Infinity, -Infinity];
  positions.forEach((x, i) => {
    min[i % 3] = Math.min(min[i % 3], x);
    max[i % 3] = Math.max(max[i % 3], x);
  });
  const blocks: Uint8Array[] = [new Uint8Array(positions.buffer), new Uint8Array(mesh.triangles.slice().buffer)];
  if (colours !== undefined) blocks.push(colours);
  let offset = 0;
  const views = blocks.map((block, i) => {
    const view = { buffer: 0, byteOffset: offset, byteLength: block.length, target: i === 1 ? 34963 : 34962 };
    offset += block.length;
    return view;
  });
  const json = {
    asset: { version: '2.0', generator: 'Wearwright' },
    scene: 0,
    scenes: [{ nodes: [0] }],
    nodes: [{ mesh: 0 }],
    meshes: [
      {
        primitives: [
          { attributes: { POSITION: 0, ...(colours === undefined ? {} : { COLOR_0: 2 }) }, indices: 1, mode: 4 },
        ],
      },
    ],
    accessors: [
      { bufferView: 0, componentType: 5126, count, type: 'VEC3', min, max },
      { bufferView: 1, componentType: 5125, count: mesh.triangles.length, type: 'SCALAR' },
      ...(colours === undefined ? [] : [{ bufferView: 2, componentType: 5121, normalized: true, count, type: 'VEC4' }]),
    ],
    bufferViews: views,
    buffers: [{ byteLength: offset }],
  };
  const text = new TextEncoder().encode(JSON.stringify(json));
  const textLength = (text.length + 3) & ~3;
  const bytes = new Uint8Array(12 + 8 + textLength + 8 + offset);
  const view = new DataView(bytes.buffer);
  const words = [MAGIC, 2, bytes.length, textLength, JSON_CHUNK];
  words.forEach((word, i) => view.setUint32(i * 4, word, true));
  bytes.fill(0x20, 20, 20 + textLength);
  bytes.set(text, 20);
  view.setUint32(20 + textLength, offset, true);
  view.setUint32(24 + textLength, BIN_CHUNK, true);
  let at = 28 + textLength;
  for (const block of blocks) {
    bytes.set(block, at);
    at += block.length;
  }
  return bytes;
}
