import type { z } from 'zod';
import { shellSpecification } from '../../shared-types/operations/shell.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { some } from '../../shared-types/counts.ts';
import { areaOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, invert } from '../geometry/mesh/transform.ts';
import { hollow, HOLLOW_PHASES } from '../geometry/offset/hollow.ts';
import type { Opening } from '../geometry/offset/openings.ts';
import { openingsFrom, troubleOfForm } from './line-wishes.ts';
import {
  faultOfOpenings,
  faultOfProof,
  idleWarnings,
  missFigures,
  missWarnings,
  strayWarnings,
  wallFigures,
  wallWarnings,
} from './offset-told.ts';
import type { InputMesh, Operation } from './operation.ts';

/** Thicker than so many walls is told: there the solid was too thin to be hollow, or comes to a point. */
const FULL = 2;

type ShellParameters = z.output<typeof shellSpecification.parameters>;

/** The openings wanted of a solid, or why it cannot be made hollow. */
export function shellWishes(
  { mesh, fromFile }: InputMesh,
  { opening }: Pick<ShellParameters, 'opening'>,
): Outcome<readonly Opening[]> {
  const trouble = troubleOfForm(mesh, 'shell');
  return trouble === undefined ? openingsFrom(opening, { mesh, fromFile }, 'shell') : failed(trouble);
}

export const shellOperation: Operation<typeof shellSpecification> = {
  specification: shellSpecification,
  phases: HOLLOW_PHASES,
  run: ([input], parameters, run) => {
    const { wallMm, toleranceMm } = parameters;
    const wishes = shellWishes(input, parameters);
    if (!wishes.ok) return wishes;
    const openings = wishes.value;
    const made = hollow(input.mesh, { wallMm, toleranceMm, openings }, run);
    if (made === 'void') return failed(fault('shell.void', {}));
    if (made === 'solid') return failed(fault('shell.solid', { wallMm }));
    if (made === 'crosses') {
      return failed(fault('mesh.not-sound', { reason: 'its faces pass through one another', verb: 'shell' }));
    }
    if (typeof made === 'string') return failed(faultOfOpenings(made, 'shell', openings.length));
    const { mesh, evidence, wall } = made;
    const unsound = faultOfProof(made, 'shell');
    if (unsound !== undefined) return failed(unsound);
    const toFile = invert(input.fromFile);
    const warnings: Warning[] = [
      ...wallWarnings(wall, wallMm, toleranceMm, toFile),
      ...missWarnings(evidence, toleranceMm, 'shell', toFile),
      ...idleWarnings(made.reaches, 'shell'),
      ...strayWarnings(made.openings),
    ];
    if (wall.maxMm > FULL * wallMm) {
      warnings.push({
        code: 'shell.full',
        sentence: `In places it is full up to ${wall.maxMm.toFixed(1)} mm deep: the solid is too thin there to be hollow, or comes to a point.`,
      });
    }
    if (made.filled > 0) {
      warnings.push({
        code: 'shell.filled',
        sentence: `${some(made.filled, 'hollow')} that no opening reaches, together ${(made.filledMm3 / 1000).toFixed(1)} cm³, ${made.filled === 1 ? 'was' : 'were'} left full: what gets in there comes out no more.`,
      });
    }
    if (!made.reaches.includes(true)) {
      warnings.push({
        code: 'shell.shut',
        sentence: 'The hollow is shut: liquid resin or powder would stay in it. Give an opening to print it so.',
      });
    }
    return done(
      {
        mesh,
        matrix: IDENTITY,
        figures: {
          faces: mesh.triangles.length / 3,
          vertices: mesh.positions.length / 3,
          ...wallFigures(wall, toFile),
          ...missFigures(evidence, toFile),
          watertight: true,
          selfIntersections: 0,
          volumeMm3: volumeOf(mesh),
          hollowMm3: made.hollowMm3,
          areaMm2: areaOf(mesh),
          hollows: made.hollows,
          filled: made.filled,
          filledMm3: made.filledMm3,
          openings: [...made.openings],
        },
      },
      warnings,
    );
  },
};
