/** A part tried on a form. */
import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import { fitSpecification, type fitFigures } from '../../shared-types/operations/fit.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import type { Phases, RunContext } from '../../shared-types/progress.ts';
import { DON_PHASES, donPart, type Donning, type Way } from '../geometry/fit/don.ts';
import { easeColours } from '../geometry/fit/ease-colours.ts';
import { EASE_PHASES, measureEase, type Pinch } from '../geometry/fit/ease.ts';
import { growPlaced, SCALE_PHASES, type Scaled } from '../geometry/fit/grow.ts';
import type { PlacingLimits } from '../geometry/fit/most-room.ts';
import { facesIn, PLACE_PHASES, placePart, type Placed, type PlaceWish } from '../geometry/fit/place.ts';
import { apart, factorOf } from '../geometry/fit/pose.ts';
import { mirrorPlane, snapped } from '../geometry/fit/symmetry.ts';
import { fittingBody, wornPart, type FittingBody, type WornPart } from '../geometry/fit/worn.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, invert, multiply, transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import { troubleOfForm } from './line.ts';
import type { InputMesh, Operation } from './operation.ts';
import { sizedPart, troubleOfScale, type SizedPart } from './part-size.ts';

type FitParameters = z.output<typeof fitSpecification.parameters>;
type FitFigures = z.output<typeof fitFigures>;

const DEGREE = Math.PI / 180;
/** Limits so wide that they are none. */
const FREE: PlacingLimits = { shiftMm: 1000, tiltRad: Math.PI };
/** Another orientation that fits so nearly as well is worth a look. */
const NEARLY_AS_WELL = 0.85;
/** A part that mirrors itself no better than this has no plane to speak of, mm. Own judgement. */
const MIRROR_MISS_MM = 3;
/**
 * A part that mirrors itself this well, and starts no farther than this off a head's middle plane, is worn straight
 * unless it is set free: leaning wins a millimetre of room at most, and nobody wears it so. Own judgement, no source.
 */
const STRAIGHT = { missMm: 1, shiftMm: 15, turnRad: (12 * Math.PI) / 180 } as const;

/**
 * A part that its file puts round a head without touching it, and no farther than this from where the ease is most
 * even, is taken as worn so. Own judgement, no source.
 */
const WORN = { shiftMm: 40, turnRad: (30 * Math.PI) / 180 } as const;

