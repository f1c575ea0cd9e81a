/** A stop while a file is being read takes effect, and until then progress never falls. */
import { zipSync } from 'fflate';
import { expect, it } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { READ_PHASES } from '../../electron/formats/read-mesh.ts';
import { Cancelled, createRun } from '../../shared-types/progress.ts';
import { roundToSingle } from '../../electron/geometry/mesh/transform.ts';
import { torus } from '../support/solids.ts';
import { stlText, text } from './build-files.ts';

const body = roundToSingle(torus(60, 21, 300, 120));
const bytesOf = (kind: string): Uint8Array => {
  const outcome = writeMesh(body, `a.${kind}`);
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome.value.bytes;
};

it.each<[string, Uint8Array]>([
  ['a.obj', bytesOf('obj')],
  ['a.stl', bytesOf('stl')],
  ['b.stl', text(stlText(body))],
  ['a.ply', bytesOf('ply')],
  ['a.glb', bytesOf('glb')],
  ['a.3mf', bytesOf('3mf')],
  ['a.zip', zipSync({ 'a.obj': bytesOf('obj') })],
])('%s', (name, bytes) => {
  const seen: number[] = [];
  let questions = 0;
  const counting = createRun(READ_PHASES, {
    cancelled: () => {
      questions++;
      return false;
    },
    progress: (fraction) => seen.push(fraction),
  });
  expect(readMesh(bytes, name, counting).ok).toBe(true);
  expect(seen).toEqual(seen.toSorted((a, b) => a - b));
  // 72,000 faces take 5 to 100 ms to read, so two questions are the least.
  expect(questions).toBeGreaterThanOrEqual(2);
  for (const last of [1, Math.ceil(questions / 2), questions]) {
    let asked = 0;
    const stopped = createRun(READ_PHASES, { cancelled: () => ++asked >= last });
    expect(() => readMesh(bytes, name, stopped)).toThrow(Cancelled);
  }
});
