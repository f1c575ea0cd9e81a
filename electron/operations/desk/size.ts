import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { sizeSpecification } from '../../../shared-types/operations/desk.ts';
import { done, type Warning } from '../../../shared-types/outcome.ts';
import { transformPoint } from '../../geometry/mesh/transform.ts';
import type { GivenReadings } from '../readings.ts';
import { girthOnMesh, spanOnMesh } from '../readings.ts';
import type { Operation } from '../operation.ts';
import { TRUE_PHASES, trueWithFigures } from '../true.ts';

type Measure = import('zod').output<typeof sizeSpecification.parameters>['measures'][number];
type Triple = readonly [Vec3, Vec3, Vec3];

const isSpan = ({ kind }: Measure): boolean => kind === 'span';

/** What `true` takes, of the measures that have a value and a part in it; `without` is held back besides. */
function givenOf(measures: readonly Measure[], without?: string): GivenReadings {
  const used = measures.filter(({ role, measured }) => role !== 'leave' && measured !== undefined);
  const told = ({ name, measured, u, role }: Measure) => ({
    name,
    measured: measured as number,
    hold: role === 'hold' || name === without,
    ...(u === undefined ? {} : { u }),
  });
  return {
    spans: used.filter(isSpan).map((one) => ({ ...told(one), from: one.points[0], to: one.points[1] })),
    girths: used
      .filter((one) => !isSpan(one) && one.points.length === 3)
      .map((one) => ({ ...told(one), through: one.points as unknown as Triple })),
  };
}

function toSingle(points: Iterable<Vec3>, toView: Matrix4): Float32Array {
  return Float32Array.from([...points].flatMap((point) => [...transformPoint(toView, point)]));
}

function* triples(flat: Float64Array): Iterable<Vec3> {
  for (let i = 0; i < flat.length; i += 3) yield [flat[i], flat[i + 1], flat[i + 2]];
}

export const sizeOperation: Operation<typeof sizeSpecification> = {
  specification: sizeSpecification,
  phases: TRUE_PHASES,
  run: ([input], { measures, toView }, run) => {
    run.step('true', 0, 1);
    const { mesh, fromFile } = input;
    const warnings: Warning[] = [];
    const drawn = measures.flatMap((one) => {
      const { name, kind, points } = one;
      if (isSpan(one)) {
        const { a, b, length } = spanOnMesh(points[0], points[1], fromFile);
        return [{ name, kind, points: toSingle([a, b], toView), onScan: length }];
      }
      if (points.length < 3) return [];
      const girth = girthOnMesh(mesh, name, points as unknown as Triple, fromFile);
      if (!girth.ok) return [];
      return [{ name, kind, points: toSingle(triples(girth.value.tape), toView), onScan: girth.value.length }];
    });
    const given = givenOf(measures);
    const all = [...given.spans, ...given.girths];
    const nothing = { drawn, fit: null, without: [] };
    if (all.length === 0) {
      return done({ figures: { ...nothing, missing: 'Give at least one reading whose landmarks are placed.' } });
    }
    if (all.every(({ hold }) => hold)) {
      return done({ figures: { ...nothing, missing: 'Every reading is held back; let at least one give the size.' } });
    }
    const sized = trueWithFigures(mesh, given, fromFile, false, run);
    if (!sized.ok) return sized;
    warnings.push(...sized.warnings);
    const fit = sized.value.figures;
    const used = fit.residuals.filter(({ role }) => role === 'used');
    // With two readings left, leaving one out still says what the other alone would give.
    const without = (used.length < 2 ? [] : used).flatMap(({ name }) => {
      const other = trueWithFigures(mesh, givenOf(measures, name), fromFile, false, run);
      if (!other.ok) return [];
      const { factor, expandedPercent } = other.value.figures;
      return [{ name, factor, changePercent: 100 * (factor / fit.factor - 1), expandedPercent }];
    });
    return done({ figures: { fit, missing: null, drawn, without } }, warnings);
  },
};