export const fitOperation: Operation<typeof fitSpecification> = {
  specification: fitSpecification,
  phases: { prepare: 0.1, solve: 0.5, ease: 0.2, donning: 0.2 },
  run: ([part, form], parameters, run) => {
    const trouble = troubleOfForm(form.mesh, 'fit');
    if (trouble !== undefined) return failed(trouble);
    const { solve } = parameters;
    if ((solve === 'scale' || solve === 'either') && parameters.leastMm === undefined) {
      const reason = `fit: --solve ${solve} needs --least MM: the ease that must be left.`;
      return failed(fault('job.usage', { reason }));
    }
    const sized = sizedPart(part, form, parameters);
    if (!sized.ok) return sized;
    const outOfScale = troubleOfScale(sized.value.mesh, form.mesh);
    if (outOfScale !== undefined) return failed(outOfScale);
    const warnings: Warning[] = [...sized.warnings];
    const tick = (): void => run.step('prepare', 0.5, 1);
    const body = fittingBody(form.mesh, tick);
    const worn = wornPart(sized.value.mesh, tick);
    const neededMm = parameters.foamMm * (1 - parameters.compression) + (parameters.leastMm ?? 0);
    const put = placedBy(worn, body, sized.value, part, parameters, neededMm, run, warnings);
    if (put === undefined) return failed(fault('fit.empty-patch', {}));
    const { placement, solved } = put;
    const report = put.report ?? measureEase(worn, body, { placement, neededMm }, run.within('ease', EASE_PHASES));
    const toFormFile = invert(form.fromFile);
    const inFile = (at: Vec3): [number, number, number] =>
      [...transformPoint(toFormFile, at)] as [number, number, number];
    const scale = factorOf(placement);
    const whole = multiply(placement, sized.value.ownMatrix);
    const donning = parameters.donning ? donningOf(worn, body, placement, form, parameters, run) : undefined;
    const { min, max } = boundsOf(worn.mesh.positions);
    const before: [number, number, number] = [max[0] - min[0], max[1] - min[1], max[2] - min[2]];
    const after: [number, number, number] = [scale * before[0], scale * before[1], scale * before[2]];
    const knownMm = sized.value.known.map(({ name, mm }) => ({ name, before: mm, after: scale * mm }));
    const pinches = report.pinches.map((pinch) => ({
      ...pinch,
      at: inFile(pinch.at),
      sentence: pinchSentence(pinch, neededMm),
    }));
    const betweenFiles = (way: Matrix4): number[] => [...multiply(multiply(toFormFile, way), part.fromFile)];
    const figures: FitFigures = {
      placement: betweenFiles(whole),
      scale,
      leastEaseMm: report.leastEaseMm,
      meanEaseMm: report.meanEaseMm,
      medianEaseMm: report.medianEaseMm,
      unevenMm: report.unevenMm,
      at: inFile(report.at),
      region: report.region,
      neededMm,
      pinches,
      regions: [...report.regions],
      histogram: [...report.histogram],
      insideShare: report.insideShare,
      innerAreaMm2: report.innerAreaMm2,
      samples: report.samples,
      body: report.body === null ? null : { ...report.body, at: inFile(report.body.at) },
      trueSize: sized.value.trueSize,
      outsideMm: { before, after },
      knownMm,
      solved:
        solved === undefined
          ? null
          : {
              aim: parameters.even ? 'even' : 'least',
              leastMm: solved.leastMm,
              holds: solved.holds.map((hold) => ({ ...hold, at: inFile(hold.at) })),
              heldByLimit: [...solved.heldByLimit],
              couldGainMm: solved.couldGainMm,
              triedMm: solved.triedMm,
              starts: solved.starts,
              agreeing: solved.agreeing,
              reached: !isScaled(solved) || solved.reached,
            },
      ownSize:
        put.ownSize === undefined
          ? null
          : { ...put.ownSize, placement: betweenFiles(multiply(put.ownSize.placement, sized.value.ownMatrix)) },
      mirrorPlaneMissMm: put.mirrorMissMm ?? null,
      donning:
        donning === undefined
          ? null
          : {
              neededMm: neededOnWay(parameters),
              straight: wayInFile(donning.straight, toFormFile),
              best: wayInFile(donning.best, toFormFile),
              partings: donning.partings.map((parting) => ({
                ...parting,
                plane: planeInFile(parting.plane, toFormFile),
              })),
              waysTried: donning.waysTried,
              sentence: donningSentence(donning),
            },
      sentences: sentencesOf(
        report,
        neededMm,
        solved,
        solved !== undefined && !parameters.snap && put.mirrorMissMm !== undefined,
        knownMm,
        before,
        after,
        pinches.map(({ sentence }) => sentence),
      ),
    };
    const mesh = { ...transformMesh(placement, worn.mesh), colours: easeColours(report.perVertexMm, neededMm) };
    return done({ mesh, matrix: whole, figures }, warnings);
  },
};

const isScaled = (solved: Placed | Scaled): solved is Scaled => 'factor' in solved;

export interface Put {
  readonly placement: Matrix4;
  readonly solved?: Placed | Scaled;
  readonly mirrorMissMm?: number;
  /** The ease there, where it was taken already. */
  readonly report?: ReturnType<typeof measureEase>;
  /** The best place at the part's own size, where a scale was asked for. */
  readonly ownSize?: { readonly placement: Matrix4; readonly leastEaseMm: number; readonly meanEaseMm: number };
}

/**
 * Where the part goes: where it was put, its best place, or that at the scale asked for; `inShort` takes the ease at
 * its own size without maps. Undefined where a patch is to count that has nothing of the part. Phases: prepare, solve.
 */
