/** Liners with wishes beyond a plain thickness, as they are made; and as they are shown while a slider moves. */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { makeLiner, type LinerWishes } from '../../electron/geometry/offset/liner.ts';
import { buildBvh, castRay, type RayHit } from '../../electron/geometry/spatial/bvh.ts';
import { linerPreviewOperation } from '../../electron/operations/desk/liner-preview.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { BODIES, LINER_BARS } from './bodies.ts';
import { benchTask, most, type BenchTask } from './harness.ts';

const FOAM_MM = 8;
const TOLERANCE_MM = 0.1;
/** Faces of a form as it leaves its ticket, and of one not lightened. */
const FORM_FACES = 9_500;
const BODY_FACES = 53_000;
/** As of a plain liner (issue 6); on larger bodies of the wishes that hold it. */
const SOUND = { ...LINER_BARS, selfIntersections: 0, troubles: 0 };
const HELD_LARGER = ['zones-keep-out-wall', 'cleared-way', 'drawn-opening', 'drawn-round-the-nose'];
/** Of a preview behind a slider (issue 6). */
const PREVIEW_SECONDS = 0.2;

/** An ellipse on an upright head, drawn on it as seen from in front: half its width, half its height, and how high. */
function frontCurve(mesh: Mesh, wide: number, high: number, at: number): readonly Vec3[] {
  const tree = buildBvh(mesh);
  const hit: RayHit = { face: -1, t: 0 };
  return Array.from({ length: 16 }, (_, i): Vec3 => {
    const turn = (2 * Math.PI * i) / 16;
    const [y, z] = [wide * Math.cos(turn), high * Math.sin(turn) + at];
    castRay(tree, 200, y, z, -1, 0, 0, hit);
    return [200 - hit.t, y, z];
  });
}

const FULL: Partial<LinerWishes> = {
  wallMm: 3,
  zones: [
    {
      name: 'crown',
      region: { kind: 'spots', centres: [[0, 0, 130]], radiusMm: 60 },
      thicknessMm: 12,
      blendMm: 20,
    },
  ],
  keepOuts: [
    {
      name: 'fan',
      clearanceMm: 2,
      shape: { kind: 'box', min: [85, -20, 60], max: [140, 20, 100] },
    },
  ],
};
const NECK: LinerWishes['openings'] = [{ kind: 'plane', plane: { point: [0, 0, -100], normal: [0, 0, 1] } }];
const UPWARD: Vec3 = [0, 0, -1];

/** Wishes beyond a plain thickness, on a head's form with ears. */
const WISHES: Readonly<Record<string, (mesh: Mesh) => Partial<LinerWishes>>> = {
  'bridged-12': () => ({ bridgeMm: 12 }),
  'bridged-zones-wall': () => ({ bridgeMm: 12, wallMm: 3, zones: FULL.zones }),
  'zones-keep-out-wall': () => FULL,
  'cleared-way': () => ({ openings: NECK, donning: UPWARD, isCleared: true, giveMm: 2 }),
  'drawn-opening': (mesh) => ({
    wallMm: 3,
    openings: [{ kind: 'curve', points: frontCurve(mesh, 42, 58, -45), away: undefined }],
  }),
  'drawn-round-the-nose': (mesh) => ({
    wallMm: 3,
    openings: [{ kind: 'curve', points: frontCurve(mesh, 14, 14, -30), away: undefined }],
  }),
};

const LOW = { plane: [0, 0, -95, 0, 0, 1] };
const WAY_IN = { donning: UPWARD, giveMm: 3, opening: LOW };
/** What the liner desk shows while a slider moves, by the parameters of `line`. */
const LOOKED_AT: Readonly<Record<string, object>> = {
  'way-in': WAY_IN,
  bridged: { bridgeMm: 12, wallMm: 3, opening: LOW },
  'bridged-way-in': { bridgeMm: 12, wallMm: 3, ...WAY_IN },
  'bridged-cleared': { bridgeMm: 12, wallMm: 3, clear: true, ...WAY_IN },
};

export const tasks: readonly BenchTask[] = [
  ...Object.entries(WISHES).map(([name, wishes]) =>
    benchTask({
      name: `liner-${name}`,
      sizes: [FORM_FACES, BODY_FACES],
      bars: { [FORM_FACES]: most(SOUND), ...(HELD_LARGER.includes(name) ? { [BODY_FACES]: most(SOUND) } : {}) },
      prepare: (faces) => {
        const mesh = BODIES['eared-head'](faces);
        return { mesh, wished: { foamMm: FOAM_MM, toleranceMm: TOLERANCE_MM, openings: [], ...wishes(mesh) } };
      },
      run: ({ mesh, wished }) => {
        const made = makeLiner(mesh, wished, QUIET_RUN);
        if (typeof made === 'string') throw new Error(made);
        const { evidence, selfIntersections, troubles } = made;
        return {
          faces: made.surface.mesh.triangles.length / 3,
          maxMm: evidence.maxAbsErrorMm,
          p99Mm: evidence.p99AbsErrorMm,
          meanMm: evidence.meanAbsErrorMm,
          missingMaxMm: evidence.missingMaxMm,
          selfIntersections,
          troubles,
          ...(made.openings.length === 0 ? {} : { rimOffLineMm: made.openings[0].offLineMm ?? 0 }),
        };
      },
    }),
  ),
  ...Object.entries(LOOKED_AT).map(([name, parameters]) =>
    benchTask({
      name: `liner-preview-${name}`,
      sizes: [FORM_FACES],
      bars: { [FORM_FACES]: most({ cpuSeconds: PREVIEW_SECONDS }) },
      prepare: (faces) => ({ mesh: BODIES['eared-head'](faces), name: 'form', fromFile: IDENTITY }) as const,
      run: (form) => {
        const seen = runOperation(linerPreviewOperation as unknown as Operation, [form], {
          foamMm: FOAM_MM,
          ...parameters,
        });
        return { faces: seen.ok ? (seen.value.mesh?.triangles.length ?? 0) / 3 : 0 };
      },
    }),
  ),
];
