/** What the liner desk is shown while a slider moves: coarse, but of the same liner. */
import { expect, it } from 'vitest';
import type { z } from 'zod';
import type { linerPreviewSpecification } from '../../shared-types/operations/liner-preview.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import { linerPreviewOperation } from '../../electron/operations/desk/liner-preview.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { sphere } from '../support/solids.ts';

const operation = linerPreviewOperation as unknown as Operation;

function preview(parameters: object) {
  const input = { mesh: sphere(40, 4), name: 'form', fromFile: IDENTITY };
  const outcome = runOperation(operation, [input], { foamMm: 8, ...parameters });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  const { mesh, figures } = outcome.value;
  if (mesh === undefined) throw new Error('no mesh');
  return { mesh, figures: figures as z.output<typeof linerPreviewSpecification.figures> };
}

it('is cut where it will be opened, and says how much the foam must give there', () => {
  const { mesh, figures } = preview({ opening: { plane: [0, 0, -20, 0, 0, 1] }, donning: [0, 0, -1] });
  expect(boundsOf(mesh.positions).min[2]).toBeCloseTo(-20, 4);
  expect(figures.depthMm).toHaveLength(mesh.positions.length / 3);
  // At the rim the liner is √(48² - 20²) mm from the axis, and the ball 40 mm wide above it.
  expect(Math.abs((figures.deepestMm ?? 0) - (8 - (Math.sqrt(48 ** 2 - 20 ** 2) - 40)))).toBeLessThan(0.4);
  const volume = (4 / 3) * Math.PI * (48 ** 3 - 40 ** 3);
  expect(Math.abs(figures.foamVolumeMm3 / volume - 1)).toBeLessThan(0.03);
});

it('gives the fair line through a drawn opening, and nothing of a way in that was not asked for', () => {
  const points = Array.from({ length: 9 }, (_, i) => {
    const turn = (2 * Math.PI * i) / 9;
    return [20 * Math.cos(turn), 20 * Math.sin(turn), Math.sqrt(40 ** 2 - 20 ** 2)];
  });
  const { mesh, figures } = preview({ opening: { curves: [{ points }] } });
  expect(figures.depthMm).toBeNull();
  const [line] = figures.curves;
  for (let i = 0; i < line.length; i += 3) expect(Math.abs(Math.hypot(line[i], line[i + 1]) - 20)).toBeLessThan(0.15);
  // Cut on the cone of 30 degrees.
  expect(Math.abs(boundsOf(mesh.positions).max[2] - 48 * Math.cos(Math.PI / 6))).toBeLessThan(0.6);
});