export function placedBy(
  worn: WornPart,
  body: FittingBody,
  sized: SizedPart,
  part: InputMesh,
  parameters: FitParameters,
  neededMm: number,
  run: RunContext,
  warnings: Warning[],
  inShort = false,
): Put | undefined {
  let { start } = sized;
  let mirrorMissMm: number | undefined;
  if (parameters.snap) {
    const at = start ?? IDENTITY;
    const plane = mirrorPlane(worn, [at[4], at[5], at[6]], () => run.step('prepare', 1, 1));
    mirrorMissMm = plane.missMm;
    if (plane.missMm > MIRROR_MISS_MM) {
      warnings.push({
        code: 'fit.no-mirror-plane',
        sentence: `The part does not mirror itself about any plane near the form's (it misses by ${plane.missMm.toFixed(1)} mm); it was snapped to the nearest all the same.`,
      });
    }
    start = snapped(at, plane);
  }
  if (parameters.solve === undefined) {
    return { placement: start ?? IDENTITY, ...(mirrorMissMm === undefined ? {} : { mirrorMissMm }) };
  }
  const { limitTiltDegrees, limitShiftMm } = parameters;
  const limited = limitTiltDegrees !== undefined || limitShiftMm !== undefined;
  let poseRatio: number | null | undefined;
  let within = (phases: Phases): RunContext => run.within('solve', phases);
  if (!parameters.snap && !parameters.free && body.isHead) {
    let from = start ?? (limited ? IDENTITY : undefined);
    if (from === undefined) {
      const parts = run.within('solve', { pose: 0.2, worn: 0.1, best: 0.7 });
      const rough = placePart(worn, body, { aim: 'even', quick: true }, parts.within('pose', PLACE_PHASES));
      within = (phases) => parts.within('best', phases);
      if (isWorn(worn, body, rough.placement, parts.within('worn', EASE_PHASES))) {
        start = IDENTITY;
      } else {
        poseRatio = rough.nextPoseRatio;
      }
      from = start ?? rough.placement;
    }
    const straight = straightened(worn, from, () => within({ plane: 1 }).step('plane', 0, 1));
    if (straight !== undefined) {
      start = straight.placement;
      mirrorMissMm = straight.missMm;
    }
  }
  const mirror = mirrorMissMm === undefined ? {} : { mirrorMissMm };
  const inPlane = mirrorMissMm !== undefined;
  const limits: PlacingLimits = {
    shiftMm: limitShiftMm ?? FREE.shiftMm,
    tiltRad: limitTiltDegrees === undefined ? FREE.tiltRad : limitTiltDegrees * DEGREE,
    ...(inPlane ? { inPlane } : {}),
  };
  const patch = patchOf(parameters, part, sized, body, start ?? IDENTITY);
  if (patch !== undefined && !facesIn(worn.mesh, patch).includes(1)) return undefined;
  const wish: PlaceWish = {
    aim: parameters.even ? 'even' : 'least',
    quick: parameters.quick,
    inPlane,
    enoughMm: neededMm,
    ...(start === undefined ? (limited ? { start: IDENTITY } : {}) : { start }),
    ...(limited ? { limits } : {}),
    ...(patch === undefined ? {} : { patch }),
  };
  const solving = within(SCALE_PHASES);
  const { solve } = parameters;
  const placed = placePart(
    worn,
    body,
    wish,
    solve === 'place' ? within(PLACE_PHASES) : solving.within('as it is', PLACE_PHASES),
  );
  let solved: Placed | Scaled = placed;
  let own: Pick<Put, 'ownSize' | 'report'> = {};
  if (solve !== 'place') {
    const { placement } = placed;
    const report = measureEase(worn, body, { placement, neededMm, inShort }, solving.within('own size', EASE_PHASES));
    const { leastEaseMm, meanEaseMm } = report;
    const ownSize = { placement, leastEaseMm, meanEaseMm };
    const isEnough = solve === 'either' && leastEaseMm >= neededMm;
    own = isEnough ? { ownSize, report } : { ownSize };
    if (!isEnough) solved = growPlaced(worn, body, { ...wish, leastMm: neededMm }, placed, solving);
  }
  const nextPoseRatio = poseRatio ?? solved.nextPoseRatio;
  if (nextPoseRatio !== null && nextPoseRatio > NEARLY_AS_WELL) {
    warnings.push({
      code: 'fit.other-turn',
      sentence:
        'Turned another way the part fits nearly as well; look whether it sits the right way round, or place it roughly by hand first.',
    });
  }
  if (isScaled(solved) && !solved.reached) {
    warnings.push({
      code: 'fit.not-reached',
      sentence: `No scale was found that leaves ${neededMm.toFixed(1)} mm everywhere; at the one given ${(-solved.missMm).toFixed(1)} mm are missing. Place it nearer to how it is worn, or let only a patch of it count.`,
    });
  }
  return { placement: solved.placement, solved, ...mirror, ...own };
}

