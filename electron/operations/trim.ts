import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { trimSpecification, type trimFigures } from '../../shared-types/operations/trim.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { examine, guessUnit, HEALTH_PHASE } from '../geometry/mend/health.ts';
import { untangle } from '../geometry/mend/untangle.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, roundToSingle, scaling, transformMesh } from '../geometry/mesh/transform.ts';
import { cutFlat } from '../geometry/offset/cut-flat.ts';
import { healthAsFigures } from './health.ts';
import { planeFrom, troubleOfForm } from './line.ts';
import type { InputMesh, Operation } from './operation.ts';

export const TRIM_PHASES = { cut: 0.4, [HEALTH_PHASE]: 0.6 };

/** What a series of cuts made, not yet examined. */
export interface Cuts {
  readonly mesh: Mesh;
  readonly cut: z.output<typeof trimFigures>['cut'];
  readonly cappedAreaMm2: number;
}

/**
 * Cut a closed mesh by planes given in its file's coordinates, single precision: shared with `form`. `asideMm` moves
 * each plane a little into what stays.
 */
export function cutByPlanes(
  input: InputMesh,
  planes: readonly (readonly number[])[],
  mm: number,
  run: RunContext,
  asideMm = 0,
): Outcome<Cuts> {
  const trouble = troubleOfForm(input.mesh, 'trim');
  if (trouble !== undefined) return failed(trouble);
  // The cutter's tolerance is in mm; a power of two changes no digit on the way there and back.
  const power = 2 ** Math.round(Math.log2(mm));
  let mesh = transformMesh(scaling(power), roundToSingle(input.mesh));
  const cut: Cuts['cut'] = [];
  const warnings: Warning[] = [];
  let capped = 0;
  for (const [number, numbers] of planes.entries()) {
    run.step('cut', number, planes.length);
    const plane = planeFrom(numbers, input.fromFile);
    if (!(Math.hypot(...plane.normal) > 0)) {
      return failed(fault('job.usage', { reason: `trim: the normal of plane ${number + 1} is zero.` }));
    }
    const facesBefore = mesh.triangles.length / 3;
    const aside = ((asideMm / mm) * power) / Math.hypot(...plane.normal);
    const point = plane.point.map((x, k) => x * power + aside * plane.normal[k]) as unknown as Vec3;
    const result = cutFlat(mesh, { point, normal: plane.normal }, () => run.step('cut', number, planes.length));
    if (result.mesh.triangles.length === 0) return failed(fault('mesh.all-trimmed', { plane: number + 1 }));
    if (result.loops === 0) {
      warnings.push({
        code: 'trim.missed',
        sentence: `Plane ${number + 1} does not meet the surface, so it cut nothing.`,
      });
    }
    mesh = result.mesh;
    capped += result.cutAreaMm2;
    cut.push({ facesBefore, facesAfter: mesh.triangles.length / 3, loops: result.loops });
  }
  run.step('cut', 1, 1);
  const back = roundToSingle(transformMesh(scaling(1 / power), mesh));
  return done({ mesh: back, cut, cappedAreaMm2: capped * (mm / power) ** 2 }, warnings);
}

/**
 * By how much the planes are moved, mm, until the result is sound: where several cuts nearly meet, their rims come too
 * close for single precision to hold apart, and a few thousandths of a millimetre away they do not.
 */
const ASIDE_MM = [0, 2 ** -8, 2 ** -7, 2 ** -6];

function trimWithFigures(
  input: InputMesh,
  planes: readonly (readonly number[])[],
  run: RunContext,
): Outcome<{ readonly mesh: Mesh; readonly figures: z.output<typeof trimFigures> }> {
  const mm = input.unit === undefined ? guessUnit(boundsOf(input.mesh.positions)).mmPerUnit : 1;
  let reason = '';
  for (const asideMm of ASIDE_MM) {
    const outcome = cutByPlanes(input, planes, mm, run, asideMm);
    if (!outcome.ok) return outcome;
    const { cut, cappedAreaMm2 } = outcome.value;
    let { mesh } = outcome.value;
    let health = examine(mesh, run);
    if (health.selfIntersections > 0 || !health.watertight) {
      // A cut through fine folds can leave slivers that touch: the mender takes them out.
      mesh = untangle(mesh).mesh;
      health = examine(mesh, run);
    }
    if (health.selfIntersections === 0 && health.watertight) {
      return done(
        { mesh, figures: { cut, cappedAreaMm2, health: healthAsFigures(health, input.unit) } },
        outcome.warnings,
      );
    }
    reason = `the cut leaves ${health.selfIntersections} self-intersections and ${health.openEdges} open edges`;
  }
  return failed(fault('mesh.not-sound', { reason, verb: 'the next step' }));
}

export const trimOperation: Operation<typeof trimSpecification> = {
  specification: trimSpecification,
  phases: TRIM_PHASES,
  run: ([input], parameters, run) => {
    const outcome = trimWithFigures(input, parameters.planes, run);
    if (!outcome.ok) return outcome;
    return done({ ...outcome.value, matrix: IDENTITY }, outcome.warnings);
  },
};
