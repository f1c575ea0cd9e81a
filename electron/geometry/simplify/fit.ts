/**
 * Moves the vertices of a light mesh so that its faces lie as near as they can to the points of the
 * dense one it came from, in the least-squares sense (the outer loop of Hoppe et al., "Mesh
 * optimization", 1993, with point-to-plane residuals as in Chen and Medioni 1992).
 *
 * Each round: every point is projected onto the light faces near where its vertex was merged to; then
 * one sparse least-squares system in the vertices' moves is solved by conjugate gradients. Moves along
 * the surface are damped, since they change no residual. A vertex whose move would turn a face over stays.
 */
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { faceNormals } from '../mesh/quantities.ts';

export interface LightMesh {
  /** Changed in place. */
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
}

/** Points of the dense surface. */
export interface FitPoints {
  /** xyz triples in the frame of the light mesh. */
  readonly positions: Float64Array;
  /** Area each stands for, mm². */
  readonly weights: Float32Array;
  /** Light vertex each was merged into. */
  readonly vertexOf: Int32Array;
  /** Share of the points that is used, chosen by a hash of their number: vertex order must not matter. */
  readonly share: number;
}

export const FIT_PHASE = 'fit';
/** Multiplicative hash (2³² over the golden ratio). */
export const HASH = 0x9e3779b1;
/** Damping relative to the mean diagonal of the system. */
const DAMPING = 0.02;
const SOLVER_ROUNDS = 40;
/** Relative residual at which the solver stops. */
const SOLVER_TOLERANCE = 1e-3;
/** Faces may turn by at most acos of this in one round. */
const LEAST_TURN_COSINE = 0.7;
const STRIDE = 4096;
/** Points this many times the rms away, or further, count more: it is they that make the maximum. */
const FAR_RMS = 2.5;
const FAR_WEIGHT_LIMIT = 30;
/** A vertex goes back when its farthest point came to lie this much further. */
const WORSE = 1.1;
/** Least share of a point's distance that must be across the face for it to count. */
const LEAST_ACROSS = 0.7;
/** Hops over the light mesh when projecting; a point starts within one or two faces of its own. */
const MOST_HOPS = 6;

/** Faces round each vertex: `start[v]..start[v + 1]` in `faces`. */
export interface FacesOfVertex {
  readonly start: Uint32Array;
  readonly faces: Uint32Array;
}

export function facesOfVertex(triangles: Uint32Array, vertexCount: number): FacesOfVertex {
  const start = new Uint32Array(vertexCount + 1);
  for (const v of triangles) start[v + 1]++;
  for (let v = 0; v < vertexCount; v++) start[v + 1] += start[v];
  const fill = start.slice(0, vertexCount);
  const faces = new Uint32Array(triangles.length);
  for (let c = 0; c < triangles.length; c++) faces[fill[triangles[c]]++] = (c / 3) | 0;
  return { start, faces };
}

/** Squared distance of the face `walkToFace` found. */
export let walked2 = 0;

/** Face nearest to a point, by walking downhill from the faces round vertex v; weights in `faceWeights`. */
export function walkToFace(mesh: LightMesh, around: FacesOfVertex, v: number, x: number, y: number, z: number): number {
  const { positions: p, triangles: t } = mesh;
  const { start, faces } = around;
  let best = -1;
  let least = Infinity;
  let w0 = 0,
    w1 = 0,
    w2 = 0;
  for (let hop = 0; hop < MOST_HOPS; hop++) {
    const before = best;
    for (let i = start[v]; i < start[v + 1]; i++) {
      const face = faces[i];
      const d = nearestOnFace(p, t[face * 3] * 3, t[face * 3 + 1] * 3, t[face * 3 + 2] * 3, x, y, z);
      if (d < least) {
        least = d;
        best = face;
        w0 = faceWeights[0];
        w1 = faceWeights[1];
        w2 = faceWeights[2];
      }
    }
    if (best === before || (w0 > 0 && w1 > 0 && w2 > 0)) break;
    // On an edge or corner of the best face: look round its heaviest corner next.
    const next = w0 >= w1 && w0 >= w2 ? t[best * 3] : w1 >= w2 ? t[best * 3 + 1] : t[best * 3 + 2];
    if (next === v) break;
    v = next;
  }
  faceWeights[0] = w0;
  faceWeights[1] = w1;
  faceWeights[2] = w2;
  walked2 = least;
  return best;
}

