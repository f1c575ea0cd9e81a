/** Lightening and the measurement of deviation; a general-purpose simplifier on the same head, measured by us. */
import { MeshoptSimplifier } from 'meshoptimizer';
import { deviationOneSided, measureDeviation } from '../../electron/geometry/measure/deviation.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { lighten } from '../../electron/geometry/simplify/lighten.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { benchTask, most, type BenchFigures, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const FACES = 10_000;
const WITHIN_MM = 0.5;
const SIZES = [53_000, 250_000, 1_000_000];

function figuresOf(mesh: Mesh, goal: Parameters<typeof lighten>[1]): BenchFigures {
  const outcome = lighten(mesh, goal);
  if (!outcome.ok) throw new Error(outcome.fault.code);
  const { mesh: light, deviation, selfIntersections, attempts } = outcome.value;
  return {
    faces: light.triangles.length / 3,
    maxMm: deviation.maxMm,
    thereMaxMm: deviation.there.maxMm,
    backMaxMm: deviation.back.maxMm,
    meanMm: deviation.meanMm,
    p99Mm: deviation.p99Mm,
    selfIntersections,
    attempts,
  };
}

export const tasks: readonly BenchTask[] = [
  benchTask({
    // With its proof and its measurement both ways.
    name: 'lighten-to-10000',
    sizes: SIZES,
    bars: { 1_000_000: most({ cpuSeconds: 3, maxMm: 0.5, meanMm: 0.035, selfIntersections: 0 }) },
    prepare: headOf,
    run: (mesh) => figuresOf(mesh, { faces: FACES }),
  }),
  benchTask({
    // An invented head with ears, neck and shoulders: folds, and more than twice the surface.
    name: 'lighten-eared-to-10000',
    sizes: SIZES,
    prepare: (size) => inventHead({ seed: 7 }).mesh(size),
    run: (mesh) => figuresOf(mesh, { faces: FACES }),
  }),
  benchTask({
    // The simplification alone; its deviation is measured once, outside the time of the later runs.
    name: 'lighten-to-10000-peer',
    sizes: SIZES,
    prepare: async (size) => {
      await MeshoptSimplifier.ready;
      const mesh = headOf(size);
      return {
        mesh,
        single: Float32Array.from(mesh.positions),
        measured: { done: false, figures: {} as BenchFigures },
      };
    },
    run: ({ mesh, single, measured }) => {
      const [indices] = MeshoptSimplifier.simplify(mesh.triangles, single, 3, FACES * 3, 1e9);
      if (!measured.done) {
        const { maxMm, meanMm, p99Mm } = measureDeviation(mesh, {
          positions: mesh.positions,
          triangles: Uint32Array.from(indices),
        });
        measured.figures = { faces: indices.length / 3, maxMm, meanMm, p99Mm };
        measured.done = true;
      }
      return measured.figures;
    },
  }),
  benchTask({
    name: 'lighten-within-half-a-mm',
    sizes: [53_000, 250_000],
    prepare: headOf,
    run: (mesh) => figuresOf(mesh, { withinMm: WITHIN_MM }),
  }),
  benchTask({
    name: 'deviation-to-10000-faces',
    sizes: SIZES,
    prepare: (size) => ({ dense: headOf(size), coarse: headOf(FACES) }),
    run: ({ dense, coarse }) => {
      const { maxMm, meanMm, maxBoundMm, samples } = deviationOneSided(dense, coarse);
      return { maxMm, maxBoundMm, meanMm, samples };
    },
  }),
];
