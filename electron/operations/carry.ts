/**
 * A recipe carried to a newer scan of the same body: the form is laid on the scan, and each point goes across with its
 * own patch of form. Cutting planes go with the whole body, unbent.
 */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import { carrySpecification } from '../../shared-types/operations/carry.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import type { Recipe } from '../../shared-types/recipe.ts';
import { guessUnit } from '../geometry/mend/health.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { determinant3, invert, multiply, transformPoint } from '../geometry/mesh/transform.ts';
import { CARRY_PHASES, carryPoints } from '../geometry/register/carry-points.ts';
import { LAY_PHASES, layFormOnScan } from '../geometry/register/lay-on.ts';
import { buildBvh } from '../geometry/spatial/bvh.ts';
import type { Operation } from './operation.ts';

/** A point carried worse than this is worth a look, mm (own judgement: a third of the usual trouble of picking an ear by hand). */
const DOUBTFUL_MM = 2;

/** A body changed by years is nearer to itself than this; a head on its back, or another part, is not (tried on invented heads). */
const OTHER_BODY_MM = 4;

export const carryOperation: Operation<typeof carrySpecification> = {
  specification: carrySpecification,
  phases: { lay: 0.7, tree: 0.1, points: 0.2 },
  run: ([form, scan], { recipe, way }, run) => {
    const guess = guessUnit(boundsOf(scan.mesh.positions));
    const mmPerUnit = scan.unit !== undefined ? 1 : guess.unit === 'unknown' ? undefined : guess.mmPerUnit;
    const laid = layFormOnScan(form.mesh, scan.mesh, mmPerUnit, run.within('lay', LAY_PHASES));
    if (laid === undefined) return failed(fault('mesh.no-faces', {}));
    const unitMm = 1 / Math.cbrt(determinant3(laid.matrix));
    if (laid.rms * unitMm > OTHER_BODY_MM) return failed(fault('carry.other-body', { rmsMm: laid.rms * unitMm }));
    const toForm = multiply(form.fromFile, way as Matrix4);
    const tree = buildBvh(scan.mesh, () => run.step('tree', 0, 1));
    run.step('tree', 1, 1);
    const wanted: { name: string; at: Vec3 }[] = [];
    const want = (name: string, at: readonly number[]): void => {
      wanted.push({ name, at: at as unknown as Vec3 });
    };
    for (const [name, at] of Object.entries(recipe.landmarks)) want(name, at);
    for (const { name, from, to } of recipe.spans) {
      want(`${name}, from`, from);
      want(`${name}, to`, to);
    }
    for (const { name, through } of recipe.girths) through.forEach((at, index) => want(`${name}, ${index + 1}`, at));
    for (const { name, along } of recipe.arcs ?? []) along.forEach((at, index) => want(`${name}, ${index + 1}`, at));
    const onForm = wanted.map(({ at }) => transformPoint(toForm, at));
    const carried = carryPoints(form.mesh, onForm, tree, laid, run.within('points', CARRY_PHASES));
    const toFile = invert(scan.fromFile);
    const points = carried.map((one, index) => {
      const point = [...transformPoint(toFile, one.point)] as [number, number, number];
      return { ...one, name: wanted[index].name, point };
    });
    let next = 0;
    const take = (): [number, number, number] => points[next++].point;
    const free = multiply(toFile, multiply(laid.matrix, toForm));
    const move = (at: Vec3): Vec3 => transformPoint(free, at);
    const newer: Recipe = {
      ...recipe,
      landmarks: Object.fromEntries(Object.keys(recipe.landmarks).map((name) => [name, take()])),
      spans: recipe.spans.map((span) => ({ ...span, from: take(), to: take() })),
      girths: recipe.girths.map((girth) => ({ ...girth, through: [take(), take(), take()] })),
      ...(recipe.arcs === undefined
        ? {}
        : { arcs: recipe.arcs.map((arc) => ({ ...arc, along: arc.along.map(take) })) }),
      trim: recipe.trim.map(([px, py, pz, nx, ny, nz]) => {
        const at = move([px, py, pz]);
        const tip = move([px + nx, py + ny, pz + nz]);
        return [...at, tip[0] - at[0], tip[1] - at[1], tip[2] - at[2]] as Recipe['trim'][number];
      }),
    };
    const warnings: Warning[] = [];
    const doubtful = points.filter(({ uMm }) => uMm > DOUBTFUL_MM);
    if (doubtful.length > 0) {
      const names = doubtful.map(({ name, uMm }) => `"${name}" (${uMm.toFixed(1)} mm)`).join(', ');
      warnings.push({
        code: 'carry.doubtful',
        sentence: `Look at these points, which were carried with doubt: ${names}.`,
      });
    }
    const figures = { recipe: newer, points, rmsMm: laid.rms * unitMm, mmPerUnit: unitMm };
    return done({ figures }, warnings);
  },
};
