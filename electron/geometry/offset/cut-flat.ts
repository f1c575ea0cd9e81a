/**
 * A closed surface cut by a plane and closed again flat. Made for liners: several closed pieces inside one another
 * (the two sides of a shell) give a ring-shaped rim.
 */
import earcut from 'earcut';
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { dropUnusedVertices } from '../mesh/compact.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { ringBetween } from './ring-between.ts';

/** Vertices nearer the plane than this are counted as on the far side, mm. */
const ON_PLANE_MM = 2 ** -14;
/** Vertices or faces gone through between two ticks: a few milliseconds. */
const TICK_ITEMS = 32_768;
/** How far a rim is bent, relative to its size, for the triangulator only. */
const BEND = 2 ** -16;

export interface FlatCut {
  readonly mesh: Mesh;
  /** Area of the rim or cap made, mm². */
  readonly cutAreaMm2: number;
  /** Closed curves the plane met. */
  readonly loops: number;
}

/**
 * Keep what lies on the side the plane's normal points to; the cut is closed flat. The mesh must be closed and free
 * of self-intersection; new vertices are single precision, and take their colour from the ends of the edge
 * they cut. Gives no faces when nothing is left, the same faces when nothing is cut. `tick` is called every few
 * milliseconds. O(faces + rim²).
 */
export function cutFlat(mesh: Mesh, plane: Plane, tick?: () => void): FlatCut {
  const { positions: p } = mesh;
  const length = Math.hypot(...plane.normal);
  const n = plane.normal.map((x) => x / length);
  const vertexCount = p.length / 3;
  const height = new Float64Array(vertexCount);
  for (let v = 0; v < vertexCount; v++) {
    if (v % TICK_ITEMS === 0) tick?.();
    height[v] =
      (p[v * 3] - plane.point[0]) * n[0] +
      (p[v * 3 + 1] - plane.point[1]) * n[1] +
      (p[v * 3 + 2] - plane.point[2]) * n[2];
  }
  const { open, rims } = cutOpen(mesh, height, tick);
  const caps: number[] = [];
  const cutAreaMm2 = fillRims(rims, open.positions, n, caps);
  return { mesh: closedBy(open, caps), cutAreaMm2, loops: rims.length };
}

/** A surface cut open: its rims run so that what was cut away lies on the left. */
export interface OpenedSurface {
  readonly open: Mesh;
  readonly rims: readonly (readonly number[])[];
  /** New vertices by the edge they cut: lower vertex · vertices + higher. */
  readonly ofEdge: ReadonlyMap<number, number>;
}

/**
 * Keep where `heightMm`, one per vertex, is above 0, cutting edges where it passes 0 between their ends. Changes
 * `heightMm` where it is nearly 0. `between` tells the height between two vertices where it is not their straight mean;
 * `shares` where an edge is cut, whatever the heights of its ends: as a share of it from its lower vertex, at lower
 * vertex · vertices + higher. Same demands and cost as `cutFlat`.
 */
export function cutOpen(
  mesh: Mesh,
  heightMm: Float64Array,
  tick?: () => void,
  between?: HeightAt,
  shares?: ReadonlyMap<number, number>,
): OpenedSurface {
  for (let v = 0; v < heightMm.length; v++) if (Math.abs(heightMm[v]) < ON_PLANE_MM) heightMm[v] = -ON_PLANE_MM;
  // A vertex on the plane is the rim's own; cutting beside it would make faces too thin to hold in single precision.
  // Unless two rims meet there: those are kept apart.
  const apart = new Set<number>();
  let cut = cutFaces(mesh, heightMm, apart, tick, between, shares);
  while (cut.meeting.length > 0) {
    for (const v of cut.meeting) apart.add(v);
    cut = cutFaces(mesh, heightMm, apart, tick, between, shares);
  }
  const { positions, triangles, colours, next, ofEdge } = cut;
  const shape = { positions, triangles };
  return { open: colours === undefined ? shape : { ...shape, colours }, rims: closeRims(next), ofEdge };
}

/** The surface with the faces of its rims. */
function closedBy(open: Mesh, faces: readonly number[]): Mesh {
  const triangles = new Uint32Array(open.triangles.length + faces.length);
  triangles.set(open.triangles);
  triangles.set(faces, open.triangles.length);
  return dropUnusedVertices({ ...open, triangles });
}

