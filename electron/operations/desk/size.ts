/** The true-up desk's question: each measure drawn on the scan, the size they give, and what each contributes. */
import type { z } from 'zod';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { sizeSpecification } from '../../../shared-types/operations/desk.ts';
import { done, type Outcome, type Warning } from '../../../shared-types/outcome.ts';
import { determinant3, transformPoint } from '../../geometry/mesh/transform.ts';
import { fitScale } from '../../geometry/register/scale-fit.ts';
import { levellerOf, readLevels, type Leveller, type Standing } from '../levels.ts';
import type { InputMesh, Operation } from '../operation.ts';
import { asReading, measuresOnMesh, type MeshReading, type ReadOnPerson, type TakenMeasure } from '../readings.ts';
import { STAND_PHASES, standWithFigures } from '../stand.ts';
import { BODY_AXES, sizeOf } from '../true.ts';

type Wanted = z.output<typeof sizeSpecification.parameters>['measures'][number];
type Drawn = z.output<typeof sizeSpecification.figures>['drawn'];

function toSingle(flat: Float64Array, toView: Matrix4): Float32Array {
  const out = new Float32Array(flat.length);
  for (let i = 0; i < flat.length; i += 3) {
    const point: Vec3 = [flat[i], flat[i + 1], flat[i + 2]];
    out.set(transformPoint(toView, point), i);
  }
  return out;
}

const drawnAs = ({ name, kind }: Wanted, { line, length }: TakenMeasure, toView: Matrix4): Drawn[number] => {
  return { name, kind, points: toSingle(line, toView), onScan: length };
};

/** What was read on the person, where it takes part in the size or is compared with it. */
function readOf({ role, measured, u, hairMm }: Wanted): ReadOnPerson | undefined {
  return role === 'leave' || measured === undefined ? undefined : { measured, u, hairMm, hold: role === 'hold' };
}

export const sizeOperation: Operation<typeof sizeSpecification> = {
  specification: sizeSpecification,
  phases: { stand: 0.1, true: 0.9 },
  run: ([input], { measures, toView, standing: by }, run) => {
    let number = 0;
    const tick = (): void => run.step('true', number, measures.length);
    const levels = measures.filter(({ level }) => level !== undefined);
    const stood =
      by === undefined || levels.length === 0
        ? undefined
        : standWithFigures(input, by.landmarks, run.within('stand', STAND_PHASES), by.region);
    tick();
    const take = measuresOnMesh(input.mesh, input.fromFile, tick, toView);
    const warnings: Warning[] = [];
    const drawn: Drawn = [];
    const readings: MeshReading[] = [];
    for (const one of measures) {
      number++;
      if (one.level !== undefined || one.points.length < (one.kind === 'girth' ? 3 : 2)) continue;
      const taken = take(one);
      const read = readOf(one);
      if (!taken.ok) {
        // Without a value it only cannot be drawn yet; with one, the maker must know why it does not count.
        if (read !== undefined) return taken;
        continue;
      }
      drawn.push(drawnAs(one, taken.value, toView));
      if (read === undefined) continue;
      warnings.push(...taken.warnings);
      const reading = asReading(one, read, taken.value);
      if (!reading.ok) return reading;
      readings.push(reading.value);
    }
    if (stood?.ok === true && by !== undefined) {
      const standing = { landmarks: by.landmarks, matrix: stood.value.matrix };
      const taped = tapeLevels(input, levels, readings, standing, take, toView, tick);
      if (!taped.ok) return taped;
      readings.splice(0, readings.length, ...taped.value.readings);
      drawn.push(...taped.value.drawn);
      warnings.push(...taped.warnings);
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

/**
 * The levels read beside the readings, and each drawn. Heights lie by the size that comes out; until there is one, by
 * that of the view.
 */
function tapeLevels(
  { mesh, fromFile }: InputMesh,
  levels: readonly Wanted[],
  fixed: readonly MeshReading[],
  standing: Standing,
  take: ReturnType<typeof measuresOnMesh>,
  toView: Matrix4,
  tick: () => void,
): Outcome<{ readonly readings: readonly MeshReading[]; readonly drawn: Drawn }> {
  const ready: { one: Wanted; leveller: Leveller }[] = [];
  const counted: { level: ReadOnPerson & { name: string }; leveller: Leveller }[] = [];
  for (const one of levels) {
    if (one.level === undefined) continue;
    const leveller = levellerOf(mesh, one.name, one.level, standing, fromFile, tick);
    const read = readOf(one);
    if (!leveller.ok) {
      if (read !== undefined && leveller.fault.code !== 'reading.no-landmark') return leveller;
      continue;
    }
    ready.push({ one, leveller: leveller.value });
    if (read !== undefined) counted.push({ level: { ...read, name: one.name }, leveller: leveller.value });
  }
  const isGiving = [...fixed, ...counted.map(({ level }) => ({ held: level.hold }))].some(({ held }) => held !== true);
  const read = counted.length > 0 && isGiving ? readLevels(take, fixed, fixed.length, counted) : undefined;
  if (read?.ok === false) return read;
  const readings = read?.value.readings ?? fixed;
  const mmPerUnit = isGiving && readings.length > 0 ? fitScale(readings).factor : Math.cbrt(determinant3(toView));
  const drawn = ready.flatMap(({ one, leveller }) => {
    const taken = take({ ...one, points: leveller.through(mmPerUnit) });
    return taken.ok ? [drawnAs(one, taken.value, toView)] : [];
  });
  return done({ readings, drawn }, read?.warnings ?? []);
}
