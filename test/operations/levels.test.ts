/** Girths told by their height over a landmark, on a cone, where the size decides where they are: closed form. */
import { describe, expect, it } from 'vitest';
import { formOperation } from '../../electron/operations/form.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { trueOperation } from '../../electron/operations/true.ts';
import {
  IDENTITY,
  multiply,
  scaling,
  transformMesh,
  transformPoint,
  translation,
} from '../../electron/geometry/mesh/transform.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import { frustum } from '../support/solids.ts';

const SIDES = 360;
/** Radius 45 below, 25 above, 120 high; level with its middle 35. In a unit of 1/61.7 mm, lying on its side, moved. */
const MM = 61.7;
const onSide: Matrix4 = [0, 0, 1, 0, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 0, 1];
const toFile = multiply(translation([2, -1, 0.5]), multiply(scaling(1 / MM), onSide));
const body = transformMesh(toFile, frustum(45, 25, 120, SIDES, 12));
const place = (x: number, y: number, z: number): Vec3 => transformPoint(toFile, [x, y, z]);
const landmarks = {
  'tragion-left': place(0, 35, 0),
  'tragion-right': place(0, -35, 0),
  'orbitale-left': place(35 * Math.cos(0.5), 35 * Math.sin(0.5), 0),
};
const girthAt = (heightMm: number): number => {
  const radius = 35 - heightMm / 6;
  return 2 * SIDES * radius * Math.sin(Math.PI / SIDES);
};
const level = (name: string, aboveMm: number, more = {}) => ({
  name,
  at: 'tragion-left',
  aboveMm,
  measured: girthAt(aboveMm),
  u: 1,
  ...more,
});

function size(spans: unknown) {
  const outcome = runOperation(trueOperation, [{ mesh: body, name: 'scan', fromFile: IDENTITY }], { spans });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return outcome.value.figures;
}

describe('girths at a height over a landmark', () => {
  it.each([-40, 0, 30, 40])('one at %d mm alone gives the size, found with its own height', (aboveMm) => {
    expect(size({ landmarks, levels: [level('girth', aboveMm)] }).factor / MM).toBeCloseTo(1, 4);
  });

  it('join spans, hair and checks, and a wrong one is named', () => {
    const spans = [
      { name: 'across', from: place(0, 35, 0), to: place(0, -35, 0), measured: 70, u: 0.5 },
      { name: 'up', from: place(0, 0, -60), to: place(0, 0, 60), measured: 120, u: 0.5 },
    ];
    const hairMm = 3;
    const hairy = level('hair', 20, { measured: girthAt(20) + 2 * Math.PI * hairMm, hairMm });
    const figures = size({ landmarks, spans, levels: [hairy, level('wrong', -30, { measured: girthAt(-30) + 25 })] });
    expect(figures.factor / MM).toBeCloseTo(1, 4);
    expect(figures.outliers).toEqual(['wrong']);
    expect(figures.residuals.map(({ kind }) => kind)).toEqual(['span', 'span', 'girth', 'girth']);
  });

  it('say which landmark is missing', () => {
    expect(() => size({ landmarks, levels: [{ ...level('girth', 10), at: 'glabella' }] })).toThrow(
      /"girth" lies at a height over the landmark "glabella", which is not placed/,
    );
    expect(() => size({ levels: [level('girth', 10)] })).toThrow(/landmark "tragion-left", which is not placed/);
  });

  it('are taken again on the form', () => {
    const recipe = { landmarks, levels: [level('girth', 30)], faces: 2000 };
    const outcome = runOperation(formOperation, [{ mesh: body, name: 'scan', fromFile: IDENTITY }], { recipe });
    if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
    const [check] = outcome.value.figures.checks;
    expect(check).toMatchObject({ name: 'girth', kind: 'girth', agrees: true });
    expect(Math.abs(check.differenceMm)).toBeLessThan(0.2);
  });
});
