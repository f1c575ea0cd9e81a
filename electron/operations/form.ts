/** The whole ticket in one go: intake has read the scan; mend, trim, stand, true, lighten. */
import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { formSpecification, type formFigures } from '../../shared-types/operations/form.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { Phases, RunContext } from '../../shared-types/progress.ts';
import { examine, guessUnit, HEALTH_PHASE } from '../geometry/mend/health.ts';
import { mend, MEND_PHASES } from '../geometry/mend/mend.ts';
import { untangle } from '../geometry/mend/untangle.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { multiply, scaling, transformMesh } from '../geometry/mesh/transform.ts';
import { LIGHTEN_PHASES } from '../geometry/simplify/lighten.ts';
import { doubledWarnings } from './doubled.ts';
import { healthAsFigures } from './health.ts';
import { lightenWithFigures } from './lighten.ts';
import { reportAsFigures, reskinWarnings } from './mend.ts';
import type { InputMesh, Operation } from './operation.ts';
import { measuresOnMesh, wantedOf, type GivenReadings } from './readings.ts';
import { STAND_PHASES, standWithFigures } from './stand.ts';
import { cutByPlanes } from './trim.ts';
import { trueWithFigures, TRUE_PHASES } from './true.ts';

export const FORM_PHASES: Phases = { mend: 0.55, trim: 0.05, stand: 0.02, true: 0.03, lighten: 0.3, prove: 0.05 };

/** The longest edge of the box round a form lies between these, mm: from a hand to more than a leg. Own judgement. */
const BODY_MM = [60, 1500] as const;

type FormFigures = z.output<typeof formFigures>;

