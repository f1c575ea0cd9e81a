/**
 * Fewer faces for the same surface: to a number of faces, or to a largest deviation.
 *
 * To a number: quadrics of the dense mesh; a fast sweep down to a base some times finer than the goal; exact
 * collapse from the base to the goal, the last stretch under watch both ways; a least-squares fit of the light
 * vertices to the dense ones, put back where it carries a point too far; a vertex of its own for each of the few
 * places still far off; single precision; then the proof (manifold as before, no faces cutting one another) and
 * the measurement both ways. Where the proof finds faces that cut, the vertices there are put back from the fit,
 * else the base is made to count more there, else locked there, and the collapse is done again from the base.
 *
 * To a deviation: the same base, then collapse for as long as the watch allows, logged. Where the measurement finds
 * more than the limit the log is done again without these places, which are then held closer; twice. From then
 * on the latest collapses there are taken back, which needs no new search and cannot make new places elsewhere
 * but where samples fall differently. Tried and worse: holding closer for as long as it takes (what is
 * collapsed anew exceeds the limit somewhere else), and a watch of all points from the dense mesh on (ten times
 * the time for the same number of faces).
 */
import { fault } from '../../../shared-types/faults/index.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { deviationOneSided, joinDeviations, type TwoWayDeviation } from '../measure/deviation.ts';
import { areaOf } from '../mesh/quantities.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { Job, type Light } from './job.ts';

export interface LightenGoal {
  /** At most this many faces. */
  readonly faces?: number;
  /** As few faces as keep the measured two-way deviation within this, mm. Used when `faces` is not given. */
  readonly withinMm?: number;
  /** Per vertex of the mesh: how much more than 1 the surface there counts (finer where it is more). */
  readonly importance?: Float32Array;
}

export interface Lightened {
  readonly mesh: Mesh;
  /** Of the dense mesh and the light one: `there` is from dense to light. */
  readonly deviation: TwoWayDeviation;
  /** Pairs of faces of the light mesh that cut one another: 0 is the proof. */
  readonly selfIntersections: number;
  /** How often the collapse from the base was done. */
  readonly attempts: number;
}

/** Weights of the phases `lighten` steps through. */
export const LIGHTEN_PHASES = { prepare: 0.2, collapse: 0.35, fit: 0.1, prove: 0.05, measure: 0.3 } as const;

/** The base is this many times finer than the goal. */
const BASE_FACTOR = 6;
/** Rounds of collapsing under a limit and holding points closer where the measurement exceeds it. */
const WITHIN_ROUNDS = 24;
/** In the first ones the collapse is done again where the limit was exceeded, from then on taken back there. */
const TIGHTEN_ROUNDS = 2;
/** ... deeper by one collapse after each so many rounds. */
const DEEPER_EVERY = 2;
/** The limit of the first round, as a share of what is asked: some room for what lies between the points. */
const WITHIN_FIRST = 0.97;

/**
 * The same surface with fewer faces.
 *
 * Returns a mesh in the frame of `mesh` (mm), coordinates in single precision, colours averaged from the
 * dense vertices, and the deviation measured both ways. Open borders are kept within the surface's own
 * error; large flat patches stay flat; closed stays closed, manifold stays manifold. With `faces` that
 * number is never exceeded: where shape and topology do not allow it, the fault `lighten.too-few` says how
 * far it goes. With `withinMm` the measured maximum of both ways is within it. A mesh that has no more faces than wanted comes back as it is, in single precision.
 *
 * Faults: `mesh.no-faces`, `lighten.too-few`. Steps LIGHTEN_PHASES of `run`. 1M faces to 10,000 in 3 to
 * 4 s of one core, a third of it proof and measurement; within a deviation one to three times that. Methods: Garland and Heckbert 1997; Hoppe et al. 1993; see the files beside this one.
 * It does not mend: what cut itself before may do so afterwards (a warning says so), noise in the scan
 * stays in the measured deviation.
 */
