/**
 * The liner at 8 mm of a head, making and measuring apart; the same by the level set of a solid-modelling library
 * (manifold-3d), which is given our distance and a cell that lets it come as near as it can in some seconds; a preview.
 */
import Module from 'manifold-3d';
import type { Mesh } from '../../shared-types/mesh.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import { makeLiner } from '../../electron/geometry/offset/liner.ts';
import { measureOffset, type OffsetEvidence } from '../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../electron/geometry/offset/offset-surface.ts';
import { previewOffset } from '../../electron/geometry/offset/preview.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { BODIES, LINER_BARS } from './bodies.ts';
import { benchTask, most, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const FOAM_MM = 8;
const TOLERANCE_MM = 0.1;
/** Cell of the other library's grid, mm. */
const THEIR_CELL_MM = 2.5;
const SIZES = [10_000, 53_000, 250_000, 1_000_000];

type Triple = [number, number, number];

/** Faces of the bodies liners are compared on. */
const BODY_FACES = 53_000;

/** Of a scan with 0.3 mm of noise left on it: every vertex is a bump or a pit, 60,000 faces cannot follow them to 0.01 mm. */
const ROUGH = { maxMm: LINER_BARS.maxMm, missingMaxMm: LINER_BARS.missingMaxMm, selfIntersections: 0 };
const MAKE_SECONDS = 1.5;

function missesOf(field: SignedField, liner: Mesh): Record<string, number> {
  return told(liner, measureOffset(field, FOAM_MM, liner, QUIET_RUN));
}

function told(liner: Mesh, evidence: OffsetEvidence): Record<string, number> {
  return {
    faces: liner.triangles.length / 3,
    maxMm: evidence.maxAbsErrorMm,
    p99Mm: evidence.p99AbsErrorMm,
    meanMm: evidence.meanAbsErrorMm,
    missingMaxMm: evidence.missingMaxMm,
  };
}

/** A liner as it is made of a body, its evidence with it; made again where it misses by much. */
function linerTask(name: string, of: (faces: number) => Mesh, foamMm: number, toleranceMm: number): BenchTask {
  const bars = name.startsWith('noisy') ? ROUGH : { ...LINER_BARS, selfIntersections: 0 };
  return benchTask({
    name: `liner-${name}-${foamMm}-mm-within-${toleranceMm}`,
    sizes: [BODY_FACES],
    ...(foamMm === FOAM_MM && toleranceMm === TOLERANCE_MM ? { bars: { [BODY_FACES]: most(bars) } } : {}),
    prepare: of,
    run: (mesh) => {
      const made = makeLiner(mesh, { foamMm, toleranceMm, openings: [] }, QUIET_RUN);
      if (typeof made === 'string') throw new Error(made);
      return { selfIntersections: made.selfIntersections, ...told(made.surface.mesh, made.evidence) };
    },
  });
}

export const tasks: readonly BenchTask[] = [
  ...Object.entries(BODIES).map(([name, of]) => linerTask(name, of, FOAM_MM, TOLERANCE_MM)),
  ...[3, 20].map((foamMm) => linerTask('eared-head', BODIES['eared-head'], foamMm, TOLERANCE_MM)),
  ...[0.05, 0.3].map((toleranceMm) => linerTask('head', headOf, FOAM_MM, toleranceMm)),
  benchTask({
    name: 'line-8-mm-make',
    sizes: SIZES,
    bars: { 53_000: most({ cpuSeconds: MAKE_SECONDS, faces: LINER_BARS.faces, selfIntersections: 0 }) },
    prepare: headOf,
    run: (mesh) => {
      const made = offsetSurface(new SignedField(mesh), FOAM_MM, TOLERANCE_MM, QUIET_RUN);
      return { faces: (made?.mesh.triangles.length ?? 0) / 3, selfIntersections: made?.selfIntersections ?? -1 };
    },
  }),
  benchTask({
    name: 'line-8-mm-make-and-measure',
    sizes: SIZES,
    bars: { 53_000: most(LINER_BARS) },
    prepare: headOf,
    run: (mesh) => {
      const field = new SignedField(mesh);
      const made = offsetSurface(field, FOAM_MM, TOLERANCE_MM, QUIET_RUN);
      if (made === undefined) return {};
      return missesOf(field, made.mesh);
    },
  }),
  benchTask({
    name: 'line-8-mm-by-another-library',
    sizes: [53_000],
    prepare: async (size) => {
      const library = await Module();
      library.setup();
      return { library, mesh: headOf(size) };
    },
    run: ({ library, mesh }) => {
      const field = new SignedField(mesh);
      const { min, max } = boundsOf(mesh.positions);
      const wide = FOAM_MM + 2 * THEIR_CELL_MM;
      const box = { min: min.map((x) => x - wide) as Triple, max: max.map((x) => x + wide) as Triple };
      const distance = ([x, y, z]: Triple): number => FOAM_MM - field.at(x, y, z);
      const solid = library.Manifold.levelSet(distance, box, THEIR_CELL_MM, 0, TOLERANCE_MM / 10);
      const { vertProperties, triVerts, numProp } = solid.getMesh();
      const positions = new Float64Array((vertProperties.length / numProp) * 3);
      for (let v = 0; v < positions.length; v++) {
        positions[v] = vertProperties[Math.floor(v / 3) * numProp + (v % 3)];
      }
      solid.delete();
      return missesOf(field, { positions, triangles: Uint32Array.from(triVerts) });
    },
  }),
  benchTask({
    name: 'line-8-mm-preview',
    sizes: [5_000, 9_500],
    prepare: headOf,
    run: (mesh) => ({ faces: previewOffset(mesh, FOAM_MM, QUIET_RUN).triangles.length / 3 }),
  }),
];
