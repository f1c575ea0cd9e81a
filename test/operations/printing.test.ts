import { expect, it } from 'vitest';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { gaugeOperation } from '../../electron/operations/gauge.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { splitOperation } from '../../electron/operations/split.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { box } from '../support/solids.ts';

const inputOf = (mesh: Mesh) => [{ mesh, name: 'solid', fromFile: IDENTITY }];

it('split tells which of the planes given cut nothing', () => {
  const planes = [
    [0, 0, 90, 0, 0, 1],
    [0, 0, 5, 0, 0, 1],
    [0, 0, 5, 0, 0, -1],
  ];
  const outcome = runOperation(splitOperation, inputOf(box(60, 60, 60)), { bed: [100, 100, 100], planes, markMm: 0 });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  expect(outcome.value.figures.planes).toEqual([[0, 0, 5, 0, 0, 1]]);
  expect(outcome.value.figures.seams).toHaveLength(1);
  expect(outcome.warnings.map(({ sentence }) => sentence.slice(0, 7))).toEqual(['Plane 1', 'Plane 3']);
});

it('gauge tells a solid from a shell, and where a band finds no shell', () => {
  const solid = runOperation(gaugeOperation, inputOf(box(60, 60, 60)), { levelsMm: [0] });
  if (!solid.ok) throw new Error(faultSentence(solid.fault));
  expect(solid.value.figures.bands[0]).toMatchObject({ insideMm: null, outsideMm: 240 });
  expect(solid.warnings.map(({ code }) => code)).toContain('gauge.solid');
  const edge = runOperation(gaugeOperation, inputOf(box(60, 60, 60)), { levelsMm: [-28], bandMm: 12 });
  expect(edge.ok ? '' : faultSentence(edge.fault)).toMatch(/at -28 mm a band of 12 mm .* from -30 to 30 mm/);
});
