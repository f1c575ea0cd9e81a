/**
 * glTF 2.0 and GLB (Khronos specification 2.0): all triangle primitives of the scene, node transforms applied.
 * The format states metres with y up and +z front; the mesh comes back in mm with x forward, y to the left, z up.
 */
import { multiply, IDENTITY, transformMesh, turnOf } from '../geometry/mesh/transform.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { finish } from './finish.ts';
import { Budget, join } from './join.ts';
import type { ReadMesh } from './read-mesh.ts';
import { atTheEdge, give } from './trouble.ts';

export const GLB_MAGIC = 0x46546c67,
  JSON_CHUNK = 0x4e4f534a,
  BIN_CHUNK = 0x004e4942;
const MAX_DEPTH = 256;

/** Metres, y up, front +z, left +x  ->  mm, x forward, y left, z up. */
export const FROM_GLTF: Matrix4 = [0, 0, 1000, 0, 1000, 0, 0, 0, 0, 1000, 0, 0, 0, 0, 0, 1];

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
  return bytes.length >= 12 && new DataView(bytes.buffer, bytes.byteOffset).getUint32(0, true) === GLB_MAGIC;
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

const isObject = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** A list of the description; whatever in it is no object becomes an empty one. */
const listOf = (json: Json, key: string): readonly Json[] => {
  const value = json[key];
  return Array.isArray(value) ? value.map((item: unknown) => (isObject(item) ? item : {})) : [];
};

const LISTS = ['scenes', 'nodes', 'meshes', 'accessors', 'bufferViews', 'buffers', 'images'] as const;

/** The lists of the description, looked at once. */
type Document = Readonly<Record<(typeof LISTS)[number], readonly Json[]>>;

const documentOf = (json: Json): Document =>
  Object.fromEntries(LISTS.map((key) => [key, listOf(json, key)])) as unknown as Document;

/** For a sentence; never calls anything the description could have put in the way. */
const words = (value: unknown, length: number): string =>
  typeof value === 'string' || typeof value === 'number' ? String(value).slice(0, length) : '(something else)';

function entry(list: readonly Json[], index: unknown, what: string): Json {
  const found = typeof index === 'number' ? list[index] : undefined;
  if (index === undefined) give('file.malformed', { reason: `a number is missing where its ${what} should be named` });
  if (typeof found !== 'object' || found === null)
    give('file.malformed', { reason: `${what} ${words(index, 12)} does not exist` });
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
    if (name !== 'KHR_mesh_quantization' && !/^KHR_(materials|texture|lights)/.test(words(name, 48))) {
      give('file.unsupported', {
        what: `the extension ${words(name, 48)}`,
        remedy: 'export the scan without compression or extensions',
      });
    }
  }
  const lists = documentOf(json);
  const { nodes, scenes } = lists;
  const buffers = lists.buffers.map((buffer, i) => bufferBytes(buffer, i, binary, companion));
  const placed: { mesh: number; matrix: Matrix4 }[] = [];
  const scene = scenes[whole(json['scene'], 'the scene', 0)];
  const children = new Set(nodes.flatMap((node) => (Array.isArray(node['children']) ? node['children'] : [])));
  const roots = Array.isArray(scene?.['nodes'])
    ? (scene['nodes'] as unknown[])
    : nodes.map((_, i) => i).filter((i) => !children.has(i));
  // The specification wants strict trees; a node reached twice is a loop or a way to blow up.
  const visited = new Set<unknown>();
  const visit = (index: unknown, parent: Matrix4, depth: number): void => {
    if (depth > MAX_DEPTH) give('file.malformed', { reason: `nodes nested over ${MAX_DEPTH} deep` });
    if (visited.has(index)) give('file.malformed', { reason: `node ${words(index, 12)} is reached twice` });
    visited.add(index);
    const node = entry(nodes, index, 'node');
    const matrix = multiply(parent, nodeMatrix(node));
    if (node['mesh'] !== undefined) placed.push({ mesh: whole(node['mesh'], 'a mesh number'), matrix });
    for (const child of Array.isArray(node['children']) ? (node['children'] as unknown[]) : [])
      visit(child, matrix, depth + 1);
  };
  for (const root of roots) visit(root, IDENTITY, 0);
  if (nodes.length === 0) lists.meshes.forEach((_, mesh) => placed.push({ mesh, matrix: IDENTITY }));

  const parts: Mesh[] = [];
  const groups: string[] = [];
  const budget = new Budget(run);
  placed.forEach(({ mesh: number, matrix }, i) => {
    run.step('read', i, placed.length);
    const described = entry(lists.meshes, number, 'mesh');
    if (typeof described['name'] === 'string') groups.push(described['name'].slice(0, 200));
    for (const primitive of listOf(described, 'primitives')) {
      const part = readPrimitive(lists, buffers, primitive, budget);
      // One matrix, so that metres undone by a node's own scale leave no rounding behind.
      if (part !== undefined) parts.push(transformMesh(multiply(FROM_GLTF, matrix), part));
    }
  });
  const textures = lists.images.map((image) => words(image['uri'] ?? image['name'] ?? 'embedded', 200));
  return {
    mesh: finish(join(parts)),
    format: 'gltf',
    unit: 'metre',
    fromFile: FROM_GLTF,
    textures: textures.map((name) => (name.startsWith('data:') ? 'embedded' : name)),
    groups,
  };
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
  return turnOf(x, y, z, w).map((one, i) => (i > 11 ? one : i % 4 === 3 ? t[(i - 3) / 4] : one * s[i % 4]));
}

