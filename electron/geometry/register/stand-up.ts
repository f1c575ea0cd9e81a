/**
 * Standing a head upright in the form frame: origin midway between the tragions, x forward, y to the wearer's left,
 * z up, Frankfurt plane level (ISO 7250-1).
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { eigenSymmetric, fitSimilarity } from './similarity.ts';
import { cross, dot, unit } from '../mesh/vector.ts';

/** By the definition of a head's, limb's, torso's or part's frame; by a fit of other landmarks; by a guess. */
export type StandMethod = 'frankfurt' | 'limb' | 'torso' | 'part' | 'landmarks' | 'guess';

export interface Stood {
  readonly matrix: Matrix4;
  readonly method: StandMethod;
  /** 1 for the exact definition; less for a fit or a guess. */
  readonly confidence: number;
}

const sub = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const middle = (a: Vec3, b: Vec3): Vec3 => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];

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

/** The mirror plane is not turned by less than this: well under what a guess can tell. */
const FINEST_TURN_RAD = 0.004;
/** Points looked at by the guess. */
const GUESS_POINTS = 1500;

/**
 * A first guess without landmarks, to be confirmed by a person: the mirror plane, found from the principal axes and
 * settled by mirroring the points onto the surface; up, away from the flat cut (or the longest way; so the level is
 * no better than the cut's); forward, where the outline turns most. The origin is placed by the proportions of a
 * middling head. Confidence is the share of the points that the mirror brings back to within 3 % of
 * the size, lowered where up or forward is doubtful. `tick` is called every few hundred points, with the share done.
 * O(faces log faces).
 */
export function standByGuess(mesh: Mesh, tick?: (share: number) => void): Stood | undefined {
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
  let done = 0;
  const tree = buildBvh(mesh, () => tick?.(0));
  const slot = nearestSlot();
  const miss = (normal: Vec3, through: Vec3): { mean: number; share: number } => {
    let sum = 0;
    let near = 0;
    for (const [i, q] of points.entries()) {
      if (i % 256 === 0) tick?.(done);
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
    for (let step = 0.3; step > FINEST_TURN_RAD; step /= 2) {
      done += 1 / 24;
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
  const flat = openEnd(mesh, () => tick?.(done));
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
  const across = unit(cross(up, y0));
  const head = brow(points, best.through, across, up);
  const facing = faceSide(mesh, best.through, { across, side: y0, up }, head, () => tick?.(done));
  if (!facing.sure) sure *= 0.5;
  const forward: Vec3 = facing.way > 0 ? across : [-across[0], -across[1], -across[2]];
  const back = facing.way > 0 ? head.low : -head.high;
  const x = back + BACK_SHARE * head.length,
    z = head.crown - CROWN_SHARE * head.length;
  const origin = [0, 1, 2].map((k) => (best?.through[k] as number) + x * forward[k] + z * up[k]) as unknown as Vec3;
  return {
    matrix: frame(origin, forward, cross(up, forward), up),
    method: 'guess',
    confidence: Math.max(0.05, Math.min(0.9, sure)),
  };
}

/** Of a middling head, in shares of its length: crown over tragions, brow below the crown, tragions from the back. */
const CROWN_SHARE = 131 / 197;
const BROW_SHARE = 90 / 197;
const BACK_SHARE = 102 / 197;
/** Chin below the crown. */
const CHIN_SHARE = 240 / 197;

interface Brow {
  readonly crown: number;
  /** Length of the head at the brow, and its ends along `across`. */
  readonly length: number;
  readonly low: number;
  readonly high: number;
}

/** The head's length, taken a share of that length below the crown: a few rounds settle it. */
function brow(points: readonly Vec3[], through: Vec3, across: Vec3, up: Vec3): Brow {
  const placed = points.map((q) => sub(q, through)).map((d) => ({ x: dot(d, across), z: dot(d, up) }));
  const crown = placed.reduce((most, q) => Math.max(most, q.z), -Infinity);
  const reach = placed.reduce((most, q) => Math.max(most, Math.abs(q.x)), 0);
  let now: Brow = { crown, length: 2 * reach, low: -reach, high: reach };
  for (let round = 0; round < 8; round++) {
    const level = crown - BROW_SHARE * now.length;
    let low = Infinity,
      high = -Infinity;
    for (const { x, z } of placed) {
      if (Math.abs(z - level) > 0.1 * now.length) continue;
      low = Math.min(low, x);
      high = Math.max(high, x);
    }
    if (!(high > low)) break;
    now = { crown, length: high - low, low, high };
  }
  return now;
}

/** Levels from crown to chin at which the outline in the mirror plane is looked at. */
const LEVELS = 48;

/**
 * Which way along `across` the face looks: its outline in the mirror plane (brow, nose, lips, chin) turns far more
 * than that of the back of the head. Sure when it turns half as much again.
 */
function faceSide(
  mesh: Mesh,
  through: Vec3,
  axes: { readonly across: Vec3; readonly side: Vec3; readonly up: Vec3 },
  head: Brow,
  tick: () => void,
): { way: 1 | -1; sure: boolean } {
  const { positions: p, triangles: t } = mesh;
  const step = (CHIN_SHARE * head.length) / LEVELS;
  const front = new Float64Array(LEVELS).fill(-Infinity);
  const back = new Float64Array(LEVELS).fill(Infinity);
  const sideOf = new Float64Array(p.length / 3);
  for (let v = 0; v < sideOf.length; v++) {
    if (v % TICK_FACES === 0) tick();
    sideOf[v] = dot([p[v * 3] - through[0], p[v * 3 + 1] - through[1], p[v * 3 + 2] - through[2]], axes.side);
    if (sideOf[v] === 0) sideOf[v] = Number.MIN_VALUE;
  }
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_FACES) === 0) tick();
    const above = (sideOf[t[f]] > 0 ? 1 : 0) + (sideOf[t[f + 1]] > 0 ? 1 : 0) + (sideOf[t[f + 2]] > 0 ? 1 : 0);
    if (above === 0 || above === 3) continue;
    const ends: { x: number; z: number }[] = [];
    for (let k = 0; k < 3; k++) {
      const a = t[f + k],
        b = t[f + ((k + 1) % 3)];
      if (sideOf[a] > 0 === sideOf[b] > 0) continue;
      const s = sideOf[a] / (sideOf[a] - sideOf[b]);
      const d = [0, 1, 2].map((c) => p[a * 3 + c] + s * (p[b * 3 + c] - p[a * 3 + c]) - through[c]) as unknown as Vec3;
      ends.push({ x: dot(d, axes.across), z: head.crown - dot(d, axes.up) });
    }
    if (ends.length < 2) continue;
    const [upper, lower] = ends[0].z < ends[1].z ? ends : [ends[1], ends[0]];
    const last = Math.min(LEVELS - 1, Math.floor(lower.z / step - 0.5));
    for (let level = Math.max(0, Math.ceil(upper.z / step - 0.5)); level <= last; level++) {
      const share = ((level + 0.5) * step - upper.z) / (lower.z - upper.z);
      const x = upper.x + share * (lower.x - upper.x);
      front[level] = Math.max(front[level], x);
      back[level] = Math.min(back[level], x);
    }
  }
  let frontTurns = 0,
    backTurns = 0;
  for (let level = 1; level + 1 < LEVELS; level++) {
    // Near the crown both sides run together, and say nothing.
    if (!(front[level - 1] - back[level - 1] > head.length / 2) || !(front[level + 1] > back[level + 1])) continue;
    if (!(front[level] > back[level])) continue;
    frontTurns += Math.abs(front[level - 1] - 2 * front[level] + front[level + 1]);
    backTurns += Math.abs(back[level - 1] - 2 * back[level] + back[level + 1]);
  }
  const [more, less] = frontTurns > backTurns ? [frontTurns, backTurns] : [backTurns, frontTurns];
  return { way: frontTurns > backTurns ? 1 : -1, sure: more > 1.5 * less };
}