export const formOperation: Operation<typeof formSpecification> = {
  specification: formSpecification,
  phases: FORM_PHASES,
  run: ([input], { recipe }, run) => {
    if (input.mesh.triangles.length === 0) return failed(fault('mesh.no-faces', {}));
    const given: GivenReadings = { spans: recipe.spans, girths: recipe.girths, arcs: recipe.arcs };
    const levels = recipe.levels ?? [];
    if (given.spans.length + given.girths.length + (recipe.arcs?.length ?? 0) + levels.length === 0) {
      return failed(fault('reading.none', {}));
    }
    const guess = guessUnit(boundsOf(input.mesh.positions));
    const mm = input.unit === undefined ? guess.mmPerUnit : 1;
    const warnings: Warning[] = [];
    // (1) Mend
    const mended = mend(input.mesh, { keep: recipe.keep, prove: false }, run.within('mend', MEND_PHASES));
    if (mended.left > 0) {
      return failed(fault('mesh.beyond-mending', { reason: `${mended.left} self-intersections remain` }));
    }
    warnings.push(
      ...reskinWarnings(mended.report, mm),
      ...doubledWarnings(input.mesh, mm, () => run.step('trim', 0, 1)),
    );
    // (2) Trim
    const cuts = cutByPlanes({ ...input, mesh: mended.mesh }, recipe.trim, mm, run.within('trim', { cut: 1 }));
    if (!cuts.ok) return cuts;
    // (3) Stand
    const trimmed: InputMesh = { ...input, mesh: cuts.value.mesh };
    const stood = standWithFigures(trimmed, recipe.landmarks, run.within('stand', STAND_PHASES), recipe.region);
    if (!stood.ok) return stood;
    // (4) True; girths and spans are taken on the untrimmed surface, so that a cut through a tape's path does no harm
    const sized = trueWithFigures(
      mended.mesh,
      given,
      input.fromFile,
      false,
      run.within('true', TRUE_PHASES),
      { landmarks: recipe.landmarks, matrix: stood.value.matrix },
      levels,
    );
    if (!sized.ok) return sized;
    const { factor, standardUncertainty } = sized.value.figures;
    const whole = transformMesh(scaling(factor), stood.value.mesh);
    const matrix = multiply(scaling(factor), stood.value.matrix);
    // (5) Lighten
    const light = lightenWithFigures(whole, { faces: recipe.faces }, run.within('lighten', LIGHTEN_PHASES));
    if (!light.ok) return light;
    // (6) Prove
    let form = light.value.mesh;
    let health = examine(form, run.within('prove', { [HEALTH_PHASE]: 1 }));
    if (health.selfIntersections > 0 || !health.watertight) {
      form = untangle(form).mesh;
      health = examine(form);
      if (health.selfIntersections > 0 || !health.watertight) {
        const reason = `${health.selfIntersections} self-intersections and ${health.openEdges} open edges remain`;
        return failed(fault('mesh.beyond-mending', { reason }));
      }
    }
    const checks = checkOnForm(
      form,
      sized.value.given,
      multiply(matrix, input.fromFile),
      sized.value.figures.residuals,
      standardUncertainty / factor,
      run,
    );
    if (!checks.ok) return checks;
    for (const outcome of [cuts, stood, sized, light]) warnings.push(...outcome.warnings);
    for (const check of checks.value) {
      if (check.role === 'used' && !check.agrees) {
        warnings.push({
          code: 'form.check-differs',
          sentence: `"${check.name}" is ${check.onFormMm.toFixed(1)} mm on the form and ${check.measuredMm.toFixed(1)} mm on the person: ${Math.abs(check.differenceMm).toFixed(1)} mm apart, more than twice the ${check.uTogetherMm.toFixed(1)} mm that both are uncertain by.`,
        });
      }
    }
    const bounds = boundsOf(form.positions);
    const sizeMm = bounds.max.map((x, k) => x - bounds.min[k]);
    const longestMm = Math.max(...sizeMm);
    if (longestMm < BODY_MM[0] || longestMm > BODY_MM[1]) {
      const edges = sizeMm.map((mm) => mm.toFixed(mm < 100 ? 1 : 0)).join(' x ');
      const sentence = `The form is ${edges} mm, which is no size for a head, limb or torso; look whether the readings are in mm and of this wearer.`;
      warnings.push({ code: 'form.odd-size', sentence });
    }
    return done(
      {
        mesh: form,
        matrix,
        figures: {
          mend: {
            assumedMmPerUnit: mm,
            assumedBecause: input.unit === undefined ? guess.reason : `the file states its unit (${input.unit})`,
            // By the size the readings gave, no more by the guess that the cuts and welds were made with.
            ...reportAsFigures(mended.report, factor),
          },
          trim: { cut: cuts.value.cut, cappedAreaMm2: cuts.value.cappedAreaMm2 * (factor / mm) ** 2 },
          stand: stood.value.figures,
          true: sized.value.figures,
          lighten: light.value.figures,
          health: healthAsFigures(health, 'millimetre'),
          checks: checks.value,
          sizeMm,
        },
      },
      warnings,
    );
  },
};

/** Take every reading again on the finished form. */
function checkOnForm(
  form: Mesh,
  given: GivenReadings,
  toForm: Matrix4,
  residuals: FormFigures['true']['residuals'],
  relativeU: number,
  run: RunContext,
): Outcome<FormFigures['checks']> {
  const take = measuresOnMesh(form, toForm, () => run.step('prove', 1, 1));
  const checks: FormFigures['checks'] = [];
  for (const [i, one] of wantedOf(given).entries()) {
    const taken = take(one);
    if (!taken.ok) return taken;
    // What was read on the person less what hair under the tape made of it: the form is the skin.
    const { name, kind, role, uMm, measuredMm } = residuals[i];
    const onFormMm = taken.value.length;
    const differenceMm = onFormMm - measuredMm;
    const uTogetherMm = Math.hypot(uMm, onFormMm * relativeU);
    const agrees = Math.abs(differenceMm) <= 2 * uTogetherMm;
    checks.push({ name, kind, role, onFormMm, measuredMm, uMm, uTogetherMm, differenceMm, agrees });
  }
  return done(checks);
}
