/**
 * Where pins can hold two pieces together: points of the common flat face with enough material around them, both
 * across the face and along the pin on either side, spread as far apart as they go.
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { axesOf, findCap } from './cap.ts';
import { unit } from '../mesh/vector.ts';
import { seenFrom, type CutPiece } from './cut-apart.ts';

export interface JointSize {
  /** Radius of the hole, mm. */
  readonly radiusMm: number;
  /** How deep it goes into each piece, mm; down to half of it in bent walls. */
  readonly depthMm: number;
  /** Material that must stay around it, mm. */
  readonly wallMm: number;
  /** Pins stand at least this far apart, mm. */
  readonly spacingMm: number;
}

export interface Joint {
  /** Numbers of the two pieces; the first lies where the plane's normal points. */
  readonly pieces: readonly [number, number];
  readonly plane: number;
  readonly centre: Vec3;
  /** Least distance from the hole's surface to the outside, mm. */
  readonly wallMm: number;
  /** How deep the hole goes, mm. */
  readonly depthMm: number;
}

/** A face broader than this many rooms of a pin takes pins along its edge as well. */
const EDGE_ROOMS = 6;
/** Steps along the rim, and along a pin, mm. */
const ALONG_RIM_MM = 2;
const ALONG_PIN_MM = 0.5;
/** Depths tried, as shares of the one asked for, until a seam has enough pins to hold it in place. */
const DEPTHS = [1, 0.75, 0.5];
const ENOUGH_PINS = 2;

type Flat = readonly [number, number];

interface Outline {
  readonly piece: number;
  /** Segments of its rims in the plane's axes: x, y, x, y. */
  readonly segments: Float64Array;
}

/**
 * Pins between the pieces of a solid cut by these planes, no nearer to one another than asked; none where the
 * material is too thin. The solid must be the one that was cut. O(rim² + candidates · depth · log faces) per plane.
 */
export function findJoints(
  solid: Mesh,
  pieces: readonly CutPiece[],
  planes: readonly Plane[],
  size: JointSize,
  tick?: () => void,
): Joint[] {
  const tree = buildBvh(solid, tick);
  const joints: Joint[] = [];
  const axes: PinAxis[] = [];
  for (const [number, plane] of planes.entries()) {
    const outlines = { ahead: [] as Outline[], behind: [] as Outline[] };
    for (const [index, piece] of pieces.entries()) {
      const side = piece.cuts.find((one) => one.plane === number);
      if (side === undefined) continue;
      tick?.();
      const outline = outlineOf(index, piece.mesh, seenFrom(plane, side), plane);
      if (outline !== undefined) outlines[side.ahead ? 'ahead' : 'behind'].push(outline);
    }
    for (const a of outlines.ahead) {
      for (const b of outlines.behind) {
        tick?.();
        const places = placesOn(a, b, size, tick);
        // Cuts of other pieces do not count: two halves are often cut at one level, each by a plane of its own.
        const near = new Set([a, b].flatMap(({ piece }) => pieces[piece].cuts.map((one) => one.plane)));
        const others = planes.filter((_, other) => other !== number && near.has(other));
        // One depth for a whole seam: the pins are cut to one length.
        let [chosen, depthMm]: [Place[], number] = [[], 0];
        for (const share of DEPTHS) {
          if (chosen.length >= ENOUGH_PINS) break;
          const depth = share * size.depthMm;
          const held = places.flatMap((place) => {
            tick?.();
            return deepEnough(place, plane, { others, tree, axes }, { ...size, depthMm: depth }) ?? [];
          });
          const apart = spread(held, size.spacingMm);
          if (apart.length > chosen.length) [chosen, depthMm] = [apart, depth];
        }
        for (const { centre, wallMm } of chosen) {
          axes.push({ centre, along: unit(plane.normal), half: depthMm });
          joints.push({ pieces: [a.piece, b.piece], plane: number, centre, wallMm, depthMm });
        }
      }
    }
  }
  return joints;
}

