/**
 * The surface a sheet takes when laid on a body: it does not follow what is narrower than it can bend. The body's surface
 * with short waves damped: least squares of how far points move and of bending (screened biharmonic fairing; Kobbelt,
 * Campagna, Vorsatz and Seidel 1998), which leaves the size of round bodies alone: of a sphere of 90 mm, waves of 30 mm
 * damped, a few thousandths of a millimetre.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { conjugateGradient } from './conjugate-gradient.ts';
import { flatFrame } from './flat-frame.ts';
import { findTwins, nextHalfedge } from '../mesh/twins.ts';

export interface Draped {
  readonly mesh: Mesh;
  readonly movedMaxMm: number;
  readonly movedMeanMm: number;
}

const SHARE = 2 ** -14;
const ROUNDS = 2000;
/** Least weight of an edge, as a share of the mean: obtuse faces would push their vertices apart. */
const LEAST_WEIGHT = 1 / 64;

/**
 * `waveMm`: waves of this length lose half their height, those of half the length 16 parts in 17. Triangles as before;
 * vertices of faces without area stay, and so do those of a border. O(faces · (waveMm / edge length)^2).
 */
export function drapeSurface(mesh: Mesh, waveMm: number, tick: () => void): Draped {
  if (waveMm === 0) return { mesh, movedMaxMm: 0, movedMeanMm: 0 };
  const { positions: p, triangles: t } = mesh;
  const count = p.length / 3;
  const { area, gradX, gradY } = flatFrame(mesh);
  const mass = new Float64Array(count);
  const weight = new Float64Array(t.length);
  let weights = 0;
  for (let h = 0; h < t.length; h++) {
    const n = nextHalfedge(h);
    mass[t[h]] += area[Math.floor(h / 3)] / 3;
    weight[h] = -area[Math.floor(h / 3)] * (gradX[h] * gradX[n] + gradY[h] * gradY[n]);
    weights += Math.abs(weight[h]);
  }
  const least = (LEAST_WEIGHT * weights) / t.length;
  for (let h = 0; h < t.length; h++) weight[h] = Math.max(weight[h], least);
  const bend = (waveMm / (2 * Math.PI)) ** 4;
  const tops = new Float64Array(count);
  for (let h = 0; h < t.length; h++) {
    tops[t[h]] += weight[h];
    tops[t[nextHalfedge(h)]] += weight[h];
  }
  // At a border there is no telling bending from the pull of one side only: it stays.
  const bends = Uint8Array.from(mass, (one) => (one > 0 ? 1 : 0));
  const { twin } = findTwins(t, count);
  for (let h = 0; h < t.length; h++) if (twin[h] < 0) bends[t[h]] = bends[t[nextHalfedge(h)]] = 0;
  const curve = new Float64Array(count);
  const laplacian = (x: Float64Array, out: Float64Array): void => {
    out.fill(0);
    for (let h = 0; h < t.length; h++) {
      const a = t[h],
        b = t[nextHalfedge(h)];
      const pulled = weight[h] * (x[a] - x[b]);
      out[a] += pulled;
      out[b] -= pulled;
    }
  };
  const multiply = (x: Float64Array, out: Float64Array): void => {
    laplacian(x, curve);
    for (let v = 0; v < count; v++) curve[v] = bends[v] ? (bend * curve[v]) / mass[v] : 0;
    laplacian(curve, out);
    for (let v = 0; v < count; v++) out[v] += mass[v] * x[v];
  };
  // Of the squared operator only what a vertex gives itself: near enough to scale by.
  const diagonal = Float64Array.from(mass, (m, v) => (bends[v] ? m + (bend * tops[v] * tops[v]) / m : 0));
  const positions = p.slice();
  const start = new Float64Array(count);
  const right = new Float64Array(count);
  const move = new Float64Array(count);
  for (let k = 0; k < 3; k++) {
    for (let v = 0; v < count; v++) start[v] = p[v * 3 + k];
    multiply(start, right);
    for (let v = 0; v < count; v++) right[v] = mass[v] * start[v] - right[v];
    move.fill(0);
    conjugateGradient({ multiply, diagonal }, right, move, SHARE, ROUNDS, tick);
    for (let v = 0; v < count; v++) positions[v * 3 + k] += move[v];
  }
  let movedMaxMm = 0,
    sum = 0,
    total = 0;
  for (let v = 0; v < count; v++) {
    const i = v * 3;
    const moved = Math.hypot(positions[i] - p[i], positions[i + 1] - p[i + 1], positions[i + 2] - p[i + 2]);
    movedMaxMm = Math.max(movedMaxMm, moved);
    sum += mass[v] * moved;
    total += mass[v];
  }
  return { mesh: { positions, triangles: t }, movedMaxMm, movedMeanMm: total > 0 ? sum / total : 0 };
}
