/**
 * A first flat position of a disc, without a face turned over: angle-true (least-squares conformal: Levy, Petitjean, Ray
 * and Maillot 2002, as Dirichlet energy less area) where that turns none, else the barycentric one on a circle (Tutte
 * 1963), which never does.
 */
import { nextHalfedge } from '../mesh/twins.ts';
import { conjugateGradient } from './conjugate-gradient.ts';
import { faceMap, faceMapOut, type FlatFrame } from './flat-frame.ts';

/** The residual at which the start is good enough, and rounds allowed for each vertex. */
const SHARE = 2 ** -20;
const ROUNDS_PER_VERTEX = 2;
const LEAST_ROUNDS = 400;

/**
 * uv pairs, mm, of the patch's own area. `loop`: the border's vertices in order, patch to the left.
 * O(vertices^1.5) as a rule.
 */
export function startFlat(
  frame: FlatFrame,
  positions: Float64Array,
  loop: readonly number[],
  tick: () => void,
): Float64Array {
  const angleTrue = conformal(frame, positions, loop, tick);
  return scaleToArea(frame, turnsNone(frame, angleTrue) ? angleTrue : barycentric(frame, positions, loop, tick));
}

function turnsNone(frame: FlatFrame, flat: Float64Array): boolean {
  for (let face = 0; face < frame.area.length; face++) {
    if (frame.area[face] === 0) continue;
    faceMap(frame, flat, face * 3);
    if (!(faceMapOut.a * faceMapOut.d - faceMapOut.b * faceMapOut.c > 0)) return false;
  }
  return true;
}

function scaleToArea(frame: FlatFrame, flat: Float64Array): Float64Array {
  let real = 0,
    lying = 0;
  for (let face = 0; face < frame.area.length; face++) {
    faceMap(frame, flat, face * 3);
    real += frame.area[face];
    lying += frame.area[face] * (faceMapOut.a * faceMapOut.d - faceMapOut.b * faceMapOut.c);
  }
  const by = Math.sqrt(real / lying);
  return flat.map((value) => value * by);
}

const distance = (p: Float64Array, a: number, b: number): number =>
  Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);

/** Weight of each half-edge's edge in the Dirichlet energy: half the cotangent of the angle opposite. */
function cotangents(frame: FlatFrame): Float64Array {
  const { gradX, gradY, area } = frame;
  const weight = new Float64Array(gradX.length);
  for (let h = 0; h < weight.length; h++) {
    const n = nextHalfedge(h);
    weight[h] = -area[Math.floor(h / 3)] * (gradX[h] * gradX[n] + gradY[h] * gradY[n]);
  }
  return weight;
}

function conformal(frame: FlatFrame, p: Float64Array, loop: readonly number[], tick: () => void): Float64Array {
  const { triangles: t, vertexCount } = frame;
  const weight = cotangents(frame);
  // The two pins: about as far apart as the border goes.
  const farthest = (from: number): number =>
    loop.reduce((best, v) => (distance(p, from, v) > distance(p, from, best) ? v : best), from);
  const first = farthest(loop[0]);
  const last = farthest(first);
  const flat = new Float64Array(vertexCount * 2);
  flat[last * 2] = distance(p, first, last);
  const diagonal = new Float64Array(vertexCount * 2);
  for (let h = 0; h < t.length; h++) {
    for (const v of [t[h], t[nextHalfedge(h)]]) {
      diagonal[v * 2] += weight[h];
      diagonal[v * 2 + 1] += weight[h];
    }
  }
  for (const v of [first, last]) diagonal[v * 2] = diagonal[v * 2 + 1] = 0;
  const multiply = (x: Float64Array, out: Float64Array): void => {
    out.fill(0);
    for (let h = 0; h < t.length; h++) {
      const a = t[h] * 2,
        b = t[nextHalfedge(h)] * 2;
      const du = weight[h] * (x[a] - x[b]),
        dv = weight[h] * (x[a + 1] - x[b + 1]);
      out[a] += du;
      out[b] -= du;
      out[a + 1] += dv;
      out[b + 1] -= dv;
    }
    // Twice the area inside the border is the sum of cross products along it.
    for (let i = 0; i < loop.length; i++) {
      const a = loop[i] * 2,
        b = loop[(i + 1) % loop.length] * 2;
      out[a] -= x[b + 1] / 2;
      out[a + 1] += x[b] / 2;
      out[b] += x[a + 1] / 2;
      out[b + 1] -= x[a] / 2;
    }
  };
  const right = new Float64Array(vertexCount * 2);
  multiply(flat, right);
  for (let i = 0; i < right.length; i++) right[i] = -right[i];
  for (const v of [first, last]) right[v * 2] = right[v * 2 + 1] = 0;
  const move = new Float64Array(vertexCount * 2);
  const most = LEAST_ROUNDS + ROUNDS_PER_VERTEX * vertexCount;
  conjugateGradient({ multiply, diagonal }, right, move, SHARE, most, tick);
  for (let i = 0; i < flat.length; i++) flat[i] += move[i];
  return flat;
}

/** Border on a circle, every other vertex in the middle of its neighbours. */
function barycentric(frame: FlatFrame, p: Float64Array, loop: readonly number[], tick: () => void): Float64Array {
  const { triangles: t, vertexCount } = frame;
  const flat = new Float64Array(vertexCount * 2);
  const fixed = new Uint8Array(vertexCount);
  let length = 0;
  const along = loop.map((v, i) => {
    const here = length;
    length += distance(p, v, loop[(i + 1) % loop.length]);
    return here;
  });
  loop.forEach((v, i) => {
    const angle = (2 * Math.PI * along[i]) / length;
    flat[v * 2] = Math.cos(angle);
    flat[v * 2 + 1] = Math.sin(angle);
    fixed[v] = 1;
  });
  // Symmetric weights keep the matrix symmetric; all equal, they are still free of turned faces.
  const diagonal = new Float64Array(vertexCount * 2);
  for (let h = 0; h < t.length; h++) {
    for (const v of [t[h], t[nextHalfedge(h)]]) {
      if (fixed[v]) continue;
      diagonal[v * 2] += 1;
      diagonal[v * 2 + 1] += 1;
    }
  }
  const multiply = (x: Float64Array, out: Float64Array): void => {
    out.fill(0);
    for (let h = 0; h < t.length; h++) {
      const a = t[h],
        b = t[nextHalfedge(h)];
      for (let k = 0; k < 2; k++) {
        const difference = x[a * 2 + k] - x[b * 2 + k];
        if (!fixed[a]) out[a * 2 + k] += difference;
        if (!fixed[b]) out[b * 2 + k] -= difference;
      }
    }
  };
  const right = new Float64Array(vertexCount * 2);
  multiply(flat, right);
  for (let i = 0; i < right.length; i++) right[i] = -right[i];
  const move = new Float64Array(vertexCount * 2);
  const most = LEAST_ROUNDS + ROUNDS_PER_VERTEX * vertexCount;
  conjugateGradient({ multiply, diagonal }, right, move, SHARE, most, tick);
  for (let i = 0; i < flat.length; i++) flat[i] += move[i];
  return flat;
}
