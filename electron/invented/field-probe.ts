/** Landmarks, spans and tapes taken on the exact surface of a field, not on a mesh of it: the truth of invented bodies. */
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Field } from '../geometry/figure/polygonise.ts';

export interface TrueSpan {
  readonly name: string;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly lengthMm: number;
}

export interface TrueGirth {
  readonly name: string;
  /** Three points of its plane, on the surface. */
  readonly through: readonly [Vec3, Vec3, Vec3];
  readonly lengthMm: number;
}

/** Longest ray, and its steps: no fold of the ear is thinner. */
const FAR_MM = 330;
const MARCH_MM = 2;
/** Halvings of a step that leave less than single precision holds. */
const HALVINGS = 24;
const PLACES = 10;
const TAPE_POINTS = 720;

/** Where the ray from inside first leaves the body. */
export function exit(field: Field, from: Vec3, way: Vec3): Vec3 {
  const at = (t: number): number => field(from[0] + t * way[0], from[1] + t * way[1], from[2] + t * way[2]);
  let leave = -1;
  let before = at(0);
  if (before >= 0) throw new Error('a landmark ray does not start inside the body');
  for (let t = MARCH_MM; t < FAR_MM; t += MARCH_MM) {
    const now = at(t);
    if (before < 0 && now >= 0) {
      leave = t;
      break;
    }
    before = now;
  }
  if (leave < 0) throw new Error('a landmark ray does not leave the body');
  let low = leave - MARCH_MM,
    high = leave;
  for (let round = 0; round < HALVINGS; round++) {
    const middle = (low + high) / 2;
    if (at(middle) < 0) low = middle;
    else high = middle;
  }
  return [from[0] + low * way[0], from[1] + low * way[1], from[2] + low * way[2]];
}

/** The candidate with the largest score over a range, coarse then fine. */
export function best(low: number, high: number, make: (at: number) => Vec3, score: (p: Vec3) => number): Vec3 {
  let [from, to] = [low, high];
  let found = make(low);
  for (let round = 0; round < 4; round++) {
    const step = (to - from) / PLACES;
    let where = from;
    let top = -Infinity;
    for (let i = 0; i <= PLACES; i++) {
      const point = make(from + i * step);
      const value = score(point);
      if (value > top) {
        top = value;
        where = from + i * step;
        found = point;
      }
    }
    from = Math.max(low, where - step);
    to = Math.min(high, where + step);
  }
  return found;
}

export const distance = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** Length of a taut tape round points of one plane: the perimeter of their convex hull. */
function tautLength(points: readonly (readonly [number, number])[]): number {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly (readonly [number, number])[]): (readonly [number, number])[] => {
    const chain: (readonly [number, number])[] = [];
    for (const p of list) {
      while (chain.length > 1) {
        const a = chain[chain.length - 2],
          b = chain[chain.length - 1];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        chain.pop();
      }
      chain.push(p);
    }
    return chain;
  };
  const hull = [...half(sorted).slice(0, -1), ...half(sorted.reverse()).slice(0, -1)];
  return hull.reduce((sum, p, i) => {
    const q = hull[(i + 1) % hull.length];
    return sum + Math.hypot(p[0] - q[0], p[1] - q[1]);
  }, 0);
}

/**
 * A tape on the skin, in the plane through `centre` that holds y and the direction `forward`. What lies beyond the
 * first skin met from the centre (an ear, an arm) is not taped, so the plane has to clear it.
 */
export function tape(field: Field, name: string, centre: Vec3, forward: Vec3): TrueGirth {
  const flat: (readonly [number, number])[] = [];
  const at = (angle: number): Vec3 =>
    exit(field, centre, [
      Math.cos(angle) * forward[0],
      Math.sin(angle) + Math.cos(angle) * forward[1],
      Math.cos(angle) * forward[2],
    ]);
  for (let i = 0; i < TAPE_POINTS; i++) {
    const angle = (2 * Math.PI * i) / TAPE_POINTS;
    const p = at(angle);
    const r = distance(p, centre);
    flat.push([r * Math.cos(angle), r * Math.sin(angle)]);
  }
  return { name, through: [at(0), at(Math.PI * 0.75), at(-Math.PI * 0.75)], lengthMm: tautLength(flat) };
}
