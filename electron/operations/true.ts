import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { trueSpecification, type trueFigures } from '../../shared-types/operations/true.ts';
import { rangeDoubts } from '../../shared-types/measures/range-doubt.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { landmarksOf } from '../../shared-types/recipe.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { scaling, transformMesh } from '../geometry/mesh/transform.ts';
import { fitScale, type ScaleFit } from '../geometry/register/scale-fit.ts';
import { doubledWarnings } from './doubled.ts';
import { readWithLevels, type GivenLevel, type Standing, type WithLevels } from './levels.ts';
import type { Operation } from './operation.ts';
import { STAND_PHASES, standWithFigures } from './stand.ts';
import { readingsOnMesh, type GivenReadings, type MeshReading } from './readings.ts';

export const TRUE_PHASES = { true: 1 };
/** Two-sided 95 % of the normal distribution: the uncertainties are stated, not estimated from scatter. */
const COVERAGE_95 = 1.959964;
/**
 * How near a factor must be to that of a whole unit to mean it. A phone scan that has a unit is off in its scale by 1 %
 * or so (De Waele et al., Sensors 26(4) 1251, 2026: perimeters within 1 %); twice that and a little is allowed. A
 * factor farther off, as 26.3 for 25.4, is that of an arbitrary unit and means nothing.
 */
const UNIT_MARGIN = 0.025;
/** Factors that a whole unit makes, and the unit the scan is then in. */
const UNIT_FACTORS: readonly (readonly [number, string])[] = [
  [1000, 'metres'],
  [10, 'centimetres'],
  [25.4, 'inches'],
  [1, 'millimetres'],
];

/** What the three axes are called in sentences. */
export type AxisWords = readonly [string, string, string];
const FILE_AXES: AxisWords = ['along x', 'along y', 'along z'];
/** Of a body that stands (design.md: x forward, y to the wearer's left, z up). */
export const BODY_AXES: AxisWords = ['from back to front', 'from right to left', 'from below upward'];

/**
 * The factor from readings whose points `toMesh` takes to the mesh: shared with `form`. Where it is known how the mesh
 * stands, `standing` says so, and what the readings say about directions is told in the body's own.
 */
export function trueWithFigures(
  mesh: Mesh,
  given: GivenReadings,
  toMesh: Matrix4,
  keepAll: boolean,
  run: RunContext,
  standing?: Standing,
  levels: readonly GivenLevel[] = [],
): Outcome<Trued> {
  const tick = (): void => run.step('true', 0, 1);
  tick();
  const read = readAll(mesh, given, toMesh, standing, levels, tick);
  if (!read.ok) return read;
  const { figures, warnings } = sizeOf(read.value.readings, keepAll, standing === undefined ? FILE_AXES : BODY_AXES);
  const matrix = scaling(figures.factor);
  run.step('true', 1, 1);
  const trued = { mesh: transformMesh(matrix, mesh), matrix, figures, given: read.value.given };
  return done(trued, [...read.warnings, ...warnings]);
}

export interface Trued {
  readonly mesh: Mesh;
  readonly matrix: Matrix4;
  readonly figures: z.output<typeof trueFigures>;
  /** The readings as they were taken: levels have become girths, the last of them. */
  readonly given: GivenReadings;
}

function readAll(
  mesh: Mesh,
  given: GivenReadings,
  toMesh: Matrix4,
  standing: Standing | undefined,
  levels: readonly GivenLevel[],
  tick: () => void,
): Outcome<WithLevels> {
  const [level] = levels;
  if (level !== undefined) {
    if (standing === undefined)
      return failed(fault('reading.no-landmark', { name: level.name, landmark: landmarksOf(level)[0] }));
    return readWithLevels(mesh, given, levels, standing, toMesh, tick);
  }
  const readings = readingsOnMesh(mesh, given, toMesh, tick, standing?.matrix);
  return readings.ok ? done({ given, readings: readings.value }, readings.warnings) : readings;
}

