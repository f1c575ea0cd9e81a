/** GLB out: one node, one mesh, one buffer (Khronos glTF 2.0, sections 3.6, 3.7 and 4.4). */
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { BIN_CHUNK, GLB_MAGIC, JSON_CHUNK } from './gltf.ts';

/** mm, x forward, y left, z up  ->  metres, front +z, left +x, y up: the inverse of FROM_GLTF. */
export const TO_GLTF: Matrix4 = [0, 0.001, 0, 0, 0, 0, 0.001, 0, 0.001, 0, 0, 0, 0, 0, 0, 1];

const byColumns = (m: Matrix4): number[] => Array.from({ length: 16 }, (_, i) => m[(i % 4) * 4 + Math.floor(i / 4)]);

/**
 * GLB of a mesh in mm, z up. The file's world is metres with y up, as the format requires; the turn and the factor
 * stand in the node, and the coordinates themselves stay the mesh's own mm. Divided by 1000 and rounded again they
 * would no longer be the surface that was proven sound.
 */
export function writeGlb(mesh: Mesh): Uint8Array {
  const count = mesh.positions.length / 3;
  const positions = Float32Array.from(mesh.positions);
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
    nodes: [{ mesh: 0, matrix: byColumns(TO_GLTF) }],
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
  const words = [GLB_MAGIC, 2, bytes.length, textLength, JSON_CHUNK];
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
