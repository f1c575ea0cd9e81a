/**
 * Laying a form on a raw scan of the same body, and carrying points across.
 *
 * From turns spread evenly over all turns, a trimmed closest-point fit (Besl and McKay 1992; trimming after Chetverikov
 * and others 2002) finds the pose; a point-to-plane fit (Chen and Medioni 1992) with the form's own, smooth normals
 * finishes it. Closest points alone stop short: along a smooth round head they slide so slowly that 6 mm of turn were
 * left at the nose on coarse scans, with the points-to-plane round after them 0.2 mm.
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { areaOf, boundsOf, vertexNormals } from '../mesh/quantities.ts';
import { determinant3, IDENTITY, multiply, scaling, transformPoint, translation, turnOf } from '../mesh/transform.ts';
import { weldCracks, weldEqual } from '../mend/weld.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { fitSimilarity } from './similarity.ts';

/** Share of the closest pairs that take part: the rest is where the body, the hair or the crop differ. */
const KEPT_SHARE = 0.8;
const START_SAMPLES = 200;
const SAMPLES = 2500;
const START_ROUNDS = 12;
const ROUNDS = 60;
/** A round that gains less than this share ends the fit. */
const SETTLED_SHARE = 1e-4;
/** A point-to-plane round that moves no sample by more than this share of the body's size ends it. */
const STILL_SHARE = 1e-6;
const TURNS = 96;
const FINALISTS = 5;

export const LAY_PHASES = { prepare: 0.25, start: 0.35, fit: 0.4 } as const;

export interface Laid {
  /** From the source's coordinates to the target's. */
  readonly matrix: Matrix4;
  /** Root mean square of the kept distances, in the target's unit. */
  readonly rms: number;
}

/** Points with unit normals, every n-th vertex. */
export interface Samples {
  readonly points: readonly Vec3[];
  readonly normals: readonly Vec3[];
}

const tripleAt = (array: Float64Array, vertex: number): Vec3 => [
  array[3 * vertex],
  array[3 * vertex + 1],
  array[3 * vertex + 2],
];

/** About `count` vertices of a mesh with their normals. O(vertices). */
export function samplesOf(mesh: Mesh, count: number, normals = vertexNormals(mesh)): Samples {
  const vertices = mesh.positions.length / 3;
  const step = Math.max(1, Math.floor(vertices / count));
  const chosen = Array.from({ length: Math.ceil(vertices / step) }, (_, index) => index * step);
  return {
    points: chosen.map((vertex) => tripleAt(mesh.positions, vertex)),
    normals: chosen.map((vertex) => tripleAt(normals, vertex)),
  };
}

interface Pair {
  readonly index: number;
  readonly moved: Vec3;
  readonly to: Vec3;
  readonly distance: number;
}

/** The nearer share of the pairs between moved samples and the tree. */
function closestPairs(points: readonly Vec3[], tree: Bvh, matrix: Matrix4, keptShare = KEPT_SHARE): Pair[] {
  const near = nearestSlot();
  const pairs: Pair[] = [];
  for (const [index, from] of points.entries()) {
    const moved = transformPoint(matrix, from);
    if (!findNearest(tree, moved[0], moved[1], moved[2], near)) continue;
    pairs.push({ index, moved, to: [near.x, near.y, near.z], distance: near.distance });
  }
  pairs.sort((a, b) => a.distance - b.distance);
  return pairs.slice(0, Math.ceil(keptShare * pairs.length));
}

const rmsOf = (pairs: readonly Pair[]): number =>
  Math.sqrt(pairs.reduce((sum, pair) => sum + pair.distance ** 2, 0) / Math.max(1, pairs.length));

