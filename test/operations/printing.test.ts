import { expect, it } from 'vitest';
import { IDENTITY, transformMesh, translation } from '../../electron/geometry/mesh/transform.ts';
import { gaugeOperation } from '../../electron/operations/gauge.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { splitOperation } from '../../electron/operations/split.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { join } from '../support/meshes.ts';
import { box } from '../support/solids.ts';

const BED = { bed: [100, 100, 100], markMm: 0 };
const inputOf = (mesh: Mesh) => [{ mesh, name: 'solid', fromFile: IDENTITY }];

it('split tells which of the planes given cut nothing', () => {
  const planes = [
    [0, 0, 90, 0, 0, 1],
    [0, 0, 5, 0, 0, 1],
    [0, 0, 5, 0, 0, -1],
  ];
  const outcome = runOperation(splitOperation, inputOf(box(60, 60, 60)), { ...BED, planes });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  expect(outcome.value.figures.planes).toEqual([[0, 0, 5, 0, 0, 1]]);
  expect(outcome.value.figures.seams).toHaveLength(1);
  expect(outcome.warnings.map(({ sentence }) => sentence.slice(0, 7))).toEqual(['Plane 1', 'Plane 3']);
});

const apart = (x: number, mesh: Mesh): Mesh => transformMesh(translation([x, 0, 0]), mesh);

it('split tells of several bodies, and refuses one that is inside out', () => {
  const two = runOperation(splitOperation, inputOf(join(box(60, 60, 60), apart(30, box(50, 50, 50)))), BED);
  if (!two.ok) throw new Error(faultSentence(two.fault));
  expect(two.value.figures.pieces).toHaveLength(2);
  expect(two.warnings[0]?.sentence).toContain('2 bodies');
  const cube = box(20, 20, 20);
  const inside = { ...apart(90, cube), triangles: cube.triangles.toReversed() };
  const wrong = runOperation(splitOperation, inputOf(join(box(60, 60, 60), inside)), BED);
  expect(wrong.ok ? '' : faultSentence(wrong.fault)).toContain('216000 mm³ and it holds 208000 mm³');
});

it('split names the pieces that no pin holds', () => {
  // Four millimetres are left over the upper cut: no pin goes in, however short.
  const planes = [
    [0, 0, 0, 0, 0, 1],
    [0, 0, 26, 0, 0, 1],
  ];
  const outcome = runOperation(splitOperation, inputOf(box(60, 60, 60)), { ...BED, planes, pinDepthMm: 12 });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  expect(outcome.value.figures.seams.map(({ pieces }) => pieces)).toEqual([[2, 3]]);
  expect(outcome.warnings.map(({ sentence }) => sentence.slice(0, 28))).toEqual(['Piece 1 is held by no pin: t']);
});

it('split cuts a plate on a low bed once, across what is too high', () => {
  const outcome = runOperation(splitOperation, inputOf(box(150, 150, 60)), { bed: [200, 200, 40], markMm: 0 });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  expect(outcome.value.figures.planes).toEqual([[0, 0, 0, 0, 0, 1]]);
  expect(outcome.value.figures.pieces.map(({ fits }) => fits)).toEqual([true, true]);
  expect(outcome.value.figures.seams[0]?.pins.length).toBeGreaterThan(2);
});

it('gauge tells a solid from a shell, and where a band finds no shell', () => {
  const solid = runOperation(gaugeOperation, inputOf(box(60, 60, 60)), { levelsMm: [0] });
  if (!solid.ok) throw new Error(faultSentence(solid.fault));
  expect(solid.value.figures.bands[0]).toMatchObject({ insideMm: null, outsideMm: 240 });
  expect(solid.warnings.map(({ code }) => code)).toContain('gauge.solid');
  const edge = runOperation(gaugeOperation, inputOf(box(60, 60, 60)), { levelsMm: [-28], bandMm: 12 });
  expect(edge.ok ? '' : faultSentence(edge.fault)).toMatch(/at -28 mm a band of 12 mm .* from -30 to 30 mm/);
});
