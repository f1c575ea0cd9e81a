/**
 * Carrying points from one scan of a person to another: the old form is laid on the new scan by a trimmed closest-point
 * fit (Besl and McKay 1992; trimming after Chetverikov and others 2002), from an automatic guess and its quarter turns.
 */
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { invert, multiply, scaling, transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import { fitSimilarity } from '../geometry/register/similarity.ts';
import { standByGuess } from '../geometry/register/stand-up.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../geometry/spatial/bvh.ts';

/** Share of the closest pairs that take part: the rest is where the body, the hair or the crop differ. */
const KEPT_SHARE = 0.8;
const START_SAMPLES = 400;
const SAMPLES = 2500;
const START_ROUNDS = 25;
const ROUNDS = 60;

export interface Laid {
  /** From the source's coordinates to the target's. */
  readonly matrix: Matrix4;
  /** Root mean square of the kept distances, in the target's unit. */
  readonly rms: number;
}

function samplesOf(mesh: Mesh, count: number): Vec3[] {
  const vertices = mesh.positions.length / 3;
  const step = Math.max(1, Math.floor(vertices / count));
  const points: Vec3[] = [];
  for (let vertex = 0; vertex < vertices; vertex += step) {
    points.push([mesh.positions[3 * vertex], mesh.positions[3 * vertex + 1], mesh.positions[3 * vertex + 2]]);
  }
  return points;
}

/** Improve `start` round by round. O(rounds · points · log faces). */
export function layOnto(points: readonly Vec3[], tree: Bvh, start: Matrix4, rounds: number, withScale: boolean): Laid {
  const near = nearestSlot();
  let matrix = start;
  let rms = Infinity;
  for (let round = 0; round < rounds; round++) {
    const pairs: { from: Vec3; to: Vec3; distance: number }[] = [];
    for (const from of points) {
      const [x, y, z] = transformPoint(matrix, from);
      if (findNearest(tree, x, y, z, near)) pairs.push({ from, to: [near.x, near.y, near.z], distance: near.distance });
    }
    pairs.sort((a, b) => a.distance - b.distance);
    const kept = pairs.slice(0, Math.ceil(KEPT_SHARE * pairs.length));
    const next = Math.sqrt(kept.reduce((sum, pair) => sum + pair.distance ** 2, 0) / kept.length);
    const settled = !(next < rms * (1 - SETTLED_SHARE));
    if (next < rms) rms = next;
    if (settled && round > 0) break;
    const fit = fitSimilarity(
      kept.map((pair) => pair.from),
      kept.map((pair) => pair.to),
      withScale,
    );
    if (fit === undefined) break;
    matrix = fit.matrix;
  }
  return { matrix, rms };
}

/** A round that gains less than this share ends the fit. */
const SETTLED_SHARE = 1e-4;

/** Lay an upright head form (mm) on a raw scan in its own frame, `mmPerUnit` being the scan's guessed unit. */
export function layFormOnScan(form: Mesh, scan: Mesh, mmPerUnit: number): Laid | undefined {
  // A form is lighter than a scan of the neck and shoulders too: the guess stands the scan up on its own.
  const inMm = transformMesh(scaling(mmPerUnit), scan);
  const guess = standByGuess(inMm);
  const tree = buildBvh(inMm);
  const bounds = boundsOf(inMm.positions);
  const centre: Vec3 = [0, 1, 2].map((axis) => (bounds.min[axis] + bounds.max[axis]) / 2) as unknown as Vec3;
  const rough = guess === undefined ? translationTo(centre) : invert(guess.matrix);
  const few = samplesOf(form, START_SAMPLES);
  let best: Laid | undefined;
  for (let quarter = 0; quarter < 4; quarter++) {
    const [c, s] = [
      [1, 0],
      [0, 1],
      [-1, 0],
      [0, -1],
    ][quarter];
    const turn: Matrix4 = [c, -s, 0, 0, s, c, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
    const laid = layOnto(few, tree, multiply(rough, turn), START_ROUNDS, false);
    if (best === undefined || laid.rms < best.rms) best = laid;
  }
  if (best === undefined) return undefined;
  const rigid = layOnto(samplesOf(form, SAMPLES), tree, best.matrix, ROUNDS, false);
  // The scan's size is not known well; only a fit that is already near may change it.
  const fine = layOnto(samplesOf(form, SAMPLES), tree, rigid.matrix, ROUNDS, true);
  return { matrix: multiply(scaling(1 / mmPerUnit), fine.matrix), rms: fine.rms / mmPerUnit };
}

const translationTo = ([x, y, z]: Vec3): Matrix4 => [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z, 0, 0, 0, 1];

export interface BodyChange {
  /** Distance of the new form from the old one at the old one's vertices, after laying them on each other, mm. */
  readonly meanMm: number;
  readonly p95Mm: number;
  readonly maxMm: number;
  /** Where it is largest, in the old form's frame, mm, and in words. */
  readonly where: Vec3;
  readonly whereInWords: string;
  readonly samples: number;
}

/** How far a body has changed between two forms of it, both mm and upright. */
export function bodyChange(before: Mesh, after: Mesh): BodyChange {
  const tree = buildBvh(after);
  const identity: Matrix4 = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
  const laid = layOnto(samplesOf(before, SAMPLES), tree, identity, ROUNDS, false);
  const near = nearestSlot();
  const found: { distance: number; at: Vec3 }[] = [];
  for (const at of samplesOf(before, before.positions.length)) {
    const [x, y, z] = transformPoint(laid.matrix, at);
    if (findNearest(tree, x, y, z, near)) found.push({ distance: near.distance, at });
  }
  found.sort((a, b) => a.distance - b.distance);
  const worst = found[found.length - 1];
  return {
    meanMm: found.reduce((sum, one) => sum + one.distance, 0) / found.length,
    p95Mm: found[Math.floor(0.95 * (found.length - 1))].distance,
    maxMm: worst.distance,
    where: worst.at,
    whereInWords: placeWords(worst.at, boundsOf(before.positions)),
    samples: found.length,
  };
}

/** Frame: x forward, y to the wearer's left, z up. */
function placeWords(at: Vec3, { min, max }: { min: Vec3; max: Vec3 }): string {
  const share = at.map((value, axis) => (2 * (value - min[axis])) / (max[axis] - min[axis]) - 1);
  const words: string[] = [];
  const third = 1 / 3;
  if (share[2] > third) words.push('upper');
  if (share[2] < -third) words.push('lower');
  if (share[0] > third) words.push('front');
  if (share[0] < -third) words.push('back');
  if (share[1] > third) words.push('left');
  if (share[1] < -third) words.push('right');
  return words.length === 0 ? 'middle' : words.join(' ');
}
