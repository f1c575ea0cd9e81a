/** Mesh files put together by hand, byte by byte, for the format tests: a writer independent of ours. */
import { strToU8, zipSync, type Zippable } from 'fflate';
import { readMesh, type ReadMesh } from '../../electron/formats/index.ts';
import { faultSentence, type Fault } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';

export const text = (value: string): Uint8Array => new TextEncoder().encode(value);

/** The mesh read, or an error that says the fault. */
export function mustRead(bytes: Uint8Array, name: string): ReadMesh {
  const outcome = readMesh(bytes, name);
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return outcome.value;
}

/** The fault given, or an error when the file was read after all. */
export function mustFail(bytes: Uint8Array, name: string): Fault {
  const outcome = readMesh(bytes, name);
  if (outcome.ok) throw new Error(`${name} was read`);
  return outcome.fault;
}

/** Tetrahedron with a right corner at the origin and legs of 1, 2 and 3: volume 1, faces outward. */
export const CORNERS = [0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0, 3];
export const FACES = [0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3];
export const TETRAHEDRON: Mesh = { positions: Float64Array.from(CORNERS), triangles: Uint32Array.from(FACES) };

export const OBJ_TEXT = 'v 0 0 0\nv 1 0 0\nv 0 2 0\nv 0 0 3\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n';

/** Binary STL of a soup of corners. */
export function stlBytes(corners: readonly number[], claimed = corners.length / 9): Uint8Array {
  const count = corners.length / 9;
  const view = new DataView(new ArrayBuffer(84 + 50 * count));
  view.setUint32(80, claimed, true);
  corners.forEach((x, i) => {
    const face = Math.floor(i / 9);
    view.setFloat32(84 + 50 * face + 12 + 4 * (i % 9), x, true);
  });
  return new Uint8Array(view.buffer);
}

export const soupOf = (mesh: Mesh): number[] =>
  Array.from(mesh.triangles).flatMap((v) => Array.from(mesh.positions.subarray(v * 3, v * 3 + 3)));

export function stlText(mesh: Mesh): string {
  const soup = soupOf(mesh);
  const rows = ['solid test'];
  for (let i = 0; i < soup.length; i += 9) {
    rows.push(' facet normal 0 0 0', '  outer loop');
    for (let k = 0; k < 9; k += 3) rows.push(`   vertex ${soup.slice(i + k, i + k + 3).join(' ')}`);
    rows.push('  endloop', ' endfacet');
  }
  return [...rows, 'endsolid test', ''].join('\n');
}

/** A value and how PLY names its type. */
export type PlyValue = readonly [
  type: 'uchar' | 'char' | 'short' | 'ushort' | 'int' | 'uint' | 'float' | 'double',
  value: number,
];

/** Binary PLY body of values in a byte order, behind a header. */
export function plyBytes(header: string, values: readonly PlyValue[], little: boolean): Uint8Array {
  const size = { uchar: 1, char: 1, short: 2, ushort: 2, int: 4, uint: 4, float: 4, double: 8 };
  const head = text(header);
  const bytes = new Uint8Array(head.length + values.reduce((sum, [type]) => sum + size[type], 0));
  bytes.set(head);
  const view = new DataView(bytes.buffer);
  let at = head.length;
  for (const [type, value] of values) {
    if (type === 'uchar') view.setUint8(at, value);
    else if (type === 'char') view.setInt8(at, value);
    else if (type === 'short') view.setInt16(at, value, little);
    else if (type === 'ushort') view.setUint16(at, value, little);
    else if (type === 'int') view.setInt32(at, value, little);
    else if (type === 'uint') view.setUint32(at, value, little);
    else if (type === 'float') view.setFloat32(at, value, little);
    else view.setFloat64(at, value, little);
    at += size[type];
  }
  return bytes;
}

export const PLY_TEXT = [
  'ply',
  'format ascii 1.0',
  'element vertex 4',
  'property float x',
  'property float y',
  'property float z',
  'element face 4',
  'property list uchar int vertex_indices',
  'end_header',
  ...[0, 3, 6, 9].map((i) => CORNERS.slice(i, i + 3).join(' ')),
  ...[0, 3, 6, 9].map((i) => `3 ${FACES.slice(i, i + 3).join(' ')}`),
  '',
].join('\n');