/** Improve `start` by closest points, round by round. O(rounds · points · log faces). */
export function layOnto(
  points: readonly Vec3[],
  tree: Bvh,
  start: Matrix4,
  rounds: number,
  size: 'fixed' | 'free',
  tick = (): void => {},
): Laid {
  const scale = Math.cbrt(determinant3(start));
  let matrix = start;
  let rms = Infinity;
  for (let round = 0; round < rounds; round++) {
    tick();
    const kept = closestPairs(points, tree, matrix);
    const next = rmsOf(kept);
    const settled = !(next < rms * (1 - SETTLED_SHARE));
    if (next < rms) rms = next;
    if (settled && round > 0) break;
    const from = kept.map((pair) => points[pair.index]);
    const to = kept.map((pair) => pair.to);
    const fit =
      size === 'free'
        ? fitSimilarity(from, to, true)
        : fitSimilarity(
            from.map((p) => [scale * p[0], scale * p[1], scale * p[2]]),
            to,
            false,
          );
    if (fit === undefined) break;
    matrix = size === 'free' ? fit.matrix : multiply(fit.matrix, scaling(scale));
  }
  return { matrix, rms };
}

/** Turns spread evenly over all turns: super-Fibonacci spirals (Alexa 2022), as rotation matrices. */
export function evenTurns(count: number): Matrix4[] {
  // Alexa's constants: the square root of 2, and the real root of psi^4 = psi + 4.
  const [phi, psi] = [Math.SQRT2, 1.5337511687552043];
  return Array.from({ length: count }, (_, index) => {
    const s = index + 0.5;
    const [r, R] = [Math.sqrt(s / count), Math.sqrt(1 - s / count)];
    const [alpha, beta] = [(2 * Math.PI * s) / phi, (2 * Math.PI * s) / psi];
    return turnOf(r * Math.sin(alpha), r * Math.cos(alpha), R * Math.sin(beta), R * Math.cos(beta));
  });
}

/** Solve A x = b for a small symmetric positive matrix in place (Cholesky); undefined when it is not positive. */
function solvePositive(a: Float64Array, b: Float64Array, n: number): Float64Array | undefined {
  for (let column = 0; column < n; column++) {
    let pivot = a[column * n + column];
    for (let k = 0; k < column; k++) pivot -= a[column * n + k] ** 2;
    if (!(pivot > 0)) return undefined;
    a[column * n + column] = Math.sqrt(pivot);
    for (let row = column + 1; row < n; row++) {
      let sum = a[row * n + column];
      for (let k = 0; k < column; k++) sum -= a[row * n + k] * a[column * n + k];
      a[row * n + column] = sum / a[column * n + column];
    }
  }
  const x = b.slice();
  for (let row = 0; row < n; row++) {
    for (let k = 0; k < row; k++) x[row] -= a[row * n + k] * x[k];
    x[row] /= a[row * n + row];
  }
  for (let row = n - 1; row >= 0; row--) {
    for (let k = row + 1; k < n; k++) x[row] -= a[k * n + row] * x[k];
    x[row] /= a[row * n + row];
  }
  return x;
}

/**
 * Improve `start` by point-to-plane rounds: turn, shift and, if wished, size that bring the samples onto the surface
 * along their own normals. Target's unit throughout. O(rounds · points · log faces). Keeps `start` where it cannot gain.
 */