function bufferBytes(buffer: Json, index: number, binary: Uint8Array | undefined, companion: Companion): Uint8Array {
  const uri = buffer['uri'];
  if (uri === undefined) {
    if (index === 0 && binary !== undefined) return binary;
    return give('file.malformed', { reason: `buffer ${index} has no data` });
  }
  if (typeof uri !== 'string') return give('file.malformed', { reason: `buffer ${index} has no data` });
  const text = uri;
  if (text.startsWith('data:')) {
    const comma = text.indexOf(',');
    if (!text.slice(0, comma).endsWith(';base64'))
      give('file.unsupported', { what: 'an embedded buffer that is not base64', remedy: 'export it as GLB' });
    try {
      const raw = atob(text.slice(comma + 1));
      const bytes = new Uint8Array(raw.length);
      for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
      return bytes;
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
  lists: Document,
  buffers: readonly Uint8Array[],
  index: unknown,
  budget: Budget,
): { values: Float64Array; width: number } {
  const accessor = entry(lists.accessors, index, 'accessor');
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
    const view = entry(lists.bufferViews, viewIndex, 'buffer view');
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
      if ((row & 0xffff) === 0) budget.breathe();
      for (let column = 0; column < columns; column++)
        put(row, column, type.read(data, start + row * stride + column * type.size));
    }
  };
  const sparse = accessor['sparse'] as Json | undefined;
  if (accessor['bufferView'] === undefined) {
    const longest = Math.max(0, ...buffers.map((b) => b.length));
    if (count > longest) give('file.count-lies', { what: 'accessor rows', claimed: count, possible: longest });
  } else {
    const view = entry(lists.bufferViews, accessor['bufferView'], 'buffer view');
    const possible = Math.floor(whole(view['byteLength'], 'a byte length') / component.size);
    if (count > possible) give('file.count-lies', { what: 'accessor rows', claimed: count, possible });
  }
  budget.take(count * width);
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

function readPrimitive(
  lists: Document,
  buffers: readonly Uint8Array[],
  primitive: Json,
  budget: Budget,
): Mesh | undefined {
  const mode = whole(primitive['mode'], 'a drawing mode', 4);
  if (mode > 6) give('file.malformed', { reason: `the drawing mode ${mode}` });
  if (mode < 4) return undefined; // points and lines have no surface
  const attributes = (primitive['attributes'] ?? {}) as Json;
  const position = readAccessor(lists, buffers, attributes['POSITION'], budget);
  if (position.width !== 3) give('file.malformed', { reason: 'positions that are not triples' });
  const positions = position.values;
  const count = positions.length / 3;
  const order =
    primitive['indices'] === undefined
      ? Float64Array.from({ length: count }, (_, i) => i)
      : readAccessor(lists, buffers, primitive['indices'], budget).values;
  const corners = [0, 0, 0];
  const put = (a: number, b: number, c: number): void => {
    corners[0] = a;
    corners[1] = b;
    corners[2] = c;
  };
  const faces = mode === 4 ? Math.floor(order.length / 3) : Math.max(0, order.length - 2);
  budget.take(faces * 3);
  const triangles = new Uint32Array(faces * 3);
  for (let f = 0; f < faces; f++) {
    if ((f & 0xffff) === 0) budget.breathe();
    if (mode === 4) put(order[f * 3], order[f * 3 + 1], order[f * 3 + 2]);
    else if (mode === 5) put(order[f], order[f + 1 + (f % 2)], order[f + 2 - (f % 2)]);
    else put(order[0], order[f + 1], order[f + 2]);
    for (let k = 0; k < 3; k++) {
      if (!(corners[k] < count)) give('file.bad-index', { index: corners[k], count });
      triangles[f * 3 + k] = corners[k];
    }
  }
  if (attributes['COLOR_0'] === undefined) return { positions, triangles };
  const colour = readAccessor(lists, buffers, attributes['COLOR_0'], budget);
  if (colour.values.length / colour.width < count) give('file.malformed', { reason: 'fewer colours than vertices' });
  const colours = new Uint8Array(count * 3);
  const accessor = entry(lists.accessors, attributes['COLOR_0'], 'accessor');
  const scale = accessor['componentType'] === 5126 || accessor['normalized'] === true ? 255 : 1;
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < 3; k++)
      colours[i * 3 + k] = Math.max(0, Math.min(255, Math.round(colour.values[i * colour.width + k] * scale)));
  }
  return { positions, triangles, colours };
}
