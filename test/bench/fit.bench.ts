/** A helmet on a form of 9,500 faces: ease, place and scale, the quick way of a table, the way off. */
import { donPart } from '../../electron/geometry/fit/don.ts';
import { measureEase } from '../../electron/geometry/fit/ease.ts';
import { scalePart } from '../../electron/geometry/fit/grow.ts';
import { placePart } from '../../electron/geometry/fit/place.ts';
import { fittingBody, wornPart, type FittingBody, type WornPart } from '../../electron/geometry/fit/worn.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { inventHelmet } from '../../electron/invented/helmet.ts';
import { benchTask, type BenchTask } from './harness.ts';

const FORM_FACES = 9_500;
const LEAST_MM = 8;
/** Faces of the helmet go with columns times rows. */
const SIZES = [20_000];

function prepare(faces: number): { part: WornPart; body: FittingBody } {
  const rows = Math.round(Math.sqrt(faces / 8));
  const helmet = inventHelmet({ columns: 2 * rows, rows });
  return { part: wornPart(helmet.mesh), body: fittingBody(inventHead({ seed: 11 }).mesh(FORM_FACES)) };
}

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'fit-ease',
    sizes: SIZES,
    prepare,
    run: ({ part, body }) => ({ leastMm: measureEase(part, body, { placement: IDENTITY }).leastEaseMm }),
  }),
  ...([false, true] as const).map((quick) =>
    benchTask({
      name: quick ? 'fit-place-quick' : 'fit-place',
      sizes: SIZES,
      prepare,
      run: ({ part, body }) => {
        const { leastMm, couldGainMm } = placePart(part, body, { aim: 'least', start: IDENTITY, quick });
        return { leastMm, couldGainMm };
      },
    }),
  ),
  benchTask({
    name: 'fit-scale',
    sizes: SIZES,
    prepare,
    run: ({ part, body }) => {
      const { factor, missMm } = scalePart(part, body, { aim: 'least', start: IDENTITY, leastMm: LEAST_MM });
      return { factor, missMm };
    },
  }),
  benchTask({
    name: 'fit-way-off',
    sizes: SIZES,
    prepare,
    run: ({ part, body }) => {
      const { best, waysTried } = donPart(part, body, { placement: IDENTITY });
      return { tightestMm: best.tightestMm, waysTried };
    },
  }),
];
