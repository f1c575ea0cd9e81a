/**
 * Carrying points from one scan of a person to another: the old form is laid on the new scan by a trimmed closest-point
 * fit (Besl and McKay 1992; trimming after Chetverikov and others 2002), from turns spread evenly over all turns.
 */
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { weldCracks, weldEqual } from '../geometry/mend/weld.ts';
import { keepFaces } from '../geometry/mesh/compact.ts';
import { findPieces } from '../geometry/mesh/pieces.ts';
import { areaOf, boundsOf } from '../geometry/mesh/quantities.ts';
import { multiply, scaling, transformMesh, transformPoint, translation } from '../geometry/mesh/transform.ts';
import { fitSimilarity } from '../geometry/register/similarity.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../geometry/spatial/bvh.ts';

/** Share of the closest pairs that take part: the rest is where the body, the hair or the crop differ. */
const KEPT_SHARE = 0.8;
const START_SAMPLES = 200;
const SAMPLES = 2500;
const START_ROUNDS = 12;
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

/** Turns spread evenly over all turns: super-Fibonacci spirals (Alexa 2022), as rotation matrices. */
export function evenTurns(count: number): Matrix4[] {
  // Alexa's constants: the square root of 2, and the real root of psi^4 = psi + 4.
  const [phi, psi] = [Math.SQRT2, 1.5337511687552043];
  return Array.from({ length: count }, (_, index) => {
    const s = index + 0.5;
    const [r, R] = [Math.sqrt(s / count), Math.sqrt(1 - s / count)];
    const [alpha, beta] = [(2 * Math.PI * s) / phi, (2 * Math.PI * s) / psi];
    const [x, y, z, w] = [r * Math.sin(alpha), r * Math.cos(alpha), R * Math.sin(beta), R * Math.cos(beta)];
    const first = [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w), 0];
    const second = [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w), 0];
    const third = [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y), 0];
    return first.concat(second, third, [0, 0, 0, 1]);
  });
}

const TURNS = 96;
const FINALISTS = 5;

/**
 * Lay a form (mm) on a raw scan in its own frame; `mmPerUnit` is the scan's unit where it is known. Only the scan's
 * largest piece is looked at: furniture and crumbs are left out. Undefined for a scan without faces.
 */
export function layFormOnScan(form: Mesh, scan: Mesh, mmPerUnit: number | undefined): Laid | undefined {
  const body = largestPiece(scan);
  if (body.triangles.length === 0) return undefined;
  // Without a unit, equal areas: a scan of more than the head makes this a little too small, which the fit mends.
  const unit = mmPerUnit ?? Math.sqrt(areaOf(form) / areaOf(body));
  const inMm = transformMesh(scaling(unit), body);
  const tree = buildBvh(inMm);
  const [target, source] = [middleOf(inMm), middleOf(form)];
  const few = samplesOf(form, START_SAMPLES);
  const starts = evenTurns(TURNS)
    .map((turn) => multiply(translation(target), multiply(turn, translation(source.map((x) => -x) as unknown as Vec3))))
    .map((start) => layOnto(few, tree, start, START_ROUNDS, false))
    .sort((a, b) => a.rms - b.rms)
    .slice(0, FINALISTS);
  const many = samplesOf(form, SAMPLES);
  let best: Laid | undefined;
  for (const start of starts) {
    const laid = layOnto(few, tree, start.matrix, ROUNDS, mmPerUnit === undefined);
    if (best === undefined || laid.rms < best.rms) best = laid;
  }
  if (best === undefined) return undefined;
  // The size is in doubt by per cents even where the unit is known; only a fit that is already near may change it.
  const fine = layOnto(many, tree, best.matrix, ROUNDS, true);
  return { matrix: multiply(scaling(1 / unit), fine.matrix), rms: fine.rms / unit };
}

const middleOf = (mesh: Mesh): Vec3 => {
  const { min, max } = boundsOf(mesh.positions);
  return [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
};

/** The piece with the most faces, after closing cracks (files of loose triangles share no vertex at all). */
function largestPiece(scan: Mesh): Mesh {
  const { mesh } = weldCracks(weldEqual(scan).mesh);
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  const faces = new Uint32Array(count);
  for (const piece of pieceOfFace) faces[piece]++;
  const most = faces.reduce((a, b) => Math.max(a, b), 0);
  const largest = faces.indexOf(most);
  return keepFaces(
    mesh,
    Uint8Array.from(pieceOfFace, (piece) => (piece === largest ? 1 : 0)),
  );
}

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
