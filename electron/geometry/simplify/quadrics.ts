/**
 * Quadric error (Garland and Heckbert, "Surface simplification using quadric error metrics", 1997).
 *
 * A face gives a third of (its area times its plane's squared distance) to each corner, so that the sum
 * over all vertices is the integral over the surface, counted once. A border edge adds a plane through
 * it at right angles to its face. Quadrics are in mm⁴: squared distance times area.
 */
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { BORDER, QUADRIC, type Surface } from './surface.ts';

/** How much more a border counts than the surface beside it, per squared edge length. */
const BORDER_WEIGHT = 10;
/** A face wholly in a flat patch (a trim's cap) counts this much more, so that the patch stays flat. */
const FLAT_WEIGHT = 100;
/** A patch is flat when neighbouring normals differ by less than this (1 - cosine). */
const FLAT_COSINE_DEFECT = 1e-9;
/** ... and when it has at least this share of the whole area. */
const FLAT_AREA_SHARE = 0.004;
/** ... and so many faces that it must have been made flat. */
const FLAT_FACES = 12;
const STRIDE = 3 * 4096;

/**
 * Faces that lie in large, exactly flat patches (caps of trims, printed parts): 1, else 0. Patches grow
 * over shared vertices while the normals agree. O(faces).
 */
function flatFaces(
  surface: Surface,
  normals: Float64Array,
  areas: Float64Array,
  totalArea: number,
  run: RunContext,
): Uint8Array {
  let ticks = 0;
  const { triangles: t, head, next } = surface;
  const faceCount = t.length / 3;
  const flat = new Uint8Array(faceCount);
  const seen = new Uint8Array(faceCount);
  const stack: number[] = [];
  const patch: number[] = [];
  for (let seed = 0; seed < faceCount; seed++) {
    if (seen[seed]) continue;
    if (seed % STRIDE === 0) run.step('prepare', 3, 4);
    patch.length = 0;
    let area = 0;
    const x = normals[seed * 3],
      y = normals[seed * 3 + 1],
      z = normals[seed * 3 + 2];
    // All but the outermost faces of a flat patch have a fellow at whichever corner.
    let fellow = false;
    for (let c = head[t[seed * 3]]; c >= 0 && !fellow; c = next[c]) {
      const other = (c / 3) | 0;
      if (other === seed) continue;
      const dot = normals[other * 3] * x + normals[other * 3 + 1] * y + normals[other * 3 + 2] * z;
      fellow = 1 - dot <= FLAT_COSINE_DEFECT;
    }
    if (!fellow) continue;
    seen[seed] = 1;
    stack.push(seed);
    while (stack.length > 0) {
      const face = stack.pop() as number;
      patch.push(face);
      if (ticks++ % STRIDE === 0) run.step('prepare', 3, 4);
      area += areas[face];
      for (let k = 0; k < 3; k++) {
        for (let c = head[t[face * 3 + k]]; c >= 0; c = next[c]) {
          const other = (c / 3) | 0;
          if (seen[other]) continue;
          const dot = normals[other * 3] * x + normals[other * 3 + 1] * y + normals[other * 3 + 2] * z;
          if (1 - dot > FLAT_COSINE_DEFECT) continue;
          seen[other] = 1;
          stack.push(other);
        }
      }
    }
    if (patch.length >= FLAT_FACES && area > FLAT_AREA_SHARE * totalArea) for (const face of patch) flat[face] = 1;
  }
  return flat;
}

/** Add a plane's squared distance, `w` times (mm²), to the quadric that begins at `at`. */
export function addPlane(
  q: Float64Array,
  at: number,
  w: number,
  x: number,
  y: number,
  z: number,
  d: number, // plane: n·p + d = 0
): void {
  q[at] += w * x * x;
  q[at + 1] += w * x * y;
  q[at + 2] += w * x * z;
  q[at + 3] += w * y * y;
  q[at + 4] += w * y * z;
  q[at + 5] += w * z * z;
  q[at + 6] += w * x * d;
  q[at + 7] += w * y * d;
  q[at + 8] += w * z * d;
  q[at + 9] += w * d * d;
}

