/** Girths told by their height over a landmark, on a cone, where the size decides where they are: closed form. */
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { drawnTapesOf } from '../../electron/geometry/measure/drawn-tapes.ts';
import { extremeLevel } from '../../electron/geometry/measure/level.ts';
import { roughen } from '../../electron/invented/phone-scan.ts';
import { scanLeg } from '../../electron/invented/scanned-body.ts';
import { seeded } from '../../electron/invented/seeded.ts';
import { carryOperation } from '../../electron/operations/carry.ts';
import { formOperation } from '../../electron/operations/form.ts';
import { measureOperation } from '../../electron/operations/measure.ts';
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
import { complaintOf, placeOf } from '../../shared-types/operations/complaint.ts';
import { levelSchema } from '../../shared-types/recipe.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
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
const allLandmarks = { ...landmarks, low: place(0, 43, -50), 'half-way': place(0, 35, 0), top: place(0, 25, 59.99) };
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

const extreme = (most: string, from: string, to: string, measured: number) => ({
  name: most,
  most,
  between: [from, to],
  measured,
  u: 1,
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
      /"girth" is told by the landmark "glabella", which is not placed/,
    );
    expect(() => size({ levels: [level('girth', 10)] })).toThrow(/landmark "tragion-left", which is not placed/);
  });

  it('say in their own words what is wrong with their place', () => {
    expect(() => size({ landmarks, levels: [level('girth', 500, { measured: 200 })] })).toThrow(
      /^The level girth "girth" does not meet/,
    );
    const told = (...places: object[]) =>
      z.array(levelSchema).safeParse(places.map((one) => ({ name: 'a', measured: 500, ...one }))).error;
    const complaints = [
      [{ most: 'fattest', between: ['low', 'top'] }, '[0].most: Invalid option'],
      [{ most: 'thickest', between: ['low', 'low'] }, '[0].between: a stretch lies between two different landmarks'],
      [{ at: 'low', aboveMm: 'ten' }, '[0].aboveMm: expected a number'],
      [{}, '[0]: a level needs "name", "measured" and either'],
    ] as const;
    for (const [place, words] of complaints) {
      const error = told(place);
      if (error === undefined) throw new Error(`no complaint of ${JSON.stringify(place)}`);
      const { path, sentence } = complaintOf(error);
      expect(`${placeOf(path)}: ${sentence}`).toContain(words);
    }
    const far = { ...landmarks, 'tragion-left': [1e300, 0, 0] as Vec3 };
    expect(() => size({ landmarks: far, levels: [level('girth', 10)] })).toThrow(/no place on a body/);
  });

  it('are taken again on the form', () => {
    const levels = [level('girth', 30), { ...extreme('thinnest', 'half-way', 'top', girthAt(60)), hold: true }];
    const recipe = { landmarks: allLandmarks, levels, faces: 2000 };
    const outcome = runOperation(formOperation, [{ mesh: body, name: 'scan', fromFile: IDENTITY }], { recipe });
    if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
    const [check, held] = outcome.value.figures.checks;
    expect(check).toMatchObject({ name: 'girth', kind: 'girth', agrees: true });
    expect(Math.abs(check.differenceMm)).toBeLessThan(0.2);
    expect(held).toMatchObject({ name: 'thinnest', role: 'held back', agrees: true });
  });

  it('are measured on a form in mm, and drawn where they lie', () => {
    const form = frustum(45, 25, 120, SIDES, 12);
    const upright = {
      'tragion-left': [0, 35, 0] as Vec3,
      'tragion-right': [0, -35, 0] as Vec3,
      'orbitale-left': [35 * Math.cos(0.5), 35 * Math.sin(0.5), 0] as Vec3,
    };
    const { name, at, aboveMm } = level('girth', 30);
    const outcome = runOperation(measureOperation, [{ mesh: form, name: 'form', fromFile: IDENTITY }], {
      spans: { landmarks: upright, levels: [{ name, at, aboveMm }] },
    });
    if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
    expect(outcome.value.figures.girths[0].lengthMm).toBeCloseTo(girthAt(30), 3);
    const steps = [{ verb: 'form', parameters: {}, figures: { matrix: [...IDENTITY] } }];
    const drawn = drawnTapesOf({ recipe: { landmarks: upright, levels: [level('girth', 30)] }, steps }, form);
    expect(drawn).toMatchObject([{ name: 'girth', isClosed: true }]);
    for (let i = 2; i < drawn[0].tape.length; i += 3) expect(drawn[0].tape[i]).toBeCloseTo(30, 6);
  });
});

