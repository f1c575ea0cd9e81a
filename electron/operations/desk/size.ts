/** The true-up desk's question: each measure drawn on the scan, the size they give, and what each contributes. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { sizeSpecification } from '../../../shared-types/operations/desk.ts';
import { done, type Warning } from '../../../shared-types/outcome.ts';
import { transformPoint } from '../../geometry/mesh/transform.ts';
import { asReading, measuresOnMesh, type MeshReading } from '../readings.ts';
import type { Operation } from '../operation.ts';
import { BODY_AXES, sizeOf, TRUE_PHASES } from '../true.ts';

function toSingle(flat: Float64Array, toView: Matrix4): Float32Array {
  const out = new Float32Array(flat.length);
  for (let i = 0; i < flat.length; i += 3) {
    const point: Vec3 = [flat[i], flat[i + 1], flat[i + 2]];
    out.set(transformPoint(toView, point), i);
  }
  return out;
}

export const sizeOperation: Operation<typeof sizeSpecification> = {
  specification: sizeSpecification,
  phases: TRUE_PHASES,
  run: ([input], { measures, toView }, run) => {
    let number = 0;
    const tick = (): void => run.step('true', number, measures.length);
    tick();
    const take = measuresOnMesh(input.mesh, input.fromFile, tick, toView);
    const warnings: Warning[] = [];
    const drawn = [];
    const readings: MeshReading[] = [];
    for (const one of measures) {
      number++;
      if (one.kind === 'girth' && one.points.length < 3) continue;
      const taken = take(one);
      if (!taken.ok) {
        // Without a value it only cannot be drawn yet; with one, the maker must know why it does not count.
        if (one.role !== 'leave' && one.measured !== undefined) return taken;
        continue;
      }
      const { name, kind, role, measured, u, hairMm } = one;
      drawn.push({ name, kind, points: toSingle(taken.value.line, toView), onScan: taken.value.length });
      if (role === 'leave' || measured === undefined) continue;
      warnings.push(...taken.warnings);
      const reading = asReading(one, { measured, u, hairMm, hold: role === 'hold' }, taken.value);
      if (!reading.ok) return reading;
      readings.push(reading.value);
    }
    const nothing = { drawn, fit: null, without: [] };
    if (readings.length === 0) {
      return done({ figures: { ...nothing, missing: 'Give at least one reading whose landmarks are placed.' } });
    }
    if (readings.every(({ held }) => held)) {
      return done({ figures: { ...nothing, missing: 'Every reading is held back; let at least one give the size.' } });
    }
    const { figures: fit, warnings: doubts } = sizeOf(readings, false, BODY_AXES);
    const used = fit.residuals.filter(({ role }) => role === 'used');
    // With two readings left, leaving one out still says what the other alone would give.
    const without = (used.length < 2 ? [] : used).map(({ name }) => {
      const others = readings.map((one) => (one.name === name ? { ...one, held: true } : one));
      const { factor, expandedPercent } = sizeOf(others, false).figures;
      return { name, factor, changePercent: 100 * (factor / fit.factor - 1), expandedPercent };
    });
    return done({ figures: { fit, missing: null, drawn, without } }, [...warnings, ...doubts]);
  },
};
