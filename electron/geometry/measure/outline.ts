/** What a section of a body says about it: how long its outline is, how wide, how deep, how large. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { convexHull } from './convex-hull.ts';
import { surfaceNear } from './end-uncertainty.ts';
import { tapeRound, type TapeGirth } from './girth.ts';
import { linesOf, sectionOf } from './section.ts';

export interface Outline {
  /** Outline followed everywhere, and the taut tape round it; mesh units. */
  readonly perimeter: number;
  readonly girth: TapeGirth;
  /** Between parallel jaws: in the direction asked for and at right angles to it, both in the plane. */
  readonly width: number;
  readonly depth: number;
  /** Enclosed area; holes in it do not count. Undefined when a line of it does not close. */
  readonly area: number | undefined;
  readonly areaU: number;
  readonly parts: number;
}

interface Flat {
  readonly x: number;
  readonly y: number;
}

/** Points of the outline at which the surface is asked how rough it is. */
const ASKED = 6;
/** Share of the perimeter within which it shows that, and over which roughness hangs together. */
const NEAR_SHARE = 1 / 48;

/**
 * The section of a mesh at a plane, or of the part of it nearest to `near`. Width is taken along `across` as far as it
 * lies in the plane; without it, in the direction in which the section is narrowest. Undefined when the plane misses.
 * `tick` is called every few milliseconds. O(faces + section log section).
 */
export function outlineAt(
  mesh: Mesh,
  plane: Plane,
  near?: Vec3,
  across?: Vec3,
  tick?: () => void,
): Outline | undefined {
  const section = sectionOf(mesh, plane, tick);
  if (section === undefined) return undefined;
  const { points, u, v, parts } = section;
  const girth = tapeRound(section, plane.point, near === undefined ? [] : [near]);
  const [tx, ty, tz] = girth.tape;
  let chosen = -1;
  for (let i = 0; near !== undefined && i < points.length; i += 3) {
    if (points[i] === tx && points[i + 1] === ty && points[i + 2] === tz) chosen = parts.find(i / 3);
  }
  const lines = linesOf(section).filter(({ part }) => chosen < 0 || part === chosen);
  const flat = (at: Vec3): Flat => ({
    x: at[0] * u[0] + at[1] * u[1] + at[2] * u[2],
    y: at[0] * v[0] + at[1] * v[1] + at[2] * v[2],
  });
  const spaceOf = (number: number): Vec3 => [points[number * 3], points[number * 3 + 1], points[number * 3 + 2]];
  const loops = lines.map(({ points: line, isClosed }) => ({ flat: line.map((i) => flat(spaceOf(i))), isClosed }));
  const hull = convexHull(loops.flatMap((loop) => loop.flat));
  const [width, depth] = sizeOf(hull, across === undefined ? undefined : flat(across));
  let rough = 0;
  const [longest] = lines.toSorted((a, b) => b.points.length - a.points.length);
  for (let k = 0; k < ASKED; k++) {
    const at = spaceOf(longest.points[Math.floor((k / ASKED) * longest.points.length)]);
    rough += (surfaceNear(mesh, at, tick, NEAR_SHARE * girth.sectionLength)?.roughness ?? 0) / ASKED;
  }
  return {
    perimeter: girth.sectionLength,
    girth,
    width,
    depth,
    area: loops.every(({ isClosed }) => isClosed) ? enclosed(loops.map((loop) => loop.flat)) : undefined,
    // The line wavers by so much, independently from stretch to stretch.
    areaU: rough * girth.sectionLength * Math.sqrt(NEAR_SHARE),
    parts: new Set(lines.map(({ part }) => part)).size,
  };
}

/** Extent of a hull along a direction and across it; without one, the least over the hull's own edges (a least width lies on one). */
function sizeOf(hull: readonly Flat[], way?: Flat): [number, number] {
  const along = ({ x, y }: Flat): number => {
    const all = hull.map((q) => q.x * x + q.y * y);
    return (Math.max(...all) - Math.min(...all)) / Math.hypot(x, y);
  };
  const both = (one: Flat): [number, number] => [along(one), along({ x: -one.y, y: one.x })];
  if (way !== undefined && Math.hypot(way.x, way.y) > 0) return both(way);
  let best: [number, number] = [Infinity, Infinity];
  for (const [i, a] of hull.entries()) {
    const b = hull[(i + 1) % hull.length];
    const pair = both({ x: b.y - a.y, y: a.x - b.x });
    if (pair[0] < best[0]) best = pair;
  }
  return best;
}

/** Area inside closed loops; one inside an odd number of others is a hole. */
function enclosed(loops: readonly (readonly Flat[])[]): number {
  return loops.reduce((sum, loop, i) => {
    const around = loops.filter((other, j) => j !== i && contains(other, loop[0])).length;
    return sum + (around % 2 === 0 ? 1 : -1) * Math.abs(areaOf(loop));
  }, 0);
}

function areaOf(loop: readonly Flat[]): number {
  let sum = 0;
  for (const [i, a] of loop.entries()) {
    const b = loop[(i + 1) % loop.length];
    sum += (a.x - loop[0].x) * (b.y - loop[0].y) - (b.x - loop[0].x) * (a.y - loop[0].y);
  }
  return sum / 2;
}

/** Whether a ray to the right crosses the loop an odd number of times. */
function contains(loop: readonly Flat[], { x, y }: Flat): boolean {
  let isInside = false;
  for (const [i, a] of loop.entries()) {
    const b = loop[(i + 1) % loop.length];
    if (a.y > y !== b.y > y && x < a.x + ((y - a.y) / (b.y - a.y)) * (b.x - a.x)) isInside = !isInside;
  }
  return isInside;
}