export interface Cut {
  readonly mesh: Mesh;
  readonly rimAreaMm2: number;
  /** Mean width of the rim's faces, mm; 0 where they are no ring. */
  readonly rimMm: number;
  /** How far the rims stray from the line drawn for them, mm, where there is one. */
  readonly offLineMm?: number;
  /** The rims of a shell's inner side (of its only side without a wall): closed lines. */
  readonly inner: readonly (readonly Vec3[])[];
}

/**
 * Close a surface cut open, its rims filled as `laid` lays them flat (see `fillLaidFlat`); `isFlat`: without bending them;
 * `beside`: places where the vertices of two rims lie beside those they are to be joined to, if not where they are.
 */
export function closeCut(
  open: Mesh,
  rims: readonly (readonly number[])[],
  laid: (positions: Float64Array, rim: readonly number[]) => number[],
  isFlat: boolean,
  beside = open.positions,
  tick?: () => void,
): Cut {
  const { positions } = open;
  const filled = fillLaidFlat(positions, rims, laid);
  const { holes } = filled;
  // Laying flat a rim that is not bends it: between two lines faces are better found where they are.
  const isBent = !isFlat && rims.length === 2 && holes.length === 1;
  const triangles = isBent ? ringBetween(beside, rims[0], rims[1], tick) : filled.triangles;
  let rimAreaMm2 = 0;
  const faces = Uint32Array.from(triangles);
  for (let h = 0; h < faces.length; h += 3) rimAreaMm2 += faceCross(positions, faces, h) / 2;
  const lengthOf = (rim: readonly number[]): number =>
    rim.reduce((sum, v, i) => {
      const w = rim[(i + 1) % rim.length];
      return sum + Math.hypot(...[0, 1, 2].map((k) => positions[v * 3 + k] - positions[w * 3 + k]));
    }, 0);
  const bothSides = rims.reduce((sum, rim) => sum + lengthOf(rim), 0);
  return {
    mesh: closedBy(open, triangles),
    rimAreaMm2,
    rimMm: holes.length === 0 ? 0 : (2 * rimAreaMm2) / bothSides,
    inner: (holes.length > 0 ? holes : rims).map((rim) =>
      rim.map((v): Vec3 => [positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]]),
    ),
  };
}

interface CutFaces {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  readonly colours: Uint8Array | undefined;
  /** Next rim vertex after each, the cut-away side on the left: as the cap must run. */
  readonly next: Map<number, number>;
  readonly ofEdge: ReadonlyMap<number, number>;
  /** Vertices of the mesh that more than one rim would pass. */
  readonly meeting: readonly number[];
}

function cutFaces(
  mesh: Mesh,
  height: Float64Array,
  apart: ReadonlySet<number>,
  tick: (() => void) | undefined,
  heightAt: HeightAt | undefined,
  shares: ReadonlyMap<number, number> | undefined,
): CutFaces {
  const { positions: p, triangles: t } = mesh;
  const vertexCount = p.length / 3;
  const cutCount = countCrossing(t, height, tick);
  // An edge that is cut has two faces, and a face two such edges: as many new vertices as faces, and one face more each.
  const positions = new Float64Array(p.length + 6 * cutCount);
  positions.set(p);
  const colours = mesh.colours === undefined ? undefined : new Uint8Array(positions.length);
  if (mesh.colours !== undefined) colours?.set(mesh.colours);
  let end = p.length;
  const triangles = new Uint32Array(t.length + 3 * cutCount);
  let faces = 0;
  const push = (a: number, b: number, c: number): void => {
    triangles[faces++] = a;
    triangles[faces++] = b;
    triangles[faces++] = c;
  };
  const cutVertex = new Map<number, number>();
  const onPlane = (v: number): boolean => height[v] === -ON_PLANE_MM && !apart.has(v);
  const cutAt = (a: number, b: number): number => {
    if (onPlane(a)) return a;
    if (onPlane(b)) return b;
    const [low, high] = a < b ? [a, b] : [b, a];
    const key = low * vertexCount + high;
    let v = cutVertex.get(key);
    if (v === undefined) {
      v = end / 3;
      const told = shares?.get(key);
      const s = told === undefined ? crossing(p, low * 3, high * 3, height[low], height[high], heightAt) : inside(told);
      const between = (of: ArrayLike<number>, k: number): number =>
        of[low * 3 + k] + s * (of[high * 3 + k] - of[low * 3 + k]);
      for (let k = 0; k < 3; k++) {
        positions[end + k] = Math.fround(between(p, k));
        if (mesh.colours !== undefined && colours !== undefined)
          colours[end + k] = Math.round(between(mesh.colours, k));
      }
      end += 3;
      cutVertex.set(key, v);
    }
    return v;
  };
  const next = new Map<number, number>();
  const meeting: number[] = [];
  const link = (from: number, to: number): void => {
    if (next.has(from) && from < vertexCount) meeting.push(from);
    next.set(from, to);
  };
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_ITEMS) === 0) tick?.();
    const kept = (height[t[f]] > 0 ? 1 : 0) + (height[t[f + 1]] > 0 ? 1 : 0) + (height[t[f + 2]] > 0 ? 1 : 0);
    if (kept === 0) continue;
    if (kept === 3) {
      push(t[f], t[f + 1], t[f + 2]);
      continue;
    }
    // Turn so that a is the odd one out.
    let k = 0;
    while (height[t[f + k]] > 0 !== (kept === 1)) k++;
    const a = t[f + k],
      b = t[f + ((k + 1) % 3)],
      c = t[f + ((k + 2) % 3)];
    const ab = cutAt(a, b),
      ac = cutAt(a, c);
    if (kept === 1) {
      push(a, ab, ac);
      link(ac, ab);
    } else if (ab === ac) {
      push(a, b, c);
    } else {
      push(ab, b, c);
      push(ab, c, ac);
      link(ab, ac);
    }
  }
  return {
    positions: positions.slice(0, end),
    triangles: triangles.slice(0, faces),
    colours: colours?.slice(0, end),
    next,
    ofEdge: cutVertex,
    meeting,
  };
}

