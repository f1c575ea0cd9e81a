/** What the liner desk is shown while a slider moves: coarse, but of the same liner. */
import { expect, it } from 'vitest';
import type { z } from 'zod';
import type { linerPreviewSpecification } from '../../shared-types/operations/liner-preview.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { boundsOf, volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../electron/geometry/mesh/twins.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { linerPreviewOperation } from '../../electron/operations/desk/liner-preview.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { join, moved } from '../support/meshes.ts';
import { sphere } from '../support/solids.ts';

const operation = linerPreviewOperation as unknown as Operation;

function preview(parameters: object, form = sphere(40, 4)) {
  const input = { mesh: form, name: 'form', fromFile: IDENTITY };
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

it('shows hollows bridged: a ball of 10 mm in the waist between two balls', () => {
  const form = join(sphere(20, 4), moved(sphere(20, 4), 44, 0, 0));
  const { mesh } = preview({ foamMm: 5, bridgeMm: 10 }, form);
  // It rests on two balls of 25 mm, 44 mm apart: its middle is √(35² - 22²) mm from their line.
  const field = new SignedField(mesh);
  for (const turn of [0, 1, 2, 3, 4, 5]) {
    const waist = Math.sqrt(35 ** 2 - 22 ** 2) - 10;
    expect(Math.abs(field.at(22, waist * Math.cos(turn), waist * Math.sin(turn)))).toBeLessThan(0.6);
  }
});

it('shows the wall, its rim in the plane of the cut, and says of its outer side what lies under it', () => {
  const cut = { opening: { plane: [0, 0, -20, 0, 0, 1] }, wallMm: 3, donning: [0, 0, -1] };
  const { mesh, figures } = preview(cut);
  const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
  expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
  // Between the balls of 48 and 51 mm over the cut, each a ball less its cap: π h² (r - h / 3).
  const over = (r: number): number => ((4 / 3) * r ** 3 - (r - 20) ** 2 * (r - (r - 20) / 3)) * Math.PI;
  expect(Math.abs(volumeOf(mesh) / (over(51) - over(48)) - 1)).toBeLessThan(0.02);
  expect(boundsOf(mesh.positions).min[2]).toBeCloseTo(-20, 4);
  const depthMm = figures.depthMm as Float32Array;
  expect(depthMm.length).toBe(mesh.positions.length / 3);
  expect(depthMm.subarray(depthMm.length / 2)).toEqual(depthMm.subarray(0, depthMm.length / 2));
});

it('shows the same whatever was shown before: another form, another way in, the same form again', () => {
  const wishes = {
    donning: [0, 0, -1],
    giveMm: 2,
    clear: true,
    bridgeMm: 10,
    opening: { plane: [0, 0, -20, 0, 0, 1] },
  };
  const form = join(sphere(20, 3), moved(sphere(25, 3), 30, 0, 20));
  const first = preview(wishes, form);
  preview({ ...wishes, donning: [0, 1, -1] }, form);
  preview(wishes, moved(form, 0, 0, 1));
  const again = preview(wishes, form);
  const oncemore = preview(wishes, { ...form, positions: form.positions.slice() });
  for (const seen of [again, oncemore]) {
    expect(seen.mesh.positions).toEqual(first.mesh.positions);
    expect(seen.mesh.triangles).toEqual(first.mesh.triangles);
    expect(seen.figures.depthMm).toEqual(first.figures.depthMm);
  }
});