/** The size from readings already taken on the mesh, at least one of them not held back. */
export function sizeOf(
  readings: readonly MeshReading[],
  keepAll: boolean,
  axes: AxisWords = FILE_AXES,
): { figures: z.output<typeof trueFigures>; warnings: Warning[] } {
  const fit = fitScale(readings, keepAll);
  const { advice, warnings } = adviceOf(fit, axes);
  const figures = {
    factor: fit.factor,
    standardUncertainty: fit.standardUncertainty,
    expandedPercent: (100 * COVERAGE_95 * fit.standardUncertainty) / fit.factor,
    factorOfAll: fit.factorOfAll,
    chiSquare: fit.chiSquare,
    degreesOfFreedom: fit.degreesOfFreedom,
    birgeRatio: fit.birgeRatio,
    residuals: fit.residuals.map((residual, i) => {
      const { kind, hairAllowanceMm } = readings[i];
      return { ...residual, kind, ...(hairAllowanceMm === undefined ? {} : { hairAllowanceMm }) };
    }),
    outliers: [...fit.outliers],
    warp:
      fit.warp === null
        ? null
        : { ...fit.warp, factors: [...fit.warp.factors], uncertainties: [...fit.warp.uncertainties] },
    gradient: fit.gradient,
    advice,
  };
  return { figures, warnings };
}

function adviceOf(fit: ScaleFit, axes: AxisWords): { advice: string[]; warnings: Warning[] } {
  const advice: string[] = [];
  const warnings: Warning[] = [];
  const percent = ((100 * COVERAGE_95 * fit.standardUncertainty) / fit.factor).toFixed(2);
  const used = fit.residuals.filter((residual) => residual.role === 'used');
  const left = fit.residuals.filter((residual) => residual.role === 'left out');
  if (left.length > 0) {
    const named = left.map(({ name }) => `"${name}"`).join(' and ');
    const by = left.map(({ residualMm }) => `${Math.abs(residualMm).toFixed(1)} mm`).join(' and ');
    const sentence =
      left.length === 1
        ? `Measure ${named} again: it alone disagrees with the rest, by ${by}; without it the size is known to ${percent} %.`
        : `Measure ${named} again: they disagree with the rest, by ${by}; without them the size is known to ${percent} %.`;
    advice.push(sentence);
    warnings.push({ code: 'true.outlier', sentence });
    advice.push(...left.flatMap(slipOf));
    if (fit.orElse.length > 0) {
      const others = fit.orElse.map((name) => `"${name}"`).join(' or ');
      advice.push(`It could be ${others} instead: the rest would agree almost as well; measure that again too.`);
    }
  }
  if (used.length === 1) {
    const sentence = `Only "${used[0].name}" gives the size and nothing confirms it; by its own uncertainty and the scan's fineness it is known to ${percent} %. Take one more reading, in another direction.`;
    advice.push(sentence);
    warnings.push({ code: 'true.alone', sentence });
  } else if (fit.degreesOfFreedom > 0 && fit.chiSquare > chiSquareLimit(fit.degreesOfFreedom)) {
    const sentence =
      used.length === 2
        ? `"${used[0].name}" and "${used[1].name}" disagree by more than their uncertainty, and two cannot say which is wrong; take a third reading.`
        : `The readings disagree with one another by more than their stated uncertainty (ratio ${fit.birgeRatio?.toFixed(1)}); take them again.`;
    advice.push(sentence);
    warnings.push({ code: 'true.disagree', sentence });
  } else if (fit.outliers.length === 0) {
    advice.push(`The ${used.length} readings agree; the size is known to ${percent} % (95 %).`);
  }
  for (const held of fit.residuals.filter((residual) => residual.role === 'held back')) {
    const good = Math.abs(held.standardised) <= COVERAGE_95;
    advice.push(
      `"${held.name}", held back as a check, is ${Math.abs(held.residualMm).toFixed(1)} mm ${held.residualMm > 0 ? 'more' : 'less'} on the person than on the form: ${good ? 'it agrees' : 'it does not agree'}.`,
    );
    if (!good) warnings.push({ code: 'true.check-fails', sentence: advice[advice.length - 1] });
  }
  for (const doubt of rangeDoubts(used.map(({ name, measuredMm }) => ({ name, mm: measuredMm })))) {
    advice.push(doubt);
    warnings.push({ code: 'true.odd-length', sentence: doubt });
  }
  if (fit.warp?.significant === true) {
    const { factors, uncertainties } = fit.warp;
    const parts = axes.map((words, k) => {
      const by = 100 * (factors[k] / fit.factor - 1);
      return `${signed(by)} % (± ${((100 * uncertainties[k]) / fit.factor).toFixed(1)}) ${words}`;
    });
    const sentence = `The scan seems stretched: against the common factor the readings ask for ${parts[0]}, ${parts[1]} and ${parts[2]}. Pictures taken from too few sides do this; take them again if that matters.`;
    advice.push(sentence);
    warnings.push({ code: 'true.warp', sentence });
  }
  if (fit.gradient?.significant === true) {
    const { axis, low, high, change, changeU } = fit.gradient;
    const lead = fit.outliers.length > 0 ? 'Or no reading is wrong but the scan: the' : 'The';
    const sentence = `${lead} size the readings ask for changes ${axes[axis]}: at "${high}" by ${signed(100 * change)} % (± ${(100 * changeU).toFixed(1)}) against "${low}", as where a scan is bent or bowed. No one size fits such a scan; take the pictures again, all the way round and also from above and below.`;
    advice.push(sentence);
    warnings.push({ code: 'true.bent', sentence });
  }
  const unit = UNIT_FACTORS.find(([factor]) => Math.abs(fit.factor / factor - 1) < UNIT_MARGIN);
  if (unit !== undefined && unit[0] !== 1) advice.push(`A factor near ${unit[0]}: the scan seems to be in ${unit[1]}.`);
  return { advice, warnings };
}