/** Height of a point, mm, undefined where it has none of its own. */
type HeightAt = (x: number, y: number, z: number) => number | undefined;

/** Steps to where an edge passes 0, and how near to it or to the edge's ends they go: mm, share. */
const CROSSING_STEPS = 4;
const CROSSED_MM = 2 ** -10;
const LEAST_SHARE = 2 ** -7;

/** Where an edge passes 0, as a share of it: by straight interpolation, renewed with the heights found there (regula falsi). */
function crossing(
  p: Float64Array,
  a: number,
  b: number,
  atA: number,
  atB: number,
  heightAt: HeightAt | undefined,
): number {
  let s = atA / (atA - atB);
  if (heightAt === undefined) return s;
  let [low, high, atLow, atHigh] = [0, 1, atA, atB];
  for (let step = 0; step < CROSSING_STEPS; step++) {
    const height = heightAt(
      p[a] + s * (p[b] - p[a]),
      p[a + 1] + s * (p[b + 1] - p[a + 1]),
      p[a + 2] + s * (p[b + 2] - p[a + 2]),
    );
    if (height === undefined || Math.abs(height) < CROSSED_MM) break;
    if (height > 0 === atLow > 0) [low, atLow] = [s, height];
    else [high, atHigh] = [s, height];
    s = low + ((high - low) * atLow) / (atLow - atHigh);
  }
  return inside(s);
}

/** A share of an edge that leaves something on either side. */
const inside = (share: number): number => Math.min(1 - LEAST_SHARE, Math.max(LEAST_SHARE, share));

/** Faces with corners on both sides. */
function countCrossing(t: Uint32Array, height: Float64Array, tick: (() => void) | undefined): number {
  let crossing = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_ITEMS) === 0) tick?.();
    const above = height[t[f]] > 0;
    if (height[t[f + 1]] > 0 !== above || height[t[f + 2]] > 0 !== above) crossing++;
  }
  return crossing;
}

function closeRims(next: Map<number, number>): number[][] {
  const rims: number[][] = [];
  const seen = new Set<number>();
  for (const start of next.keys()) {
    if (seen.has(start)) continue;
    const rim: number[] = [];
    for (let v = start; !seen.has(v); v = next.get(v) as number) {
      seen.add(v);
      rim.push(v);
    }
    rims.push(rim);
  }
  return rims;
}

/** The area of a closed line as a vector: square to the plane in which it seems largest (Newell). */
export function squareTo(positions: Float64Array, rim: readonly number[]): [number, number, number] {
  const n: [number, number, number] = [0, 0, 0];
  for (const [i, v] of rim.entries()) {
    const [a, b] = [v * 3, rim[(i + 1) % rim.length] * 3];
    for (let k = 0; k < 3; k++) {
      const [l, m] = [(k + 1) % 3, (k + 2) % 3];
      n[k] += (positions[a + l] * positions[b + m] - positions[a + m] * positions[b + l]) / 2;
    }
  }
  return n;
}

