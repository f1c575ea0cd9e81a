/**
 * Standing a head upright in the form frame: origin midway between the tragions, x forward, y to the wearer's left,
 * z up, Frankfurt plane level (ISO 7250-1).
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceNormals } from '../mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { eigenSymmetric, fitSimilarity } from './similarity.ts';

export type StandMethod = 'frankfurt' | 'landmarks' | 'guess';

export interface Stood {
  readonly matrix: Matrix4;
  readonly method: StandMethod;
  /** 1 for the exact definition; less for a fit or a guess. */
  readonly confidence: number;
}

const sub = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const middle = (a: Vec3, b: Vec3): Vec3 => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
const unit = (a: Vec3): Vec3 => {
  const length = Math.hypot(...a);
  return [a[0] / length, a[1] / length, a[2] / length];
};

/** The rigid matrix that puts `origin` at 0 and the unit vectors x, y, z on the axes. */
function frame(origin: Vec3, x: Vec3, y: Vec3, z: Vec3): Matrix4 {
  return [...x, -dot(x, origin), ...y, -dot(y, origin), ...z, -dot(z, origin), 0, 0, 0, 1];
}

/** Sine below which the orbitale counts as on the line of the tragions. */
const IN_LINE = 2 ** -10;

/**
 * By definition: both tragions and one orbitale (the middle of both, where both are known). Undefined when they are
 * in one line.
 */
export function standByFrankfurt(left: Vec3, right: Vec3, orbitales: readonly Vec3[]): Matrix4 | undefined {
  const origin = middle(left, right);
  const orbitale = orbitales.length > 1 ? middle(orbitales[0], orbitales[1]) : orbitales[0];
  const breadth = sub(left, right);
  if (!(Math.hypot(...breadth) > 0)) return undefined;
  const y = unit(breadth);
  const ahead = sub(orbitale, origin);
  const along = dot(ahead, y);
  const x: Vec3 = [ahead[0] - along * y[0], ahead[1] - along * y[1], ahead[2] - along * y[2]];
  if (!(Math.hypot(...x) > IN_LINE * Math.hypot(...ahead))) return undefined;
  const forward = unit(x);
  return frame(origin, forward, y, cross(forward, y));
}

/**
 * Where the landmarks of a middling head lie in the form frame, mm: from the means of the 2012 survey where it has
 * them, else from our own invented heads. Good for turning a head the right way up, not for its size.
 */
const MIDDLING: Readonly<Record<string, Vec3>> = {
  'tragion-left': [0, 71, 0],
  'tragion-right': [0, -71, 0],
  'orbitale-left': [76, 32, 0],
  'orbitale-right': [76, -32, 0],
  glabella: [95, 0, 33],
  sellion: [90, 0, 18],
  pronasale: [112, 0, -18],
  pogonion: [88, 0, -88],
  menton: [74, 0, -103],
  opisthocranion: [-102, 0, 26],
  vertex: [0, 0, 131],
  'euryon-left': [-12, 77, 50],
  'euryon-right': [-12, -77, 50],
  'zygion-left': [45, 70, -8],
  'zygion-right': [45, -70, -8],
};

/** By a fit of any three or more known landmarks to a middling head. Undefined when too few or in one line. */
export function standByLandmarks(
  landmarks: Readonly<Record<string, Vec3>>,
): { matrix: Matrix4; missMm: number } | undefined {
  const names = Object.keys(landmarks).filter((name) => MIDDLING[name] !== undefined);
  const from = names.map((name) => landmarks[name]);
  const to = names.map((name) => MIDDLING[name]);
  const fit = fitSimilarity(from, to, true);
  if (fit === undefined) return undefined;
  // Turn and shift only: size is for the readings to say. The origin is where the fit puts the middle of the tragions.
  const m = fit.matrix.map((x) => x / fit.scale);
  m[15] = 1;
  return { matrix: m, missMm: Math.sqrt(fit.meanSquare) };
}