/**
 * Fit the free vertices of `light` (moved in place) to the points, in `rounds` rounds. `fixed[v]` not 0
 * keeps a vertex where it is. Where the farthest point of a vertex's faces came to lie further than before,
 * the vertex goes back and stays. Returns the rms distance of the points after the fit, mm. Steps 'fit' of `run`. O(rounds · (points + faces · solver rounds)).
 */
export function fitToPoints(
  light: LightMesh,
  source: FitPoints,
  fixed: Uint8Array,
  rounds: number,
  run: RunContext = QUIET_RUN,
): number {
  const held = fixed.slice();
  let rmsMm = 0;
  let before: Float64Array | undefined;
  let worstBefore: Float32Array | undefined;
  for (let round = 0; round <= rounds; round++) {
    const here = light.positions.slice();
    const worst = new Float32Array(here.length / 3);
    const found = fitOnce(light, source, held, rmsMm, worst, round < rounds, run);
    if (before !== undefined && worstBefore !== undefined) {
      for (let v = 0; v < worst.length; v++) {
        if (worst[v] <= Math.max(WORSE * worstBefore[v], FAR_RMS * found)) continue;
        held[v] = 1;
        for (let k = 0; k < 3; k++) light.positions[v * 3 + k] = before[v * 3 + k];
      }
    }
    rmsMm = found;
    before = here;
    worstBefore = worst;
  }
  return rmsMm;
}

