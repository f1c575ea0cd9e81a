/** Reading a mesh file into memory: the head of each size in each format, bytes already loaded. */
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { roundToSingle } from '../../electron/geometry/mesh/transform.ts';
import { benchTask, most, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const SIZES = [10_000, 100_000, 1_000_000];
const KINDS = ['obj', 'stl', 'ply', 'glb', '3mf'] as const;

function bytesOf(faces: number, kind: string): Uint8Array {
  const written = writeMesh(roundToSingle(headOf(faces)), `head.${kind}`);
  if (!written.ok) throw new Error(written.fault.code);
  return written.value.bytes;
}

export const tasks: readonly BenchTask[] = KINDS.map((kind) =>
  benchTask({
    name: `read-${kind}`,
    sizes: SIZES,
    ...(kind === 'obj' ? { bars: { 1_000_000: most({ cpuSeconds: 0.6 }) } } : {}),
    prepare: (size) => bytesOf(size, kind),
    run: (bytes) => {
      const read = readMesh(bytes, `head.${kind}`);
      if (!read.ok) throw new Error(read.fault.code);
      return { faces: read.value.mesh.triangles.length / 3, megabytes: bytes.length / 1e6 };
    },
  }),
);