/** Name of a paired landmark that lies on the wrong side once stood by the others, or undefined. */
export function mirroredLandmark(landmarks: Readonly<Record<string, Vec3>>): string | undefined {
  const names = Object.keys(landmarks).filter((name) => MIDDLING[name] !== undefined);
  if (names.length < 4) return undefined;
  const swap = (name: string): string =>
    name.endsWith('-left')
      ? name.replace('-left', '-right')
      : name.endsWith('-right')
        ? name.replace('-right', '-left')
        : name;
  const paired = names.filter((name) => swap(name) !== name);
  if (paired.length === 0 || paired.length === names.length) return undefined;
  const from = names.map((name) => landmarks[name]);
  const as = fitSimilarity(
    from,
    names.map((name) => MIDDLING[name]),
    true,
  );
  const exchanged = fitSimilarity(
    from,
    names.map((name) => MIDDLING[swap(name)]),
    true,
  );
  if (as === undefined || exchanged === undefined) return undefined;
  return exchanged.meanSquare < as.meanSquare / 4 ? paired[0].replace(/-(left|right)$/, '') : undefined;
}

/** Points looked at by the guess. */
const GUESS_POINTS = 1500;

/**
 * A first guess without landmarks, to be confirmed by a person: the mirror plane, found from the principal axes and
 * settled by mirroring the points onto the surface; up, away from the flat cut (or the longest way); forward, the way
 * the head hangs over its neck. Confidence is the share of the points that the mirror brings back to within 3 % of
 * the size, lowered where up or forward is doubtful.
 */
