/** What the page of a liner shows on it, against a ball in closed form. */
import { expect, it } from 'vitest';
import type { Mesh } from '../../shared-types/mesh.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { linerMapOperation } from '../../electron/operations/desk/liner-map.ts';
import { lineOperation } from '../../electron/operations/line.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { join, moved } from '../support/meshes.ts';
import { sphere } from '../support/solids.ts';

const BALL = { mesh: sphere(40, 4), name: 'form', fromFile: IDENTITY };
const opened = { foamMm: 8, toleranceMm: 0.2, opening: { plane: [0, 0, -20, 0, 0, 1] }, donning: [0, 0, -1] };

function mapped(parameters: object, form = BALL): { mesh: Mesh; thicknessMm: Float32Array; depthMm: Float32Array } {
  const made = runOperation(lineOperation as unknown as Operation, [form], parameters);
  if (!made.ok) throw new Error(faultSentence(made.fault));
  const mesh = made.value.mesh as Mesh;
  const inputs = [form, { mesh, name: 'liner', fromFile: IDENTITY }];
  const map = runOperation(linerMapOperation as unknown as Operation, inputs, parameters);
  if (!map.ok) throw new Error(faultSentence(map.fault));
  return { mesh, ...(map.value.figures as { thicknessMm: Float32Array; depthMm: Float32Array }) };
}

it.each([
  ['a padded body', {}],
  ['a shell', { wallMm: 3 }],
])('%s: 8 mm all over its inner side and nothing on its outside; at the rim it must give 4.4 mm', (_name, more) => {
  const { mesh, thicknessMm, depthMm } = mapped({ ...opened, ...more });
  let [inner, deepest] = [0, 0];
  for (let v = 0; v < thicknessMm.length; v++) {
    const [x, y, z] = mesh.positions.subarray(v * 3, v * 3 + 3);
    const radius = Math.hypot(x, y, z);
    deepest = Math.max(deepest, depthMm[v]);
    if (Number.isNaN(thicknessMm[v])) {
      // Outside of the wall, or of the flat cut.
      expect(radius > 49 || Math.abs(z + 20) < 0.01).toBe(true);
      continue;
    }
    inner++;
    expect(Math.abs(radius - 48)).toBeLessThan(0.3);
    expect(Math.abs(thicknessMm[v] - 8)).toBeLessThan(0.3);
  }
  expect(inner).toBeGreaterThan(500);
  // There the liner is √(48² - 20²) mm from the axis, and the ball 40 mm wide above it.
  expect(Math.abs(deepest - (8 - (Math.sqrt(48 ** 2 - 20 ** 2) - 40)))).toBeLessThan(0.3);
});

it('deep in a bridged waist, where the side looks along the form more than at it, it is still the inner side', () => {
  const mesh = join(sphere(20, 3), moved(sphere(20, 3), 60, 0, 0));
  const parameters = { foamMm: 5, bridgeMm: 10, wallMm: 3, toleranceMm: 0.3 };
  const made = mapped(parameters, { mesh, name: 'form', fromFile: IDENTITY });
  // A ball of 10 mm rests on two balls of 25 mm, 60 mm apart: its middle runs round their line at √(35² - 30²) mm.
  const middle = Math.sqrt(35 ** 2 - 30 ** 2);
  let seen = 0;
  for (let v = 0; v < made.thicknessMm.length; v++) {
    const [x, y, z] = made.mesh.positions.subarray(v * 3, v * 3 + 3);
    const along = Math.abs(x - 30);
    const toMiddle = Math.hypot(along, Math.hypot(y, z) - middle);
    if (along > 5 || Math.abs(toMiddle - 10) > 0.3) continue;
    seen++;
    expect(Math.abs(made.thicknessMm[v] - (Math.hypot(30 - along, y, z) - 20))).toBeLessThan(0.3);
  }
  expect(seen).toBeGreaterThan(20);
});
