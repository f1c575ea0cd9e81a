/** Openings drawn on the outer side of a wall inward: lines followed over a surface, and shells opened along them. */
import { describe, expect, it } from 'vitest';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { inventHead } from '../../../electron/invented/head.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { roundToSingle } from '../../../electron/geometry/mesh/transform.ts';
import { nested } from '../../../electron/geometry/offset/nested.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { knifeFor, openBy } from '../../../electron/geometry/offset/openings.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { traceLine } from '../../../electron/geometry/offset/traced-line.ts';
import { buildBvh, castRay, type RayHit } from '../../../electron/geometry/spatial/bvh.ts';
import { sphere } from '../../support/solids.ts';

const WALL_MM = 4;

describe('a line followed over a ball of 50 mm', () => {
  const mesh = sphere(50, 4);
  const side = { mesh, tree: buildBvh(mesh) };
  const { twin } = findTwins(mesh.triangles, mesh.positions.length / 3);
  /** A circle at 40 degrees from the z axis, gone round as said. */
  const circle = (turns: readonly number[]): Float64Array =>
    Float64Array.from(
      turns.flatMap((turn) => [
        50 * Math.sin(0.7) * Math.cos(turn),
        50 * Math.sin(0.7) * Math.sin(turn),
        50 * Math.cos(0.7),
      ]),
    );
  const lengthOf = (places: readonly Vec3[]): number =>
    places.reduce((sum, [x, y, z], i) => {
      const [a, b, c] = places[(i + 1) % places.length];
      return sum + Math.hypot(a - x, b - y, c - z);
    }, 0);
  const round = Array.from({ length: 60 }, (_, i) => (Math.PI * i) / 30);

  it('is as long as the circle, 2 π 50 sin 0.7 mm, within what the facets take, and meets no edge twice', () => {
    const line = traceLine(side, twin, circle(round));
    expect(Math.abs(lengthOf(line?.places ?? []) / (2 * Math.PI * 50 * Math.sin(0.7)) - 1)).toBeLessThan(0.01);
    const edges = line?.halfedges.map((h) => Math.min(h, twin[h])) ?? [];
    expect(new Set(edges).size).toBe(edges.length);
    // From a face to the next, and home again.
    const faces = line?.halfedges.map((h) => Math.floor(h / 3)) ?? [];
    const next = line?.halfedges.map((h) => Math.floor(twin[h] / 3)) ?? [];
    expect(next).toEqual([...faces.slice(1), faces[0]]);
  });

  it('that goes back on itself for an eighth of the way is the same line', () => {
    const straight = traceLine(side, twin, circle(round));
    const doubled = traceLine(
      side,
      twin,
      circle([...round.slice(0, 20), ...round.slice(12, 20).toReversed(), ...round.slice(13)]),
    );
    expect(new Set(doubled?.halfedges)).toEqual(new Set(straight?.halfedges));
  });
});

describe('a head of an eighth more than its size, hollowed by 4 mm', () => {
  const head = roundToSingle(inventHead({ seed: 7, lengthMm: 220, breadthMm: 170, heightMm: 145 }).mesh(6000));
  const field = new SignedField(head);
  const inner = offsetSurface(field, -WALL_MM, 0.3, QUIET_RUN)?.mesh ?? head;
  const solid = nested(head, inner);
  const inside = new SignedField(inner);
  const seen = (places: number, from: (turn: number) => Vec3, way: Vec3): Vec3[] =>
    Array.from({ length: places }, (_, i): Vec3 => {
      const [x, y, z] = from((2 * Math.PI * i) / places);
      const hit: RayHit = { face: -1, t: 0 };
      castRay(field.tree, x, y, z, way[0], way[1], way[2], hit);
      return [x + hit.t * way[0], y + hit.t * way[1], z + hit.t * way[2]];
    });
  const inFront = (places: number, wide: number, high: number, at: number, aside = 0): Vec3[] =>
    seen(places, (turn) => [300, aside + wide * Math.cos(turn), at + high * Math.sin(turn)], [-1, 0, 0]);
  const atSide = (places: number, wide: number, high: number): Vec3[] =>
    seen(places, (turn) => [-5 + wide * Math.cos(turn), 300, high * Math.sin(turn)], [0, -1, 0]);

  it.each([
    ['across the nose, over both eyes', inFront(12, 48, 16, 4)],
    ['across the nose with few places', inFront(7, 48, 16, 4)],
    ['across the tip of the nose', inFront(12, 26, 16, -35)],
    ['down the ridge of the nose on one side', inFront(10, 18, 18, -13, 10)],
    ['round the face', inFront(16, 46, 57, -35)],
    ['round an ear', atSide(14, 30, 38)],
  ])('drawn %s opens soundly: its rim within 0.5 mm of the ruled band, and of each place drawn', (_name, points) => {
    const knife = knifeFor({ kind: 'curve', points, away: undefined }, field, inside);
    const opened = knife === undefined ? 'nothing-left' : openBy(solid, [knife], QUIET_RUN);
    if (typeof opened === 'string') throw new Error(opened);
    expect([opened.troubles, opened.selfIntersections]).toEqual([0, 0]);
    const [cut] = opened.cuts;
    expect(cut.offLineMm).toBeLessThan(0.5);
    expect(cut.rimMm).toBeGreaterThan(WALL_MM * 0.95);
    expect(cut.rimMm).toBeLessThan(WALL_MM * 1.25);
    // The rim passes where it was drawn: an edge of the rim's faces lies near every place.
    const { positions: p, triangles: t } = opened.mesh;
    const at = (v: number): Vec3 => [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
    for (const place of points) {
      let least = Infinity;
      for (let h = Math.max(0, t.length - 3 * RIM_FACES); h < t.length; h++) {
        least = Math.min(least, fromEdge(place, at(t[h]), at(t[h - (h % 3) + ((h + 1) % 3)])));
      }
      expect(least).toBeLessThan(0.5);
    }
  });
});

/** Faces of a rim come last; more than any here has. */
const RIM_FACES = 4000;

function fromEdge(place: Vec3, a: Vec3, b: Vec3): number {
  const way = b.map((c, k) => c - a[k]);
  const off = place.map((c, k) => c - a[k]);
  const size = way.reduce((sum, c) => sum + c * c, 0);
  const s = Math.min(1, Math.max(0, way.reduce((sum, c, k) => sum + c * off[k], 0) / size));
  return Math.hypot(...off.map((c, k) => c - s * way[k]));
}