/** Whether the part lies as it is worn where its file has it. */
function isWorn(worn: WornPart, body: FittingBody, mostEven: Matrix4, run: RunContext): boolean {
  const { turn, shift } = apart(IDENTITY, mostEven, middleOf(worn));
  if (Math.hypot(...shift) > WORN.shiftMm || Math.hypot(...turn) > WORN.turnRad) return false;
  return measureEase(worn, body, { placement: IDENTITY, neededMm: 0, inShort: true }, run).leastEaseMm > 0;
}

function middleOf(worn: WornPart): Vec3 {
  const { min, max } = boundsOf(worn.mesh.positions);
  return [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
}

/** The placement laid on the body's middle plane, where the part mirrors itself and hardly has to move for it. */
function straightened(
  worn: WornPart,
  from: Matrix4,
  tick: () => void,
): { readonly placement: Matrix4; readonly missMm: number } | undefined {
  const plane = mirrorPlane(worn, [from[4], from[5], from[6]], tick);
  if (!(plane.missMm <= STRAIGHT.missMm)) return undefined;
  const placement = snapped(from, plane);
  const { turn, shift } = apart(from, placement, middleOf(worn));
  const isNear = Math.hypot(...shift) <= STRAIGHT.shiftMm && Math.hypot(...turn) <= STRAIGHT.turnRad;
  return isNear ? { placement, missMm: plane.missMm } : undefined;
}

/** The patch as a question about points of the part in mm. */
function patchOf(
  { patch }: FitParameters,
  part: InputMesh,
  sized: SizedPart,
  body: FittingBody,
  start: Matrix4,
): PlaceWish['patch'] {
  if (patch === undefined) return undefined;
  const { field } = body;
  if (patch.region !== undefined) {
    const wanted = patch.region.toLowerCase();
    return (x, y, z) => {
      field.at(...transformPoint(start, [x, y, z]));
      return body.region([field.x, field.y, field.z]).includes(wanted);
    };
  }
  const toFile = invert(multiply(sized.ownMatrix, part.fromFile));
  const { box, points = [], radiusMm = 0 } = patch;
  if (box !== undefined) {
    return (x, y, z) =>
      transformPoint(toFile, [x, y, z]).every(
        (value, k) => value >= Math.min(box.min[k], box.max[k]) && value <= Math.max(box.min[k], box.max[k]),
      );
  }
  const way = multiply(sized.ownMatrix, part.fromFile);
  const near = points.map((point) => transformPoint(way, point));
  return (x, y, z) => near.some((point) => Math.hypot(point[0] - x, point[1] - y, point[2] - z) <= radiusMm);
}

/** What of the pressed foam must stay on the way on and off, mm. */
function neededOnWay({ foamMm, compression, giveMm }: FitParameters): number {
  const pressed = foamMm * (1 - compression);
  return Math.max(0, pressed - (giveMm ?? pressed));
}

function donningOf(
  worn: WornPart,
  body: FittingBody,
  placement: Matrix4,
  form: InputMesh,
  parameters: FitParameters,
  run: RunContext,
): Donning {
  const { direction } = parameters;
  const inMesh = (d: readonly number[]): Vec3 => {
    const m = form.fromFile;
    return [0, 4, 8].map((r) => m[r] * d[0] + m[r + 1] * d[1] + m[r + 2] * d[2]) as unknown as Vec3;
  };
  return donPart(
    worn,
    body,
    {
      placement,
      neededMm: neededOnWay(parameters),
      quick: parameters.quick,
      ...(direction === undefined ? {} : { direction: inMesh(direction) }),
    },
    run.within('donning', DON_PHASES),
  );
}

function turnedBy(m: Matrix4, d: Vec3): [number, number, number] {
  const f = factorOf(m);
  return [0, 4, 8].map((r) => (m[r] * d[0] + m[r + 1] * d[1] + m[r + 2] * d[2]) / f) as [number, number, number];
}

const wayInFile = (way: Way, toFile: Matrix4): NonNullable<FitFigures['donning']>['best'] => ({
  ...way,
  direction: turnedBy(toFile, way.direction),
  where: [...transformPoint(toFile, way.where)] as [number, number, number],
});

function planeInFile(plane: readonly number[], toFile: Matrix4): number[] {
  const [px, py, pz, nx, ny, nz] = plane;
  return [...transformPoint(toFile, [px, py, pz]), ...turnedBy(toFile, [nx, ny, nz])];
}

const cm2 = (mm2: number): string => {
  const size = mm2 / 100;
  return `${size < 10 ? size.toFixed(1) : size.toFixed(0)} cm²`;
};

function pinchSentence({ region, leastMm, shortMm, areaMm2 }: Pinch, neededMm: number): string {
  const over = areaMm2 > 0 ? `, over ${cm2(areaMm2)}` : '';
  if (leastMm < 0) return `${region}: the part goes ${(-leastMm).toFixed(1)} mm into the body at the worst${over}.`;
  return `${region}: ${leastMm.toFixed(1)} mm of the ${neededMm.toFixed(1)} mm needed at the worst, ${shortMm.toFixed(1)} mm short${over}.`;
}

const percent = (factor: number): string => `${(100 * factor).toFixed(1)} %`;
const threeEdges = (edges: readonly number[]): string => `${edges.map((edge) => edge.toFixed(0)).join(' x ')} mm`;

function sentencesOf(
  report: ReturnType<typeof measureEase>,
  neededMm: number,
  solved: Placed | Scaled | undefined,
  isKeptStraight: boolean,
  knownMm: FitFigures['knownMm'],
  before: readonly number[],
  after: readonly number[],
  pinches: readonly string[],
): string[] {
  const { leastEaseMm, region, meanEaseMm } = report;
  const sentences: string[] = [];
  if (solved !== undefined && isScaled(solved)) {
    const { factor } = solved;
    const verb = factor > 1 ? 'must grow to' : 'can be as small as';
    const known = knownMm.map(
      (one) => `; "${one.name}" goes from ${one.before.toFixed(1)} to ${one.after.toFixed(1)} mm`,
    );
    sentences.push(
      `The part ${verb} ${percent(factor)} for ${neededMm.toFixed(1)} mm everywhere: its outside goes from ${threeEdges(before)} to ${threeEdges(after)}${known.join('')}; its wall changes as much.`,
    );
  }
  sentences.push(
    leastEaseMm < 0
      ? `Part and body go ${(-leastEaseMm).toFixed(1)} mm into one another at the ${region}.`
      : `The least ease is ${leastEaseMm.toFixed(1)} mm, at the ${region}; on average it is ${meanEaseMm.toFixed(1)} mm.`,
  );
  if (solved !== undefined && solved.heldByLimit.length > 0) {
    sentences.push(`More room lies beyond the limits: ${solved.heldByLimit.join(', ')}.`);
  }
  if (isKeptStraight) sentences.push('Kept straight on the head, since the part mirrors itself.');
  return [...sentences, ...pinches];
}

/** Getting off matters more than getting on: how, how far, and what to try before relying on it. */
function donningSentence({ best, partings }: Donning): string {
  const try_ = 'Try it slowly with a helper, time it, and see that the wearer can get out alone, before any rehearsal.';
  const way = `${best.words} for ${(best.lengthMm / 10).toFixed(0)} cm`;
  if (best.passes) {
    const tight = `${best.tightestMm.toFixed(1)} mm free at its tightest, at the ${best.region}`;
    if (best.kind === 'straight') return `It comes off in one straight pull ${way}, ${tight}. ${try_}`;
    return `It comes off ${way} while tipped by up to ${Math.abs(best.tiltDegrees).toFixed(0)} degrees, ${tight}; not in one pull, so slower. ${try_}`;
  }
  const blocked = `It does not come off in one piece: ${best.blockedMm.toFixed(1)} mm are missing at the ${best.region}, ${best.atMm.toFixed(0)} mm along the way ${best.words}.`;
  const better = partings.find((parting) => parting.blockedMm < best.blockedMm);
  const parted =
    better === undefined
      ? ' Parting it into halves does not help enough.'
      : ` As ${better.words} it ${better.blockedMm === 0 ? 'would come off' : `would still miss ${better.blockedMm.toFixed(1)} mm`}.`;
  // Depth inside a thin thing is at most half of it, whatever has to pass.
  const ear = best.region.includes('ear')
    ? ' An ear folds; but where the part cuts through one, more is in the way than this figure says.'
    : '';
  return `${blocked}${ear}${parted} ${try_}`;
}
