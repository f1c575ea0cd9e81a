import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { sightSpecification } from '../../shared-types/operations/sight.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { volumeOf } from '../geometry/mesh/quantities.ts';
import { determinant3, IDENTITY, invert, multiply, transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import { isNoHead } from '../geometry/register/body-regions.ts';
import { buildBvh, type Bvh } from '../geometry/spatial/bvh.ts';
import { buildWinding } from '../geometry/spatial/winding.ts';
import { enclosedAir, openBefore } from '../geometry/sight/breath.ts';
import { findEyes, PUPIL_U_MM, type Eyes } from '../geometry/sight/eyes.ts';
import { fieldOfView, nearestFloor, OUT_STEP_DEG, type EyeField } from '../geometry/sight/field.ts';
import { headLoad } from '../geometry/sight/head-load.ts';
import { findRoom, middleStepMm, regionOf } from '../geometry/sight/room.ts';
import { troubleOfForm } from './line.ts';
import type { Operation } from './operation.ts';
import { troubleOfScale } from './part-size.ts';

const AZIMUTHS_DEG = [-90, -60, -30, 0, 30, 60, 90];
const AHEAD = AZIMUTHS_DEG.indexOf(0);
const FAR_FLOOR_MM = 10_000;
/** Who sees the floor ahead only from three steps away on has no time to find a foothold, mm. Own judgement, no source. */
const STEPS_SEEN_MM = 2_500;
/** Cells the air is counted in, mm: a few cubic centimetres more or less. */
const AIR_CELL_MM = 8;
/** Before the lips: so far under the Frankfurt plane, and so far before the skin, mm. Common practice, no source. */
const MOUTH_BELOW_MM = 55;
const BEFORE_LIPS_MM = 5;
/** How far in front of the eyes an edge usually lies, for what the pupil's place does to a limit, mm. */
const USUAL_EDGE_MM = 40;

const GUIDANCE = [
  'A costume part is no protective equipment; these figures show nothing of the kind.',
  'Sight: bicycle helmets must leave at least 105 degrees to each side of the middle (16 CFR 1203.12(a)). One eye alone sees about 60 degrees toward the nose, 107 outward, 70 up and 80 down (Spector 1990, after Rönne and Traquair). On stairs, in the dark and among people a wearer with less needs a guide.',
  'Breath: openness and enclosed air say nothing about what may be breathed. Mouth and nose need open ways in and out; try it beside someone who can take the part off, and take it off at the first discomfort.',
  'Mass: an Army aviation guide names 2.5 kg and 82.8 N·cm about the joint of skull and neck (from memory); a study of soldiers on foot takes 134 N·cm as a preliminary threshold (Madison et al. 2023). Headsets of half a kilogram become uncomfortable well within two hours for many (Odell and Dorbala 2024).',
  'Heat: a covered head cannot cool itself; rest, drink, and take it off between scenes. Local rules and licensed practice come before all of this.',
];

export const sightOperation: Operation<typeof sightSpecification> = {
  specification: sightSpecification,
  phases: { prepare: 0.1, look: 0.3, breathe: 0.4, room: 0.2 },
  run: ([given, form], parameters, run) => {
    const trouble = troubleOfForm(form.mesh, 'sight');
    if (trouble !== undefined) return failed(trouble);
    const placed = inPlace(given.mesh, given.fromFile, form.fromFile, parameters.placement?.placement);
    if (!placed.ok) return placed;
    const part = placed.value;
    const outOfScale = troubleOfScale(part, form.mesh);
    if (outOfScale !== undefined) return failed(outOfScale);
    const preparing = (): void => run.step('prepare', 0, 1);
    const partTree = buildBvh(part, preparing);
    const formTree = buildBvh(form.mesh, preparing);
    const formWinding = buildWinding(form.mesh, formTree, preparing);
    const told = eyesOf(parameters.eyes, form.fromFile);
    const eyes = told ?? (isNoHead(form.mesh.positions) ? undefined : findEyes(formTree));
    if (eyes !== undefined && !(eyes.left[1] > eyes.right[1])) {
      const reason = "sight: the left pupil must lie on the wearer's left (+y) of the right one; exchange the two.";
      return failed(fault('job.usage', { reason }));
    }
    if (eyes === undefined) {
      const reason =
        'sight: there is no face where the eyes should be; give an upright head form, or the pupils with --eyes.';
      return failed(fault('job.usage', { reason }));
    }
    const twins = findTwins(part.triangles, part.positions.length / 3);
    const closed = twins.openEdges + twins.nonManifoldEdges + twins.flippedEdges === 0 && volumeOf(part) > 0;
    run.step('prepare', 1, 1);
    const looking = (): void => run.step('look', 0, 1);
    const field = fieldOfView(partTree, eyes, looking);
    const floor = nearestFloor(field, parameters.eyeHeightMm, AZIMUTHS_DEG, FAR_FLOOR_MM);
    run.step('look', 1, 1);
    const breathing = (): void => run.step('breathe', 0, 1);
    const mouth: Vec3 = [(eyes.left[0] + eyes.right[0]) / 2 + BEFORE_LIPS_MM, 0, -MOUTH_BELOW_MM];
    const open = openBefore(partTree, lipsOf(formTree, mouth), breathing);
    const worn = closed
      ? { mesh: part, tree: partTree, winding: buildWinding(part, partTree, preparing) }
      : { mesh: part, tree: partTree };
    const body = { mesh: form.mesh, tree: formTree, winding: formWinding };
    const air = enclosedAir(worn, body, AIR_CELL_MM, breathing);
    run.step('breathe', 1, 1);
    const load = headLoad(part, closed, parameters.wallMm, parameters.densityGCm3);
    const toFile = invert(form.fromFile);
    const out = (p: Vec3): number[] => [...transformPoint(toFile, p)];
    const warnings: Warning[] = [];
    let room = null;
    if (parameters.thing !== undefined) {
      const [length, breadth, height] = parameters.thing;
      const region = regionFor(parameters.within, part);
      const found = findRoom([length, breadth, height], region, worn, body, parameters.clearanceMm, () =>
        run.step('room', 0, 1),
      );
      if (found === undefined) {
        const sentence = `No place was found for a thing of ${length} x ${breadth} x ${height} mm with ${parameters.clearanceMm} mm round it (places tried stand ${middleStepMm(region).toFixed(0)} mm apart).`;
        warnings.push({ code: 'sight.no-room', sentence });
      } else {
        const turned = found.axes.map((axis) => {
          const from = out([0, 0, 0]);
          return out(axis).map((x, k) => x - from[k]);
        });
        room = { centre: out(found.centre), axes: turned, clearanceMm: found.clearanceMm };
      }
    }
    run.step('room', 1, 1);
    if (eyes.guessed) {
      const sentence = 'The pupils were guessed from the form (3 mm more or less).';
      warnings.push({ code: 'sight.eyes-guessed', sentence });
    }
    const eye = (one: EyeField, at: Vec3) => ({
      at: out(at),
      clearDeg: [...one.clearDeg],
      naturalDeg: [...one.naturalDeg],
      share: one.share,
    });
    const pupilDeg = (Math.atan(PUPIL_U_MM / USUAL_EDGE_MM) * 180) / Math.PI;
    return done(
      {
        figures: {
          left: eye(field.left, eyes.left),
          right: eye(field.right, eyes.right),
          eyesGuessed: eyes.guessed,
          limitUDeg: Math.hypot(eyes.guessed ? pupilDeg : 0, OUT_STEP_DEG / Math.sqrt(12)),
          limitsDeg: field.limitsDeg,
          eitherShare: field.eitherShare,
          bothShare: field.bothShare,
          floor: AZIMUTHS_DEG.map((azimuthDeg, i) => ({ azimuthDeg, nearestMm: floor[i] ?? null })),
          mouthOpenShare: open.share,
          mouthOpenAreaMm2: open.areaMm2,
          enclosedAirMm3: air,
          massG: load.massG,
          massIsOf: closed ? ('solid' as const) : ('sheet' as const),
          centreForwardMm: load.centre[0],
          momentNCm: load.momentNCm,
          roomFor:
            parameters.thing === undefined
              ? null
              : { sizeMm: [...parameters.thing], within: parameters.within, clearanceMm: parameters.clearanceMm },
          room,
          guidance: [...cautionOfFloor(floor[AHEAD]), ...GUIDANCE],
        },
      },
      warnings,
    );
  },
};

/** Nothing to say where the floor is seen from near the feet on. */
function cautionOfFloor(nearestMm: number | undefined): string[] {
  if (nearestMm !== undefined && nearestMm <= STEPS_SEEN_MM) return [];
  const seen =
    nearestMm === undefined
      ? `No floor is seen ahead within ${FAR_FLOOR_MM / 1000} m`
      : `No floor is seen ahead nearer than ${(nearestMm / 1000).toFixed(1)} m`;
  return [
    `${seen}, so no step, kerb or cable is seen before the foot is on it: look whether the part sits as it is worn, open it downward, or let nobody walk in it without a guide.`,
  ];
}

const LAST_ROW = [0, 0, 0, 1];

/** The part in the form's frame. The placement leads from the part file's coordinates to the form file's. */
function inPlace(
  part: Mesh,
  partFromFile: Matrix4,
  formFromFile: Matrix4,
  placement: readonly number[] = IDENTITY,
): Outcome<Mesh> {
  if (placement.slice(12).some((x, k) => x !== LAST_ROW[k])) {
    const reason = 'sight: the last four numbers of a placement are 0, 0, 0, 1; these may stand column by column.';
    return failed(fault('job.usage', { reason }));
  }
  const way = multiply(formFromFile, multiply(placement as unknown as Matrix4, invert(partFromFile)));
  // A mirrored part is worn as well as any other: its faces are turned with it.
  if (determinant3(way) === 0) {
    return failed(fault('job.usage', { reason: 'sight: the placement presses the part flat.' }));
  }
  return done(transformMesh(way, part));
}

function eyesOf(given: z.output<typeof sightSpecification.parameters>['eyes'], fromFile: Matrix4): Eyes | undefined {
  if (given === undefined) return undefined;
  const at = ([x, y, z]: readonly number[]): Vec3 => transformPoint(fromFile, [x, y, z]);
  return { left: at(given.left), right: at(given.right), guessed: false };
}

/** Just before the lips: where a level ray from the front meets the face. */
function lipsOf(form: Bvh, usual: Vec3): Vec3 {
  const lips = findEyes(form, 0, usual[2]);
  return lips === undefined ? usual : [lips.left[0] + 2 * BEFORE_LIPS_MM, 0, usual[2]];
}

function regionFor(within: 'anywhere' | 'brow' | 'face' | 'back', part: Mesh): { min: Vec3; max: Vec3 } {
  const { min, max } = regionOf(part);
  const low: [number, number, number] = [min[0], min[1], min[2]];
  const high: [number, number, number] = [max[0], max[1], max[2]];
  if (within === 'brow') [low[0], low[2], high[2]] = [Math.max(low[0], 0), 25, Math.min(high[2], 110)];
  if (within === 'face') [low[0], high[2]] = [Math.max(low[0], 0), Math.min(high[2], 25)];
  if (within === 'back') high[0] = Math.min(high[0], 0);
  return { min: low, max: high };
}