/** Points of a rim in the plane square to `n` (any length), seen against it: xy pairs. */
export function flatOn(square: readonly number[]): (positions: Float64Array, rim: readonly number[]) => number[] {
  const length = Math.hypot(square[0], square[1], square[2]);
  const n = square.map((c) => c / length);
  // Axes of the plane, so that u × v = -n.
  const axis =
    Math.abs(n[0]) <= Math.abs(n[1]) && Math.abs(n[0]) <= Math.abs(n[2]) ? 0 : Math.abs(n[1]) <= Math.abs(n[2]) ? 1 : 2;
  const e = [0, 0, 0];
  e[axis] = 1;
  const v = cross(n, e);
  const size = Math.hypot(v[0], v[1], v[2]);
  for (let k = 0; k < 3; k++) v[k] /= size;
  const u = cross(n, v);
  return (positions, rim) => {
    const out: number[] = [];
    for (const w of rim) {
      const x = positions[w * 3],
        y = positions[w * 3 + 1],
        z = positions[w * 3 + 2];
      out.push(x * u[0] + y * u[1] + z * u[2], x * v[0] + y * v[1] + z * v[2]);
    }
    return out;
  };
}

/** Fill the rims flat, holes left open; pushes faces looking against `n`, gives their area. */
export function fillRims(
  rims: readonly (readonly number[])[],
  positions: Float64Array,
  n: readonly number[],
  triangles: number[],
): number {
  const filled = fillLaidFlat(positions, rims, flatOn(n));
  for (const v of filled.triangles) triangles.push(v);
  return filled.areaMm2;
}

export interface FilledRims {
  /** Vertices of the rims' faces. */
  readonly triangles: readonly number[];
  /** As laid flat, mm². */
  readonly areaMm2: number;
  /** Rims that are holes in another's face: of a shell, those of its inner side. */
  readonly holes: readonly (readonly number[])[];
}

/**
 * Fill rims, holes left open, in the plane in which `flat` lays them: there outer rims run counter-clockwise and holes
 * clockwise. O(rim²).
 */
export function fillLaidFlat(
  positions: Float64Array,
  rims: readonly (readonly number[])[],
  flat: (positions: Float64Array, rim: readonly number[]) => number[],
): FilledRims {
  const triangles: number[] = [];
  const outlines = rims.map((rim) => {
    const points = flat(positions, rim);
    const area = signedArea(points);
    bend(points, area > 0 ? BEND : -BEND);
    return { rim, points, area };
  });
  // Seen against n, the material is on the left: outer rims run counter-clockwise, holes clockwise.
  const outer = outlines.filter((o) => o.area > 0).toSorted((a, b) => a.area - b.area);
  const holesOf = new Map(outer.map((o) => [o, [] as typeof outlines]));
  for (const hole of outlines) {
    if (hole.area > 0) continue;
    const home = outer.find((o) => o.area > -hole.area && holds(o.points, hole.points[0], hole.points[1]));
    if (home !== undefined) holesOf.get(home)?.push(hole);
  }
  let area = 0;
  for (const outline of outer) {
    const points = [...outline.points];
    const vertices = [...outline.rim];
    const starts: number[] = [];
    area += outline.area;
    for (const hole of holesOf.get(outline) ?? []) {
      starts.push(vertices.length);
      points.push(...hole.points);
      vertices.push(...hole.rim);
      area += hole.area;
    }
    const cut = earcut(points, starts, 2);
    for (let i = 0; i < cut.length; i += 3) {
      const [a, b, c] = [cut[i], cut[i + 1], cut[i + 2]];
      const turn =
        (points[b * 2] - points[a * 2]) * (points[c * 2 + 1] - points[a * 2 + 1]) -
        (points[b * 2 + 1] - points[a * 2 + 1]) * (points[c * 2] - points[a * 2]);
      if (turn < 0) [cut[i + 1], cut[i + 2]] = [c, b];
    }
    flipToDelaunay(cut, flat(positions, vertices));
    for (const corner of cut) triangles.push(vertices[corner]);
  }
  return { triangles, areaMm2: area, holes: outlines.filter((o) => o.area <= 0).map(({ rim }) => rim) };
}

/** Flips of one edge at most, and how far (as a sine) the two angles facing it must exceed half a turn. */
const MOST_FLIPS = 64;
const BEYOND_HALF_TURN = 2 ** -30;

