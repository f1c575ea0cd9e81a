/** Where a level tape lies that is told by a height, or by being the body's thickest or thinnest place. Pure. */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { LevelPlace } from '../../../shared-types/recipe.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { tapeGirth } from './girth.ts';

/** Unit directions of the standing body in the mesh's coordinates. */
export interface LevelFrame {
  readonly ahead: Vec3;
  readonly left: Vec3;
  readonly up: Vec3;
}

/** From the matrix that stands the mesh up, at whatever size. */
export function levelFrame(matrix: Matrix4): LevelFrame {
  const size = Math.hypot(matrix[8], matrix[9], matrix[10]);
  const row = (k: number): Vec3 => [matrix[4 * k] / size, matrix[4 * k + 1] / size, matrix[4 * k + 2] / size];
  return { ahead: row(0), left: row(1), up: row(2) };
}

export interface ExtremeLevel {
  readonly at: Vec3;
  /** The girth goes on growing (or falling) up to an end of the stretch: beyond it there may be more. */
  readonly isAtEnd: boolean;
}

/** Levels looked at over the whole stretch, and again about the best of them. */
const COARSE = 25;
const FINE = 9;
/** Half the fine stretch, in coarse steps: wide enough that a scan's noise does not choose the place. */
const ABOUT = 1.5;

/**
 * The level between two points at which the girth square to `up` is greatest or least, as a tape finds it that is moved
 * up and down: of 25 levels the greatest that exceeds its neighbours (a calf, though the knee above it be thicker), then
 * the top of the least-squares parabola through 9 about it. Of several separate parts the one nearest to the line from
 * `from` to `to` counts. Undefined where the body is nowhere met. O(34 · girth).
 */
export function extremeLevel(
  mesh: Mesh,
  [from, to]: readonly [Vec3, Vec3],
  up: Vec3,
  most: 'thickest' | 'thinnest',
  tick?: () => void,
): ExtremeLevel | undefined {
  const sign = most === 'thickest' ? 1 : -1;
  const pointAt = (share: number): Vec3 => [0, 1, 2].map((k) => from[k] + share * (to[k] - from[k])) as unknown as Vec3;
  const girthAt = (share: number): number => {
    const point = pointAt(share);
    const girth = tapeGirth(mesh, { point, normal: up }, [point], tick);
    return girth === undefined ? -Infinity : sign * girth.length;
  };
  const girths = Array.from({ length: COARSE }, (_, k) => girthAt(k / (COARSE - 1)));
  const best = mostOf(girths);
  if (best === undefined) return undefined;
  const half = ABOUT / (COARSE - 1);
  const middle = Math.min(1 - half, Math.max(half, best / (COARSE - 1)));
  const samples = Array.from({ length: FINE }, (_, k): [number, number] => {
    const x = (2 * k) / (FINE - 1) - 1;
    return [x, girthAt(middle + half * x)];
  }).filter(([, girth]) => Number.isFinite(girth));
  const share = middle + half * topOfParabola(samples, (best / (COARSE - 1) - middle) / half);
  return { at: pointAt(share), isAtEnd: share <= 0 || share >= 1 };
}

/** Levels on either side that one must exceed to be a bulge (or a waist) of its own and no waver of the scan. */
const NEIGHBOURS = 2;

/** The greatest that exceeds its neighbours; where there is none, the greatest: the girth only grows toward an end. */
function mostOf(girths: readonly number[]): number | undefined {
  const greatest = (levels: readonly number[]): number | undefined =>
    levels.reduce<number | undefined>(
      (best, k) => (girths[k] > (best === undefined ? -Infinity : girths[best]) ? k : best),
      undefined,
    );
  const levels = girths.map((_, k) => k);
  const inner = levels.slice(NEIGHBOURS, -NEIGHBOURS).filter((k) => {
    const about = girths.slice(k - NEIGHBOURS, k + NEIGHBOURS + 1);
    return Math.max(...about) === girths[k] && girths[k] > Math.max(about[0], about[2 * NEIGHBOURS]);
  });
  return greatest(inner) ?? greatest(levels);
}

/** Where the least-squares parabola through the samples is highest between -1 and 1; `otherwise` without enough of them. */
function topOfParabola(samples: readonly (readonly [number, number])[], otherwise: number): number {
  if (samples.length < 3) return otherwise;
  const sum = (of: (x: number, y: number) => number): number => samples.reduce((s, [x, y]) => s + of(x, y), 0);
  const mean = sum((x) => x) / samples.length;
  const meanSquare = sum((x) => x * x) / samples.length;
  const [xx, xq, qq, xy, qy] = [
    sum((x) => (x - mean) ** 2),
    sum((x) => (x - mean) * (x * x - meanSquare)),
    sum((x) => (x * x - meanSquare) ** 2),
    sum((x, y) => (x - mean) * y),
    sum((x, y) => (x * x - meanSquare) * y),
  ];
  const determinant = xx * qq - xq * xq;
  const curve = (xx * qy - xq * xy) / determinant;
  const slope = (qq * xy - xq * qy) / determinant;
  if (curve < 0) return Math.min(1, Math.max(-1, -slope / (2 * curve)));
  return slope > 0 ? 1 : slope < 0 ? -1 : otherwise;
}

export interface LevelFound {
  /** Three points of the tape's plane, in the mesh's coordinates; the first is nearest to the part that is taped. */
  readonly through: readonly [Vec3, Vec3, Vec3];
  /** The landmark at which an extreme ends, where it ends at one. */
  readonly endsAt?: string;
}

/** Share of the body's extent by which the plane's second and third point lie beside the first. */
const BESIDE = 0.02;

/**
 * Prepares a level on a mesh: what it gives finds the tape's plane for a mesh of so many mm per unit. An extreme is
 * sought once, since its place does not hang on the size. Undefined where a landmark of the place is missing from
 * `landmarks` (mesh coordinates), or an extreme meets nothing.
 */
export function levelOn(
  mesh: Mesh,
  place: LevelPlace,
  landmarks: (name: string) => Vec3 | undefined,
  { ahead, left, up }: LevelFrame,
  tick?: () => void,
): ((mmPerUnit: number) => LevelFound) | undefined {
  const { min, max } = boundsOf(mesh.positions);
  const beside = BESIDE * Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
  const moved = ([x, y, z]: Vec3, way: Vec3, by: number): Vec3 => [x + by * way[0], y + by * way[1], z + by * way[2]];
  const planeAt = (first: Vec3): LevelFound['through'] => [
    first,
    moved(first, ahead, beside),
    moved(first, left, beside),
  ];
  if ('at' in place) {
    const landmark = landmarks(place.at);
    return landmark && ((mmPerUnit) => ({ through: planeAt(moved(landmark, up, place.aboveMm / mmPerUnit)) }));
  }
  const [from, to] = place.between.map(landmarks);
  if (from === undefined || to === undefined) return undefined;
  const found = extremeLevel(mesh, [from, to], up, place.most, tick);
  if (found === undefined) return undefined;
  const { at, isAtEnd } = found;
  const toFrom = Math.hypot(at[0] - from[0], at[1] - from[1], at[2] - from[2]);
  const toTo = Math.hypot(at[0] - to[0], at[1] - to[1], at[2] - to[2]);
  const ends = isAtEnd ? { endsAt: place.between[toFrom < toTo ? 0 : 1] } : {};
  return () => ({ through: planeAt(at), ...ends });
}