const signed = (percent: number): string => `${percent < 0 ? '−' : '+'}${Math.abs(percent).toFixed(1)}`;

/** What a reading far from the rest may have been: read by half, in another unit, or with a digit too many. */
const SLIPS: readonly (readonly [number, string])[] = [
  [2, 'was only half of it measured?'],
  [1 / 2, 'was the tape doubled, or both sides added?'],
  [25.4, 'was it read in inches?'],
  [1 / 25.4, 'were millimetres entered as inches?'],
  [10, 'was it read in centimetres?'],
  [1 / 10, 'were millimetres entered as centimetres?'],
];
/** How near a reading must come to the rest by a slip to be told so. */
const SLIP_MARGIN = 0.04;

function slipOf({ name, scaledMm, measuredMm }: ScaleFit['residuals'][number]): string[] {
  const slip = SLIPS.find(([factor]) => Math.abs((measuredMm * factor) / scaledMm - 1) < SLIP_MARGIN);
  return slip === undefined
    ? []
    : [`"${name}" is read as ${measuredMm.toFixed(0)} mm where the rest say ${scaledMm.toFixed(0)} mm: ${slip[1]}`];
}

/** 5 % limit of chi-square (Wilson and Hilferty 1931); within 1 % of the tables from 1 degree of freedom on. */
function chiSquareLimit(freedom: number): number {
  const k = 2 / (9 * freedom);
  return freedom === 1 ? 3.841459 : freedom * (1 - k + 1.644854 * Math.sqrt(k)) ** 3;
}

export const trueOperation: Operation<typeof trueSpecification> = {
  specification: trueSpecification,
  phases: { stand: 0.1, true: 0.9 },
  run: ([input], parameters, run) => {
    const { landmarks, levels, region, ...given } = parameters.spans;
    let standing: Standing | undefined;
    // A frame takes three points; without levels it only gives directions their names.
    if (landmarks !== undefined && (levels !== undefined || Object.keys(landmarks).length > 2)) {
      const stood = standWithFigures(input, landmarks, run.within('stand', STAND_PHASES), region);
      if (stood.ok) standing = { landmarks, matrix: stood.value.matrix };
      else if (levels !== undefined) return stood;
    }
    const inner = run.within('true', TRUE_PHASES);
    const sized = trueWithFigures(input.mesh, given, input.fromFile, parameters.all, inner, standing, levels);
    if (!sized.ok) return sized;
    const { mesh, matrix, figures } = sized.value;
    const doubled = doubledWarnings(input.mesh, figures.factor, () => run.step('true', 1, 1));
    return done({ mesh, matrix, figures }, [...doubled, ...sized.warnings]);
  },
};