/**
 * Fill the surface's quadrics from its faces and borders. `importance` (per vertex, 1 = as it is)
 * multiplies what the faces there count. Returns for each vertex whether it lies in a large flat patch (1)
 * or not (0). Steps 'prepare' of `run`. O(faces).
 */
export function fillQuadrics(surface: Surface, importance?: Float32Array, run: RunContext = QUIET_RUN): Uint8Array {
  const { positions: p, triangles: t, quadrics: q, kind } = surface;
  const faceCount = t.length / 3;
  const normals = new Float64Array(t.length);
  const areas = new Float64Array(faceCount);
  let totalArea = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (f % STRIDE === 0) run.step('prepare', 2 + f / t.length, 4);
    const twice = faceCross(p, t, f);
    if (!(twice > 0)) continue;
    for (let k = 0; k < 3; k++) normals[f + k] = faceCrossOut[k] / twice;
    areas[f / 3] = twice / 2;
    totalArea += twice / 2;
  }
  const flat = flatFaces(surface, normals, areas, totalArea, run);
  const flatVertices = new Uint8Array(kind.length);
  for (let f = 0; f < t.length; f += 3) {
    if (f % STRIDE === 0) run.step('prepare', 3 + f / t.length, 4);
    if (flat[f / 3]) flatVertices[t[f]] = flatVertices[t[f + 1]] = flatVertices[t[f + 2]] = 1;
    const area = areas[f / 3];
    if (!(area > 0)) continue;
    const x = normals[f],
      y = normals[f + 1],
      z = normals[f + 2];
    const a = t[f] * 3;
    const d = -(x * p[a] + y * p[a + 1] + z * p[a + 2]);
    const weight = (area / 3) * (flat[f / 3] ? FLAT_WEIGHT : 1);
    for (let k = 0; k < 3; k++) {
      const v = t[f + k];
      addPlane(q, v * QUADRIC, importance === undefined ? weight : weight * importance[v], x, y, z, d);
    }
    const borders =
      (kind[t[f]] === BORDER ? 1 : 0) + (kind[t[f + 1]] === BORDER ? 1 : 0) + (kind[t[f + 2]] === BORDER ? 1 : 0);
    if (borders < 2) continue;
    for (let k = 0; k < 3; k++) {
      const u = t[f + k],
        v = t[f + ((k + 1) % 3)];
      if (kind[u] !== BORDER || kind[v] !== BORDER || facesAtEdge(surface, u, v) !== 1) continue;
      const ex = p[v * 3] - p[u * 3],
        ey = p[v * 3 + 1] - p[u * 3 + 1],
        ez = p[v * 3 + 2] - p[u * 3 + 2];
      const px = ey * z - ez * y,
        py = ez * x - ex * z,
        pz = ex * y - ey * x;
      const length = Math.sqrt(px * px + py * py + pz * pz);
      if (!(length > 0)) continue;
      const [nx, ny, nz] = [px / length, py / length, pz / length];
      const offset = -(nx * p[u * 3] + ny * p[u * 3 + 1] + nz * p[u * 3 + 2]);
      const w = BORDER_WEIGHT * length * length;
      addPlane(q, u * QUADRIC, w, nx, ny, nz, offset);
      addPlane(q, v * QUADRIC, w, nx, ny, nz, offset);
    }
  }
  return flatVertices;
}

/** How many faces have the edge from u to v, either way round. */
export function facesAtEdge(surface: Surface, u: number, v: number): number {
  const { triangles: t, head, next } = surface;
  let count = 0;
  for (let c = head[u]; c >= 0; c = next[c]) {
    if (t[c % 3 === 2 ? c - 2 : c + 1] === v || t[c % 3 === 0 ? c + 2 : c - 1] === v) count++;
  }
  return count;
}