/** Faces gone through between two ticks: a few milliseconds. */
const TICK_FACES = 12_288;

/**
 * Which way the open or cut end of a body looks (the neck's, of a head): against the sum of the faces where the
 * surface is open there, along its largest flat area where it is closed. Undefined when it has neither. `tick` is
 * called every few milliseconds. O(faces).
 */
export function openEnd(mesh: Mesh, tick?: () => void): { normal: Vec3 } | undefined {
  const { positions: p, triangles: t } = mesh;
  const faceCount = t.length / 3;
  // Twice the area of each face times its normal.
  const area = new Float64Array(t.length);
  let x = 0,
    y = 0,
    z = 0,
    total = 0;
  for (let face = 0; face < faceCount; face++) {
    if (face % TICK_FACES === 0) tick?.();
    const f = face * 3;
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const ux = p[b] - p[a],
      uy = p[b + 1] - p[a + 1],
      uz = p[b + 2] - p[a + 2],
      vx = p[c] - p[a],
      vy = p[c + 1] - p[a + 1],
      vz = p[c + 2] - p[a + 2];
    x += area[f] = uy * vz - uz * vy;
    y += area[f + 1] = uz * vx - ux * vz;
    z += area[f + 2] = ux * vy - uy * vx;
    total += Math.sqrt(area[f] ** 2 + area[f + 1] ** 2 + area[f + 2] ** 2);
  }
  // Over a closed surface the faces sum to nothing, so what is missing is the end.
  if (Math.hypot(x, y, z) > END_SHARE * total) return { normal: unit([-x, -y, -z]) };
  return flatCut(area, total, tick);
}

/** Share of the whole surface from which an opening or a flat area counts as the end. */
const END_SHARE = 0.02;
/** Faces of one cut agree in direction to a fraction of a degree; a curved surface spreads over many bins. */
const BINS = 200;

/** The largest flat area of a mesh, when it is a cut: more than 2 % of the whole in one plane direction. */
function flatCut(area: Float64Array, total: number, tick?: () => void): { normal: Vec3 } | undefined {
  const bins = new Map<number, [number, number, number]>();
  for (let f = 0; f < area.length; f += 3) {
    if (f % TICK_FACES === 0) tick?.();
    const size = Math.sqrt(area[f] ** 2 + area[f + 1] ** 2 + area[f + 2] ** 2);
    if (!(size > 0)) continue;
    let key = 0;
    for (let k = 0; k < 3; k++) key = key * (2 * BINS + 1) + Math.round((BINS * area[f + k]) / size) + BINS;
    const bin = bins.get(key);
    if (bin === undefined) bins.set(key, [area[f], area[f + 1], area[f + 2]]);
    else for (let k = 0; k < 3; k++) bin[k] += area[f + k];
  }
  let best: Vec3 = [0, 0, 0];
  let most = 0;
  let seen = 0;
  for (const bin of bins.values()) {
    if (seen++ % TICK_FACES === 0) tick?.();
    const square = bin[0] ** 2 + bin[1] ** 2 + bin[2] ** 2;
    if (square > most) [best, most] = [bin, square];
  }
  return Math.sqrt(most) > END_SHARE * total ? { normal: unit(best) } : undefined;
}