/**
 * Flip the inner edges of a flat triangulation until each is locally Delaunay (Lawson 1977). It takes out faces whose
 * corners are nearly in line, which rounding would fold over: a straight rim gives many. Changes `corners` in place.
 */
function flipToDelaunay(corners: number[], xy: readonly number[]): void {
  const count = xy.length / 2;
  const key = (a: number, b: number): number => a * count + b;
  const across = new Map<number, number>();
  for (let i = 0; i < corners.length; i += 3) {
    for (let k = 0; k < 3; k++) across.set(key(corners[i + k], corners[i + ((k + 1) % 3)]), i / 3);
  }
  const turn = (a: number, b: number, c: number): number =>
    (xy[b * 2] - xy[a * 2]) * (xy[c * 2 + 1] - xy[a * 2 + 1]) -
    (xy[b * 2 + 1] - xy[a * 2 + 1]) * (xy[c * 2] - xy[a * 2]);
  /** Angle at c in the triangle c, a, b, 0 to a whole turn: more than half when rounding has folded it over. */
  const angle = (c: number, a: number, b: number): number => {
    const dot =
      (xy[a * 2] - xy[c * 2]) * (xy[b * 2] - xy[c * 2]) +
      (xy[a * 2 + 1] - xy[c * 2 + 1]) * (xy[b * 2 + 1] - xy[c * 2 + 1]);
    const at = Math.atan2(turn(c, a, b), dot);
    return at < 0 ? at + 2 * Math.PI : at;
  };
  const open = [...across.keys()];
  let left = MOST_FLIPS * open.length;
  while (open.length > 0 && left-- > 0) {
    const edge = open.pop() as number;
    const a = Math.floor(edge / count),
      b = edge % count;
    const one = across.get(edge),
      two = across.get(key(b, a));
    if (one === undefined || two === undefined) continue;
    const apex = (face: number): number =>
      corners.slice(face * 3, face * 3 + 3).find((v) => v !== a && v !== b) as number;
    const c = apex(one),
      d = apex(two);
    if (across.has(key(c, d)) || across.has(key(d, c))) continue;
    if (!(angle(c, a, b) + angle(d, b, a) > Math.PI + BEYOND_HALF_TURN)) continue;
    // a, d, b, c must be convex: the new faces then look the same way.
    if (!(turn(c, a, d) > 0 && turn(d, b, c) > 0)) continue;
    across.delete(edge);
    across.delete(key(b, a));
    [corners[one * 3], corners[one * 3 + 1], corners[one * 3 + 2]] = [c, a, d];
    [corners[two * 3], corners[two * 3 + 1], corners[two * 3 + 2]] = [d, b, c];
    for (const face of [one, two]) {
      for (let k = 0; k < 3; k++) {
        const side = key(corners[face * 3 + k], corners[face * 3 + ((k + 1) % 3)]);
        across.set(side, face);
        open.push(side);
      }
    }
  }
}

/**
 * Bend straight runs of a rim a little into the material, so that no face is made of points in line (the triangulator
 * would also leave such points out, and the surface would be open there).
 */
function bend(points: number[], by: number): void {
  let cx = 0,
    cy = 0,
    largest = 0;
  for (let i = 0; i < points.length; i += 2) {
    cx += (2 * points[i]) / points.length;
    cy += (2 * points[i + 1]) / points.length;
  }
  for (let i = 0; i < points.length; i += 2) {
    largest = Math.max(largest, (points[i] - cx) ** 2 + (points[i + 1] - cy) ** 2);
  }
  for (let i = 0; i < points.length; i += 2) {
    const x = points[i] - cx,
      y = points[i + 1] - cy;
    const share = 1 + (by * (x * x + y * y)) / largest;
    points[i] = cx + x * share;
    points[i + 1] = cy + y * share;
  }
}

function cross(a: readonly number[], b: readonly number[]): number[] {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function signedArea(points: readonly number[]): number {
  let twice = 0;
  for (let i = 0; i < points.length; i += 2) {
    const j = (i + 2) % points.length;
    twice += points[i] * points[j + 1] - points[j] * points[i + 1];
  }
  return twice / 2;
}

function holds(points: readonly number[], x: number, y: number): boolean {
  let inside = false;
  for (let i = 0; i < points.length; i += 2) {
    const j = (i + 2) % points.length;
    const ay = points[i + 1],
      by = points[j + 1];
    if (ay > y === by > y) continue;
    if (x < points[i] + ((y - ay) / (by - ay)) * (points[j] - points[i])) inside = !inside;
  }
  return inside;
}