export function lighten(mesh: Mesh, goal: LightenGoal, run: RunContext = QUIET_RUN): Outcome<Lightened> {
  const faceCount = mesh.triangles.length / 3;
  if (faceCount === 0) return failed(fault('mesh.no-faces', {}));
  const warnings: Warning[] = [];
  if (goal.faces !== undefined && faceCount <= goal.faces) {
    const same: Mesh = { ...mesh, positions: Float64Array.from(mesh.positions, Math.fround) };
    warnings.push({
      code: 'lighten.nothing-to-do',
      sentence: `The mesh has ${faceCount} faces, no more than the ${goal.faces} asked for; it was left as it is.`,
    });
    return finish(same, measureOnly(mesh, same, run), findSelfIntersections(same).length / 2, 0, warnings);
  }
  if (goal.faces !== undefined) {
    const job = new Job(mesh, Math.max(goal.faces * BASE_FACTOR, 2000), goal.importance, run);
    const light = job.soundCollapse(goal.faces);
    if (light.over > 0) {
      return failed(fault('lighten.too-few', { wanted: goal.faces, reached: goal.faces + light.over }));
    }
    const there = job.measureThere(light.mesh);
    const deviation = joinDeviations(there, job.measureBack(light.mesh));
    return finish(job.colour(light), deviation, light.crossings.length / 2, job.attempts, warnings);
  }
  return lightenWithin(mesh, goal.withinMm ?? 0.1, goal.importance, run, warnings);
}

function measureOnly(a: Mesh, b: Mesh, run: RunContext): TwoWayDeviation {
  const half = run.within('measure', { there: 0.5, back: 0.5 });
  return joinDeviations(
    deviationOneSided(a, b, { run: half.within('there', { measure: 1 }) }),
    deviationOneSided(b, a, { run: half.within('back', { measure: 1 }) }),
  );
}

function finish(
  mesh: Mesh,
  deviation: TwoWayDeviation,
  selfIntersections: number,
  attempts: number,
  warnings: Warning[],
): Outcome<Lightened> {
  if (selfIntersections > 0) {
    warnings.push({
      code: 'lighten.cuts-itself',
      sentence: `${selfIntersections} pairs of faces cut one another in the light mesh, as the surface did before; mend it first.`,
    });
  }
  return done({ mesh, deviation, selfIntersections, attempts }, warnings);
}

/**
 * Fewest faces whose measured deviation stays within the limit: collapse as far as points of the dense
 * surface stay near, measure all of it, and match the limit of the collapse to what was measured.
 */
function lightenWithin(
  mesh: Mesh,
  withinMm: number,
  importance: Float32Array | undefined,
  run: RunContext,
  warnings: Warning[],
): Outcome<Lightened> {
  const faceCount = mesh.triangles.length / 3;
  // Faces it may come down to: sag e²/8R of edges e at a head's R = 60 mm, equal-sided faces.
  const guess = Math.max(60, Math.round(areaOf(mesh) / (0.43 * 8 * 60 * withinMm)));
  const job = new Job(mesh, Math.max(2 * guess * BASE_FACTOR, 2000), importance, run, withinMm * WITHIN_FIRST);
  let best: { light: Light; deviation: TwoWayDeviation } | undefined;
  for (let round = 0; round < WITHIN_ROUNDS && best === undefined; round++) {
    const light = job.soundCollapse(4);
    const deviation = job.measureWithin(light.mesh, withinMm);
    if (deviation.maxMm <= withinMm) best = { light, deviation };
    else if (round < TIGHTEN_ROUNDS) job.tighten(light, deviation, withinMm);
    else job.undo(light, deviation, Math.floor((round - TIGHTEN_ROUNDS) / DEEPER_EVERY));
  }
  if (best === undefined) {
    const same: Mesh = { ...mesh, positions: Float64Array.from(mesh.positions, Math.fround) };
    warnings.push({
      code: 'lighten.nothing-to-do',
      sentence: `No fewer faces than the ${faceCount} there are were found that keep the surface within ${withinMm} mm; it was left as it is.`,
    });
    return finish(same, measureOnly(mesh, same, run), findSelfIntersections(same).length / 2, job.attempts, warnings);
  }
  return finish(job.colour(best.light), best.deviation, best.light.crossings.length / 2, job.attempts, warnings);
}