function outlineOf(piece: number, mesh: Mesh, seen: Plane, plane: Plane): Outline | undefined {
  const { rims } = findCap(mesh, seen);
  if (rims.length === 0) return undefined;
  const { u, v } = axesOf(unit(plane.normal));
  const at = (vertex: number, axis: Vec3): number =>
    [0, 1, 2].reduce((sum, k) => sum + (mesh.positions[3 * vertex + k] - plane.point[k]) * axis[k], 0);
  const segments: number[] = [];
  for (const rim of rims) {
    for (const [i, from] of rim.entries()) {
      const to = rim[(i + 1) % rim.length];
      segments.push(at(from, u), at(from, v), at(to, u), at(to, v));
    }
  }
  return { piece, segments: Float64Array.from(segments) };
}

interface Place {
  readonly flat: Flat;
  readonly centre: Vec3;
  readonly wallMm: number;
}

/** Middles between opposite rims of the first outline that lie inside both with room around them. */
function placesOn(a: Outline, b: Outline, size: JointSize, tick?: () => void): Place[] {
  const { segments } = a;
  const places: Place[] = [];
  const needed = size.radiusMm + size.wallMm;
  for (let s = 0; s < segments.length; s += 4) {
    const [x0, y0, x1, y1] = segments.subarray(s, s + 4);
    const length = Math.hypot(x1 - x0, y1 - y0);
    if (length === 0) continue;
    const steps = Math.max(1, Math.round(length / ALONG_RIM_MM));
    for (let k = 0; k < steps; k++) {
      tick?.();
      const share = (k + 1 / 2) / steps;
      const [x, y] = [x0 + share * (x1 - x0), y0 + share * (y1 - y0)];
      // Square to the rim, both ways: which one is inside depends on the side the outline was read from.
      for (const way of [1, -1]) {
        const across = reach(segments, x, y, (-way * (y1 - y0)) / length, (way * (x1 - x0)) / length, s);
        if (across === undefined || across < 2 * needed) continue;
        // In the middle of a wall; on a broad face near its edge too, where pins hold better.
        for (const half of across > EDGE_ROOMS * needed ? [across / 2, (EDGE_ROOMS / 2) * needed] : [across / 2]) {
          const flat: Flat = [x - (way * half * (y1 - y0)) / length, y + (way * half * (x1 - x0)) / length];
          if (!inside(a.segments, flat) || !inside(b.segments, flat)) continue;
          const room = Math.min(clearance(a.segments, flat), clearance(b.segments, flat));
          if (room < needed) continue;
          places.push({ flat, centre: [0, 0, 0], wallMm: room - size.radiusMm });
        }
      }
    }
  }
  return places;
}

/** Distance along a ray in the plane to the first other segment. */
function reach(segments: Float64Array, x: number, y: number, dx: number, dy: number, own: number): number | undefined {
  let nearest: number | undefined;
  for (let s = 0; s < segments.length; s += 4) {
    if (s === own) continue;
    const ex = segments[s + 2] - segments[s],
      ey = segments[s + 3] - segments[s + 1];
    const across = dx * ey - dy * ex;
    if (across === 0) continue;
    const wx = segments[s] - x,
      wy = segments[s + 1] - y;
    const along = (wx * ey - wy * ex) / across;
    const share = (wx * dy - wy * dx) / across;
    if (share >= 0 && share <= 1 && along > 0 && (nearest === undefined || along < nearest)) nearest = along;
  }
  return nearest;
}

function inside(segments: Float64Array, [x, y]: Flat): boolean {
  let within = false;
  for (let s = 0; s < segments.length; s += 4) {
    const ay = segments[s + 1],
      by = segments[s + 3];
    if (ay > y === by > y) continue;
    if (x < segments[s] + ((y - ay) / (by - ay)) * (segments[s + 2] - segments[s])) within = !within;
  }
  return within;
}

