import {
  intakeSpecification,
  poseSpecification,
  prepareSpecification,
  proposeSpecification,
} from '../../../shared-types/operations/desk.ts';
import { done } from '../../../shared-types/outcome.ts';
import { invert, multiply, scaling, transformPoint } from '../../geometry/mesh/transform.ts';
import { findLandmarks } from '../../geometry/register/find-landmarks.ts';
import { proposeBody } from '../../geometry/register/propose-body.ts';
import { MEND_OPERATION_PHASES, mendWithFigures } from '../mend.ts';
import type { Operation } from '../operation.ts';
import { STAND_PHASES, standWithFigures } from '../stand.ts';

export const intakeOperation: Operation<typeof intakeSpecification> = {
  specification: intakeSpecification,
  phases: { read: 1 },
  run: ([input]) => done({ mesh: input.mesh, figures: { faces: input.mesh.triangles.length / 3 } }),
};

export const prepareOperation: Operation<typeof prepareSpecification> = {
  specification: prepareSpecification,
  phases: { mend: 0.85, stand: 0.15 },
  run: ([input], { keep }, run) => {
    const mended = mendWithFigures(input, { keep }, run.within('mend', MEND_OPERATION_PHASES));
    if (!mended.ok) return mended;
    const { mesh, figures } = mended.value;
    const stood = standWithFigures({ ...input, mesh }, {}, run.within('stand', STAND_PHASES));
    if (!stood.ok) return stood;
    const toView = multiply(scaling(figures.assumedMmPerUnit), stood.value.matrix);
    const told = { mend: figures, unit: input.unit ?? null, toView: [...toView] };
    return done({ mesh, figures: { ...told, confidence: stood.value.figures.confidence } }, mended.warnings);
  },
};

export const poseOperation: Operation<typeof poseSpecification> = {
  specification: poseSpecification,
  phases: STAND_PHASES,
  run: ([input], { landmarks, region }, run) => {
    const stood = standWithFigures(input, landmarks, run, region);
    return stood.ok ? done({ figures: stood.value.figures }, stood.warnings) : stood;
  },
};

export const proposeOperation: Operation<typeof proposeSpecification> = {
  specification: proposeSpecification,
  phases: { find: 1 },
  run: ([input], { toView, region, side }, run) => {
    const tick = (): void => run.step('find', 0, 1);
    const found =
      region === 'head'
        ? findLandmarks(input.mesh, toView, tick)?.landmarks
        : proposeBody(input.mesh, region, side, tick);
    const toFile = invert(input.fromFile);
    const landmarks = (found ?? []).map(({ name, point, confidence }) => {
      const [x, y, z] = transformPoint(toFile, point);
      return { name, point: [x, y, z] as [number, number, number], confidence };
    });
    return done({ figures: { landmarks } });
  },
};