/** Chunks of a GLB with right lengths and padding. */
export function glbBytes(json: unknown, binary: Uint8Array = new Uint8Array(0)): Uint8Array {
  const raw = text(JSON.stringify(json));
  const jsonLength = Math.ceil(raw.length / 4) * 4;
  const binLength = Math.ceil(binary.length / 4) * 4;
  const bytes = new Uint8Array(12 + 8 + jsonLength + (binLength > 0 ? 8 + binLength : 0));
  const view = new DataView(bytes.buffer);
  view.setUint32(0, 0x46546c67, true);
  view.setUint32(4, 2, true);
  view.setUint32(8, bytes.length, true);
  view.setUint32(12, jsonLength, true);
  view.setUint32(16, 0x4e4f534a, true);
  bytes.fill(0x20, 20, 20 + jsonLength);
  bytes.set(raw, 20);
  if (binLength > 0) {
    view.setUint32(20 + jsonLength, binLength, true);
    view.setUint32(24 + jsonLength, 0x004e4942, true);
    bytes.set(binary, 28 + jsonLength);
  }
  return bytes;
}

/** A description that a test may spoil in any way it likes. */
// oxlint-disable-next-line typescript/no-explicit-any
export type LooseJson = Record<string, any>;

/** A glTF description and buffer of the tetrahedron; `change` may spoil a copy of it. */
export function gltfOf(change: (json: LooseJson) => void = () => {}): {
  json: LooseJson;
  binary: Uint8Array;
} {
  const binary = new Uint8Array(48 + 24);
  new Float32Array(binary.buffer, 0, 12).set(CORNERS);
  new Uint16Array(binary.buffer, 48, 12).set(FACES);
  const json = {
    asset: { version: '2.0' },
    scene: 0,
    scenes: [{ nodes: [0] }],
    nodes: [{ mesh: 0 }],
    meshes: [{ name: 'tip', primitives: [{ attributes: { POSITION: 0 }, indices: 1 }] }],
    accessors: [
      { bufferView: 0, componentType: 5126, count: 4, type: 'VEC3', min: [0, 0, 0], max: [1, 2, 3] },
      { bufferView: 1, componentType: 5123, count: 12, type: 'SCALAR' },
    ],
    bufferViews: [
      { buffer: 0, byteOffset: 0, byteLength: 48 },
      { buffer: 0, byteOffset: 48, byteLength: 24 },
    ],
    buffers: [{ byteLength: 72 }],
  };
  change(json);
  return { json, binary };
}

export const glbOf = (change?: (json: LooseJson) => void): Uint8Array => {
  const { json, binary } = gltfOf(change);
  return glbBytes(json, binary);
};

export const MESH_XML = `<mesh><vertices>${[0, 3, 6, 9]
  .map((i) => `<vertex x="${CORNERS[i]}" y="${CORNERS[i + 1]}" z="${CORNERS[i + 2]}"/>`)
  .join('')}</vertices><triangles>${[0, 3, 6, 9]
  .map((i) => `<triangle v1="${FACES[i]}" v2="${FACES[i + 1]}" v3="${FACES[i + 2]}"/>`)
  .join('')}</triangles></mesh>`;

const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';

export const modelXml = (resources: string, build: string, attributes = 'unit="millimeter"'): string =>
  `<?xml version="1.0" encoding="UTF-8"?>\n<model ${attributes} xmlns="${CORE}"><resources>${resources}</resources><build>${build}</build></model>`;

export const threeMfBytes = (model: string, more: Zippable = {}): Uint8Array =>
  zipSync({ '3D/3dmodel.model': strToU8(model), ...more }, { level: 6 });

export const THREE_MF = threeMfBytes(
  modelXml(`<object id="1" type="model">${MESH_XML}</object>`, '<item objectid="1"/>'),
);