function clearance(segments: Float64Array, [x, y]: Flat): number {
  let least = Infinity;
  for (let s = 0; s < segments.length; s += 4) {
    const ex = segments[s + 2] - segments[s],
      ey = segments[s + 3] - segments[s + 1];
    const square = ex * ex + ey * ey;
    const share = square === 0 ? 0 : ((x - segments[s]) * ex + (y - segments[s + 1]) * ey) / square;
    const held = Math.min(1, Math.max(0, share));
    least = Math.min(least, Math.hypot(x - segments[s] - held * ex, y - segments[s + 1] - held * ey));
  }
  return least;
}

interface Surroundings {
  /** The other planes that have cut either piece. */
  readonly others: readonly Plane[];
  readonly tree: Bvh;
  /** Pins of the seams before: middle, direction and half length of each. */
  readonly axes: readonly PinAxis[];
}

interface PinAxis {
  readonly centre: Vec3;
  readonly along: Vec3;
  readonly half: number;
}

function distanceToAxis({ centre, along, half }: PinAxis, x: number, y: number, z: number): number {
  const d = [x - centre[0], y - centre[1], z - centre[2]];
  const at = Math.min(half, Math.max(-half, d[0] * along[0] + d[1] * along[1] + d[2] * along[2]));
  return Math.hypot(d[0] - at * along[0], d[1] - at * along[1], d[2] - at * along[2]);
}

/**
 * The place with its centre and wall, if there is material all along the pin, away from the surface, from the other
 * cuts and from the pins that are set.
 */
function deepEnough(
  place: Place,
  plane: Plane,
  { others, tree, axes }: Surroundings,
  size: JointSize,
): Place | undefined {
  const n = unit(plane.normal);
  const { u, v } = axesOf(n);
  const [s, t] = place.flat;
  const centre = [0, 1, 2].map((k) => plane.point[k] + s * u[k] + t * v[k]) as unknown as Vec3;
  const needed = size.radiusMm + size.wallMm;
  const slot = nearestSlot();
  let { wallMm } = place;
  const end = size.depthMm + size.wallMm;
  for (let depth = -end; depth <= end; depth += ALONG_PIN_MM) {
    const [x, y, z] = [0, 1, 2].map((k) => centre[k] + depth * n[k]);
    findNearest(tree, x, y, z, slot);
    // The bottom needs a wall too, but not a radius.
    const beyond = Math.max(0, Math.abs(depth) - size.depthMm);
    const room = slot.distance + beyond - size.radiusMm;
    if (room < size.wallMm) return undefined;
    wallMm = Math.min(wallMm, room);
    for (const axis of axes) {
      if (distanceToAxis(axis, x, y, z) < needed + size.radiusMm) return undefined;
    }
    for (const other of others) {
      const m = unit(other.normal);
      const away = Math.abs([x, y, z].reduce((sum, c, k) => sum + (c - other.point[k]) * m[k], 0));
      if (away < needed) return undefined;
    }
  }
  return { ...place, centre, wallMm };
}

/** The roomiest place first, then always the one farthest from those chosen, as long as that is far enough. */
function spread(places: readonly Place[], spacing: number): Place[] {
  if (places.length === 0) return [];
  const away = new Float64Array(places.length).fill(Infinity);
  const chosen: Place[] = [];
  let pick = places.reduce((best, place, i) => (place.wallMm > places[best].wallMm ? i : best), 0);
  while (away[pick] >= spacing) {
    chosen.push(places[pick]);
    const [x, y] = places[pick].flat;
    let farthest = 0;
    for (const [i, { flat }] of places.entries()) {
      away[i] = Math.min(away[i], Math.hypot(flat[0] - x, flat[1] - y));
      if (away[i] > away[farthest]) farthest = i;
    }
    pick = farthest;
  }
  return chosen;
}