describe('where a body is thickest or thinnest', () => {
  const barrel = (noiseMm: number): Mesh => {
    const mesh = transformMesh(IDENTITY, frustum(30, 30, 240, SIDES, 96));
    const random = seeded(7);
    // Radius 45 at the middle, falling by a parabola to 30 at both ends.
    for (let i = 0; i < mesh.positions.length; i += 3) {
      const z = mesh.positions[i + 2];
      const wide = (45 - 15 * (z / 120) ** 2 + noiseMm * random.normal()) / 30;
      mesh.positions[i] *= wide;
      mesh.positions[i + 1] *= wide;
    }
    return mesh;
  };
  const from: Vec3 = [0, 45, -50];
  const to: Vec3 = [0, 40, 100];

  it('finds the top of a barrel', () => {
    const found = extremeLevel(barrel(0), [from, to], [0, 0, 1], 'thickest');
    // Girth is stationary there: the level is worth what its girth misses, 2 pi of a thousandth of the radius.
    expect(Math.abs(found?.at[2] ?? NaN)).toBeLessThan(0.5);
    expect(found?.isAtEnd).toBe(false);
  });

  it('is not led astray by a scan’s noise', () => {
    const found = extremeLevel(barrel(0.3), [from, to], [0, 0, 1], 'thickest');
    // Between 15 z^2 / 120^2: 12 mm off the girth is 0.94 mm less, of 283.
    expect(Math.abs(found?.at[2] ?? NaN)).toBeLessThan(12);
  });

  it('says when it ends at a landmark', () => {
    const found = extremeLevel(barrel(0), [from, to], [0, 0, 1], 'thinnest');
    expect(found?.at[2]).toBeCloseTo(100, 6);
    expect(found?.isAtEnd).toBe(true);
    const outcome = runOperation(trueOperation, [{ mesh: body, name: 'scan', fromFile: IDENTITY }], {
      spans: { landmarks: allLandmarks, levels: [extreme('thinnest', 'half-way', 'top', girthAt(60))] },
    });
    expect(outcome.ok && outcome.warnings.map(({ sentence }) => sentence).join()).toMatch(
      /"thinnest" is thinnest at the very end of its stretch, at the landmark "top"/,
    );
  });

  it('gives the size from a girth whose height nobody read', () => {
    const { factor } = size({
      landmarks: allLandmarks,
      levels: [extreme('thickest', 'half-way', 'low', girthAt(-50))],
    });
    expect(factor / MM).toBeCloseTo(1, 4);
  });
});

it('go with a recipe to a newer scan of the same leg', () => {
  const older = scanLeg({ seed: 3 }, 8000, { unitsPerMm: 0.001 });
  // The same body both times: only the scans differ.
  const again = roughen(older.body.mesh(8000), { seed: 12, unitsPerMm: 0.01, chair: false, debris: 0, holes: [] });
  const height = { name: 'under the knee', at: 'knee-inner', aboveMm: -60, measured: 370, u: 3, hold: true };
  const recipe = { ...older.recipe, levels: [...(older.recipe.levels ?? []), height], faces: 3000 };
  const good = <T>(outcome: Outcome<T>): T => {
    if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
    return outcome.value;
  };
  const input = (mesh: Mesh) => ({ mesh, name: 'scan', fromFile: IDENTITY });
  const first = good(runOperation(formOperation, [input(older.scan.mesh)], { recipe }));
  const carried = good(
    runOperation(carryOperation, [input(first.mesh as Mesh), input(again.mesh)], { recipe, way: first.matrix }),
  ).figures.recipe;
  expect(carried.levels).toEqual(recipe.levels);
  const second = good(runOperation(formOperation, [input(again.mesh)], { recipe: carried }));
  for (const { name } of recipe.levels) {
    const [a, b] = [first, second].map(({ figures }) => figures.checks.find((check) => check.name === name));
    // Readings are the same, so the sizes are but for the scans' noise: the tapes lie in the same places.
    expect(Math.abs((a?.onFormMm ?? NaN) - (b?.onFormMm ?? NaN)), name).toBeLessThan(2);
  }
}, 120_000);