/** One round: fills `worst` per light vertex, solves and moves (if `moving`); returns the rms before, mm. */
function fitOnce(
  light: LightMesh,
  source: FitPoints,
  fixed: Uint8Array,
  rmsMm: number,
  worst: Float32Array,
  moving: boolean,
  run: RunContext,
): number {
  const farness = rmsMm > 0 ? 1 / (FAR_RMS * rmsMm) ** 2 : 0;
  const { positions: p, triangles: t } = light;
  const vertexCount = p.length / 3;
  const faceCount = t.length / 3;
  const around = facesOfVertex(t, vertexCount);
  const normals = faceNormals(light);

  // Per face: moments of the weights (6) and of weights times residual (3).
  const moments = new Float64Array(faceCount * 9);
  const { positions: s, weights, vertexOf, share } = source;
  const pointCount = s.length / 3;
  let squares = 0;
  let area = 0;
  const chosen = Math.min(1, share) * 2 ** 32;
  for (let i = 0; i < pointCount; i++) {
    if (i % STRIDE === 0) run.step(FIT_PHASE, i, pointCount);
    const v = vertexOf[i];
    if (v < 0 || Math.imul(i, HASH) >>> 0 >= chosen) continue;
    const x = s[i * 3],
      y = s[i * 3 + 1],
      z = s[i * 3 + 2];
    const face = walkToFace(light, around, v, x, y, z);
    const w0 = faceWeights[0],
      w1 = faceWeights[1],
      w2 = faceWeights[2];
    const f = face * 3;
    const a = t[f] * 3;
    const residual = normals[f] * (x - p[a]) + normals[f + 1] * (y - p[a + 1]) + normals[f + 2] * (z - p[a + 2]);
    const distance = Math.sqrt(walked2);
    for (let k = 0; k < 3; k++) if (distance > worst[t[f + k]]) worst[t[f + k]] = distance;
    // Beyond the rim of what was walked: the point belongs to some other fold.
    if (Math.abs(residual) < LEAST_ACROSS * distance) continue;
    let w = weights[i];
    squares += w * residual * residual;
    area += w;
    const far = residual * residual * farness;
    w *= Math.min(FAR_WEIGHT_LIMIT, 1 + far * far);
    const m = face * 9;
    moments[m] += w * w0 * w0;
    moments[m + 1] += w * w0 * w1;
    moments[m + 2] += w * w0 * w2;
    moments[m + 3] += w * w1 * w1;
    moments[m + 4] += w * w1 * w2;
    moments[m + 5] += w * w2 * w2;
    moments[m + 6] += w * w0 * residual;
    moments[m + 7] += w * w1 * residual;
    moments[m + 8] += w * w2 * residual;
  }

  const rms = Math.sqrt(squares / Math.max(area, Number.MIN_VALUE));
  if (!moving) return rms;

  const size = vertexCount * 3;
  const right = new Float64Array(size);
  let diagonal = 0;
  for (let face = 0; face < faceCount; face++) {
    const f = face * 3,
      m = face * 9;
    diagonal += moments[m] + moments[m + 3] + moments[m + 5];
    for (let k = 0; k < 3; k++) {
      const i = t[f + k] * 3;
      right[i] += moments[m + 6 + k] * normals[f];
      right[i + 1] += moments[m + 6 + k] * normals[f + 1];
      right[i + 2] += moments[m + 6 + k] * normals[f + 2];
    }
  }
  const damping = (DAMPING * diagonal) / Math.max(1, vertexCount);
  for (let v = 0; v < vertexCount; v++) if (fixed[v]) right[v * 3] = right[v * 3 + 1] = right[v * 3 + 2] = 0;

  const apply = (from: Float64Array, to: Float64Array): void => {
    for (let i = 0; i < size; i++) to[i] = damping * from[i];
    for (let face = 0; face < faceCount; face++) {
      const f = face * 3,
        m = face * 9;
      const x = normals[f],
        y = normals[f + 1],
        z = normals[f + 2];
      const a = t[f] * 3,
        b = t[f + 1] * 3,
        c = t[f + 2] * 3;
      const sa = x * from[a] + y * from[a + 1] + z * from[a + 2];
      const sb = x * from[b] + y * from[b + 1] + z * from[b + 2];
      const sc = x * from[c] + y * from[c + 1] + z * from[c + 2];
      const ta = moments[m] * sa + moments[m + 1] * sb + moments[m + 2] * sc;
      const tb = moments[m + 1] * sa + moments[m + 3] * sb + moments[m + 4] * sc;
      const tc = moments[m + 2] * sa + moments[m + 4] * sb + moments[m + 5] * sc;
      to[a] += ta * x;
      to[a + 1] += ta * y;
      to[a + 2] += ta * z;
      to[b] += tb * x;
      to[b + 1] += tb * y;
      to[b + 2] += tb * z;
      to[c] += tc * x;
      to[c + 1] += tc * y;
      to[c + 2] += tc * z;
    }
    for (let v = 0; v < vertexCount; v++) if (fixed[v]) to[v * 3] = to[v * 3 + 1] = to[v * 3 + 2] = 0;
  };
  const move = new Float64Array(size);
  const rest = right.slice();
  const direction = right.slice();
  const image = new Float64Array(size);
  const dot = (a: Float64Array, b: Float64Array): number => {
    let sum = 0;
    for (let i = 0; i < size; i++) sum += a[i] * b[i];
    return sum;
  };
  let norm = dot(rest, rest);
  const stop = norm * SOLVER_TOLERANCE * SOLVER_TOLERANCE;
  for (let round = 0; round < SOLVER_ROUNDS && norm > stop; round++) {
    apply(direction, image);
    const alpha = norm / dot(direction, image);
    for (let i = 0; i < size; i++) {
      move[i] += alpha * direction[i];
      rest[i] -= alpha * image[i];
    }
    const after = dot(rest, rest);
    const beta = after / norm;
    norm = after;
    for (let i = 0; i < size; i++) direction[i] = rest[i] + beta * direction[i];
  }

  moveSafely(light, move, normals);
  return rms;
}

/** Add the moves; vertices of faces that would turn too far stay, until none turns. */
function moveSafely(light: LightMesh, move: Float64Array, normals: Float64Array): void {
  const { positions: p, triangles: t } = light;
  const before = p.slice();
  for (let i = 0; i < p.length; i++) p[i] += move[i];
  for (let round = 0; round < 8; round++) {
    let turned = 0;
    for (let f = 0; f < t.length; f += 3) {
      const length = faceCross(p, t, f);
      const along = faceCrossOut[0] * normals[f] + faceCrossOut[1] * normals[f + 1] + faceCrossOut[2] * normals[f + 2];
      if (along >= LEAST_TURN_COSINE * length) continue;
      turned++;
      for (const i of [t[f] * 3, t[f + 1] * 3, t[f + 2] * 3]) {
        p[i] = before[i];
        p[i + 1] = before[i + 1];
        p[i + 2] = before[i + 2];
      }
    }
    if (turned === 0) return;
  }
  p.set(before);
}