export function slideOnto(
  samples: Samples,
  tree: Bvh,
  start: Matrix4,
  { withScale = false, hold, keptShare = KEPT_SHARE }: SlideOptions,
  tick = (): void => {},
): Slid {
  const n = withScale ? 7 : 6;
  let matrix = start;
  let best: Slid | undefined;
  const gone = new Float64Array(n);
  for (let round = 0; round < ROUNDS; round++) {
    tick();
    const kept = closestPairs(samples.points, tree, matrix, keptShare);
    const rms = rmsOf(kept);
    if (kept.length < n) break;
    const centre = [0, 1, 2].map((k) => kept.reduce((sum, pair) => sum + pair.moved[k], 0) / kept.length);
    const reach = Math.sqrt(
      kept.reduce((sum, { moved }) => sum + moved.reduce((s, x, k) => s + (x - centre[k]) ** 2, 0), 0) / kept.length,
    );
    if (!(reach > 0)) break;
    const a = new Float64Array(n * n);
    const b = new Float64Array(n);
    for (const { index, moved, to, distance } of kept) {
      const normal = turned(matrix, samples.normals[index]);
      const arm = moved.map((x, k) => (x - centre[k]) / reach);
      const row = [
        arm[1] * normal[2] - arm[2] * normal[1],
        arm[2] * normal[0] - arm[0] * normal[2],
        arm[0] * normal[1] - arm[1] * normal[0],
        normal[0],
        normal[1],
        normal[2],
      ];
      if (withScale) row.push(arm[0] * normal[0] + arm[1] * normal[1] + arm[2] * normal[2]);
      const gap = normal[0] * (to[0] - moved[0]) + normal[1] * (to[1] - moved[1]) + normal[2] * (to[2] - moved[2]);
      // Over a hole the nearest surface is its rim, aside rather than above or below.
      if (distance > (hold?.noise ?? rms) && Math.abs(gap) < ABOVE_SHARE * distance) continue;
      for (let r = 0; r < n; r++) {
        b[r] += row[r] * gap;
        for (let c = 0; c <= r; c++) a[r * n + c] += row[r] * row[c];
      }
    }
    // A body of revolution leaves its own turn open: a little stiffness keeps it where it is.
    for (let r = 0; r < n; r++) a[r * n + r] += STIFFNESS_SHARE * kept.length;
    if (hold !== undefined) {
      for (let r = 0; r < n; r++) {
        const stiff = (hold.noise / (r < 3 ? hold.turnRad * reach : hold.shift)) ** 2;
        a[r * n + r] += stiff;
        b[r] -= stiff * gone[r];
      }
    }
    const x = solvePositive(a, b, n);
    if (x === undefined) break;
    // `a` now holds its own Cholesky factor.
    if (best === undefined || rms < best.rms)
      best = { matrix, rms, centre: centre as unknown as Vec3, reach, factor: a };
    for (let r = 0; r < n; r++) gone[r] += x[r];
    const [wx, wy, wz] = [x[0] / reach, x[1] / reach, x[2] / reach];
    const angle = Math.hypot(wx, wy, wz);
    const half = angle > 0 ? Math.sin(angle / 2) / angle : 0;
    const spin = turnOf(wx * half, wy * half, wz * half, Math.cos(angle / 2));
    const grow = withScale ? scaling(1 + x[6] / reach) : IDENTITY;
    const back = translation(centre.map((q) => -q) as unknown as Vec3);
    const forth = translation([centre[0] + x[3], centre[1] + x[4], centre[2] + x[5]]);
    matrix = multiply(multiply(forth, multiply(spin, grow)), multiply(back, matrix));
    if (Math.max(...x.map(Math.abs)) < STILL_SHARE * reach) break;
  }
  const rms = rmsOf(closestPairs(samples.points, tree, matrix, keptShare));
  if (best === undefined) return { matrix, rms, centre: [0, 0, 0], reach: 0, factor: new Float64Array(n * n) };
  return best.rms < rms ? best : { ...best, matrix, rms };
}

export interface SlideOptions {
  readonly withScale?: boolean;
  readonly hold?: Hold;
  /** Share of the closest pairs that take part; trimming a body that has grown all round pushes it to one side. */
  readonly keptShare?: number;
}

/** How far a patch may stray from where the whole body lies: standard deviations, and the noise of one sample. */
export interface Hold {
  readonly turnRad: number;
  readonly shift: number;
  readonly noise: number;
}

export interface Slid extends Laid {
  /** What the turn is about, and the length its arms are measured in. */
  readonly centre: Vec3;
  readonly reach: number;
  /** Cholesky factor (lower, row by row) of the normal equations: turn · reach, shift, growth · reach. */
  readonly factor: Float64Array;
}

/** A surface less than this share of its distance above or below a sample lies beside it. */
const ABOVE_SHARE = 0.7;
/** Share of the pairs that speak for staying put. */
const STIFFNESS_SHARE = 2 ** -20;

/** A direction turned by a similarity; unit length stays. */
function turned(m: Matrix4, d: Vec3): Vec3 {
  const v: Vec3 = [
    m[0] * d[0] + m[1] * d[1] + m[2] * d[2],
    m[4] * d[0] + m[5] * d[1] + m[6] * d[2],
    m[8] * d[0] + m[9] * d[1] + m[10] * d[2],
  ];
  const length = Math.hypot(...v);
  return length > 0 ? [v[0] / length, v[1] / length, v[2] / length] : v;
}