export function standByGuess(mesh: Mesh): Stood | undefined {
  const p = mesh.positions;
  const count = p.length / 3;
  if (count < 4) return undefined;
  const stride = Math.max(1, Math.floor(count / GUESS_POINTS));
  const points: Vec3[] = [];
  for (let v = 0; v < count; v += stride) points.push([p[v * 3], p[v * 3 + 1], p[v * 3 + 2]]);
  const centre: Vec3 = [0, 1, 2].map((k) => points.reduce((s, q) => s + q[k], 0) / points.length) as unknown as Vec3;
  const covariance = new Float64Array(9);
  for (const q of points) {
    const d = sub(q, centre);
    for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) covariance[r * 3 + c] += (d[r] * d[c]) / points.length;
  }
  const axes = eigenSymmetric(Array.from(covariance), 3);
  const size = Math.sqrt(axes.values[0] + axes.values[1] + axes.values[2]);
  if (!(size > 0)) return undefined;
  const tree = buildBvh(mesh);
  const slot = nearestSlot();
  const miss = (normal: Vec3, through: Vec3): { mean: number; share: number } => {
    let sum = 0;
    let near = 0;
    for (const q of points) {
      const h = 2 * dot(sub(q, through), normal);
      findNearest(tree, q[0] - h * normal[0], q[1] - h * normal[1], q[2] - h * normal[2], slot);
      sum += Math.min(slot.distance, size);
      if (slot.distance < 0.03 * size) near++;
    }
    return { mean: sum / points.length, share: near / points.length };
  };
  let best: { normal: Vec3; through: Vec3; mean: number; share: number } | undefined;
  for (const axis of axes.vectors) {
    let normal = unit(axis as unknown as Vec3);
    let through = centre;
    let now = miss(normal, through);
    for (let step = 0.3; step > 0.004; step /= 2) {
      for (let round = 0; round < 3; round++) {
        const side = unit(cross(normal, Math.abs(normal[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0]));
        const other = cross(normal, side);
        const tries = [side, other].flatMap((way) =>
          [1, -1].map((sign) => ({
            normal: unit([
              normal[0] + sign * step * way[0],
              normal[1] + sign * step * way[1],
              normal[2] + sign * step * way[2],
            ]),
            through,
          })),
        );
        for (const sign of [1, -1]) {
          const h = sign * step * size * 0.2;
          tries.push({
            normal,
            through: [through[0] + h * normal[0], through[1] + h * normal[1], through[2] + h * normal[2]],
          });
        }
        const judged = tries
          .map((one) => ({ ...one, ...miss(one.normal, one.through) }))
          .sort((a, b) => a.mean - b.mean)[0];
        if (judged.mean >= now.mean) break;
        now = judged;
        normal = judged.normal;
        through = judged.through;
      }
    }
    if (best === undefined || now.mean < best.mean) best = { normal, through, ...now };
  }
  if (best === undefined) return undefined;
  const flat = flatCut(mesh);
  const y0 = best.normal;
  const inPlane = (a: Vec3): Vec3 => {
    const h = dot(a, y0);
    return [a[0] - h * y0[0], a[1] - h * y0[1], a[2] - h * y0[2]];
  };
  let up: Vec3;
  let sure = best.share;
  if (flat !== undefined && Math.hypot(...inPlane(flat.normal)) > 0.7) {
    const way = inPlane(flat.normal);
    up = unit([-way[0], -way[1], -way[2]]);
  } else {
    const long = axes.vectors
      .map((a) => inPlane(a as unknown as Vec3))
      .sort((a, b) => Math.hypot(...b) - Math.hypot(...a))[0];
    up = unit(long);
    sure *= 0.5;
  }
  // The upper half of the points hangs over the lower quarter, toward the face.
  const heights = points.map((q) => dot(sub(q, centre), up));
  const sorted = heights.toSorted((a, b) => a - b);
  const meanOf = (keep: (h: number) => boolean): Vec3 => {
    const list = points.filter((_, i) => keep(heights[i]));
    return [0, 1, 2].map((k) => list.reduce((s, q) => s + q[k], 0) / Math.max(1, list.length)) as unknown as Vec3;
  };
  const lean = inPlane(
    sub(
      meanOf((h) => h > sorted[Math.floor(sorted.length * 0.5)]),
      meanOf((h) => h < sorted[Math.floor(sorted.length * 0.25)]),
    ),
  );
  const level = dot(lean, up);
  let x: Vec3 = [lean[0] - level * up[0], lean[1] - level * up[1], lean[2] - level * up[2]];
  if (!(Math.hypot(...x) > 0)) x = cross(y0, up);
  if (Math.hypot(...x) < 0.02 * size) sure *= 0.6;
  const forward = unit(x);
  const left = cross(up, forward);
  return { matrix: frame(centre, forward, left, up), method: 'guess', confidence: Math.max(0.05, Math.min(0.9, sure)) };
}

/** The largest flat area of a mesh, when it is a cut: more than 2 % of the whole in one plane direction. */
function flatCut(mesh: Mesh): { normal: Vec3 } | undefined {
  const { positions: p, triangles: t } = mesh;
  const normals = faceNormals(mesh);
  const bins = new Map<string, { area: number; sum: number[] }>();
  let total = 0;
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const n: Vec3 = [normals[f], normals[f + 1], normals[f + 2]];
    const area =
      Math.hypot(
        ...cross(
          [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]],
          [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]],
        ),
      ) / 2;
    total += area;
    // Faces of one cut agree in direction to a fraction of a degree; a curved surface spreads over many bins.
    const key = n.map((x) => Math.round(x * 200)).join();
    const bin = bins.get(key);
    if (bin === undefined) bins.set(key, { area, sum: n.map((x) => x * area) });
    else {
      bin.area += area;
      n.forEach((x, k) => (bin.sum[k] += x * area));
    }
  }
  let best: { area: number; sum: number[] } | undefined;
  for (const bin of bins.values()) if (best === undefined || bin.area > best.area) best = bin;
  return best !== undefined && best.area > 0.02 * total ? { normal: unit(best.sum as unknown as Vec3) } : undefined;
}