/**
 * Lay a form (mm) on a raw scan in its own frame. Only the scan's largest piece is looked at: furniture and crumbs are
 * left out. Its size is first taken from its area; where that leads nowhere, from `mmPerUnit` (a guess will do), then
 * from more turns. Undefined for a scan without faces. The matrix leads from the form to the scan's coordinates, `rms`
 * is in the scan's unit: where it is more than a few mm, this is no scan of that body. 1M faces: about 4 s. Does not
 * bend the form: where the body itself has changed, the pose that suits most of it is found.
 */
export function layFormOnScan(
  form: Mesh,
  scan: Mesh,
  mmPerUnit: number | undefined,
  run: RunContext = QUIET_RUN,
): Laid | undefined {
  run.step('prepare', 0, 1);
  const body = largestPiece(scan);
  run.step('prepare', 1, 2);
  if (body.triangles.length === 0) return undefined;
  const normals = vertexNormals(form);
  const samples = { few: samplesOf(form, START_SAMPLES, normals).points, many: samplesOf(form, SAMPLES, normals) };
  const tree = buildBvh(body, () => run.step('prepare', 1, 2));
  run.step('prepare', 1, 1);
  const byArea = Math.sqrt(areaOf(form) / areaOf(body));
  const tries: [unit: number, turns: number][] = [[byArea, TURNS]];
  if (mmPerUnit !== undefined) tries.push([mmPerUnit, TURNS]);
  tries.push([byArea, MORE_TURNS]);
  let best: Laid | undefined;
  for (const [unit, turns] of tries) {
    const laid = layAtSize(samples, middleOf(form), tree, middleOf(body), unit, turns, run);
    if (best === undefined || missOf(laid) < missOf(best)) best = laid;
    // Form's unit: a form that has shrunk into a corner of the scan is not near it.
    if (missOf(best) < NEAR_MM) break;
  }
  run.step('fit', 1, 1);
  return best;
}

const MORE_TURNS = 360;
/** A body that is laid on itself, changed as bodies change, is nearer than this; in a wrong pose it is not. */
const NEAR_MM = 2;

/** Root mean square in the form's unit. */
const missOf = ({ matrix, rms }: Laid): number => rms / Math.cbrt(determinant3(matrix));

function layAtSize(
  { few, many }: { readonly few: readonly Vec3[]; readonly many: Samples },
  source: Vec3,
  tree: Bvh,
  target: Vec3,
  unit: number,
  turns: number,
  run: RunContext,
): Laid {
  const back = multiply(scaling(1 / unit), translation(source.map((x) => -x) as unknown as Vec3));
  const starts: Laid[] = [];
  for (const [index, turn] of evenTurns(turns).entries()) {
    const start = multiply(translation(target), multiply(turn, back));
    starts.push(layOnto(few, tree, start, START_ROUNDS, 'fixed', () => run.step('start', index, turns)));
  }
  starts.sort((a, b) => a.rms - b.rms);
  let best: Laid | undefined;
  for (const [index, start] of starts.slice(0, FINALISTS).entries()) {
    const tick = (): void => run.step('fit', index, FINALISTS + 1);
    const laid = layOnto(few, tree, start.matrix, ROUNDS, 'free', tick);
    if (best === undefined || missOf(laid) < missOf(best)) best = laid;
  }
  const tick = (): void => run.step('fit', FINALISTS, FINALISTS + 1);
  const near = layOnto(many.points, tree, (best ?? starts[0]).matrix, START_ROUNDS, 'free', tick);
  return slideOnto(many, tree, near.matrix, { withScale: true }, tick);
}

const middleOf = (mesh: Mesh): Vec3 => {
  const { min, max } = boundsOf(mesh.positions);
  return [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
};

/** The piece with the most faces, after closing cracks (files of loose triangles share no vertex at all). */
export function largestPiece(scan: Mesh): Mesh {
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
