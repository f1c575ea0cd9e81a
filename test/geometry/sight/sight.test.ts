import { describe, expect, it } from 'vitest';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { buildBvh } from '../../../electron/geometry/spatial/bvh.ts';
import { buildWinding } from '../../../electron/geometry/spatial/winding.ts';
import { enclosedAir, openBefore } from '../../../electron/geometry/sight/breath.ts';
import { findEyes } from '../../../electron/geometry/sight/eyes.ts';
import { fieldOfView, NATURAL_DEG, nearestFloor, ROUND_STEP_DEG } from '../../../electron/geometry/sight/field.ts';
import { headLoad } from '../../../electron/geometry/sight/head-load.ts';
import { findRoom, regionOf } from '../../../electron/geometry/sight/room.ts';
import { meshOf } from '../../support/meshes.ts';
import { box, sphere } from '../../support/solids.ts';

const DEGREE = Math.PI / 180;
const EYES = { left: [90, 31, 17] as Vec3, right: [90, -31, 17] as Vec3, guessed: false };
/** Nothing in the way. */
const NOTHING = buildBvh(meshOf([1e4, 0, 0, 1e4, 1, 0, 1e4, 0, 1], [0, 1, 2]));

/** A wall across the line of sight at `x`, 4 m wide and high, with a hole of these corners (y, z). */
function wallWithHole(x: number, corners: readonly (readonly [number, number])[]): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  const count = corners.length;
  for (const [y, z] of corners) positions.push(x, y, z);
  // An outer ring in the same directions from the hole's middle, far out.
  const middle = [0, 1].map((k) => corners.reduce((sum, corner) => sum + corner[k], 0) / count);
  for (const [y, z] of corners) {
    const far = 2000 / Math.hypot(y - middle[0], z - middle[1]);
    positions.push(x, middle[0] + (y - middle[0]) * far, middle[1] + (z - middle[1]) * far);
  }
  for (let i = 0; i < count; i++) {
    const j = (i + 1) % count;
    triangles.push(i, i + count, j + count, i, j + count, j);
  }
  return meshOf(positions, triangles);
}

describe('field of view', () => {
  it('is the whole natural field with nothing in the way', () => {
    const field = fieldOfView(NOTHING, EYES);
    expect(field.left.share).toBe(1);
    expect(field.eitherShare).toBe(1);
    expect(field.bothShare).toBe(1);
    expect(field.limitsDeg.left).toBeCloseTo(NATURAL_DEG.temporal, 9);
    expect(field.limitsDeg.up).toBeCloseTo(NATURAL_DEG.up, 9);
    expect(field.limitsDeg.down).toBeCloseTo(NATURAL_DEG.down, 9);
    // Level to the right, the left eye is stopped by the nose at 60 degrees (Spector 1990).
    expect(field.left.clearDeg[180 / ROUND_STEP_DEG]).toBeCloseTo(NATURAL_DEG.nasal, 9);
  });

  it('through a rectangular opening is atan(offset / depth) each way', () => {
    // Edge at depth d and offset w limits the eye at atan(w/d) (reference-values section 4).
    const [d, w, h] = [30, 80, 20];
    const hole: (readonly [number, number])[] = [];
    const side = (a: readonly [number, number], b: readonly [number, number]): void => {
      for (let i = 0; i < 16; i++) hole.push([a[0] + ((b[0] - a[0]) * i) / 16, a[1] + ((b[1] - a[1]) * i) / 16]);
    };
    const corners = [
      [w, 17 - h],
      [w, 17 + h],
      [-w, 17 + h],
      [-w, 17 - h],
    ] as const;
    corners.forEach((corner, i) => side(corner, corners[(i + 1) % 4]));
    const field = fieldOfView(buildBvh(wallWithHole(90 + d, hole)), EYES);
    const near = (got: number, offset: number): void => {
      expect(Math.abs(got - Math.atan(offset / d) / DEGREE)).toBeLessThanOrEqual(1);
    };
    near(field.left.clearDeg[0], w - 31);
    near(field.right.clearDeg[180 / ROUND_STEP_DEG], w - 31);
    // The farther eye would look farther past the same edge, to 75 degrees, but its nose stops it at 60.
    expect(field.limitsDeg.left).toBeCloseTo(NATURAL_DEG.nasal, 9);
    expect(field.limitsDeg.right).toBeCloseTo(NATURAL_DEG.nasal, 9);
    near(field.limitsDeg.up, h);
    near(field.limitsDeg.down, h);
  });

  it('through a round opening before one eye is the cone of closed form', () => {
    const [d, r] = [40, 30];
    const round = Array.from({ length: 360 }, (_, i): [number, number] => [
      // Half a degree on, so that no ray runs along an edge.
      31 + r * Math.cos((i + 1 / 2) * DEGREE),
      17 + r * Math.sin((i + 1 / 2) * DEGREE),
    ]);
    const field = fieldOfView(buildBvh(wallWithHole(90 + d, round)), EYES);
    const angle = Math.atan(r / d);
    for (const clear of field.left.clearDeg) expect(Math.abs(clear - angle / DEGREE)).toBeLessThanOrEqual(1);
    const cone = 2 * Math.PI * (1 - Math.cos(angle));
    // The natural field by quadrature of its own limits.
    const natural = field.left.naturalDeg.reduce(
      (sum, limit) => sum + ROUND_STEP_DEG * DEGREE * (1 - Math.cos(limit * DEGREE)),
      0,
    );
    // Past the wall's own rim, 2 m out, everything is seen again: the temporal field goes beyond a right angle.
    const rim = Math.atan(2000 / d);
    const past = field.left.naturalDeg.reduce(
      (sum, limit) => sum + ROUND_STEP_DEG * DEGREE * Math.max(0, Math.cos(rim) - Math.cos(limit * DEGREE)),
      0,
    );
    expect(field.left.share).toBeCloseTo((cone + past) / natural, 2);
  });

  it('shows the floor from where a line from the eye passes the lower edge', () => {
    const [d, below, height] = [50, 20, 1600];
    // A ledge before both eyes: everything lower than it is hidden.
    const ledge = meshOf(
      [90 + d, -3000, 17 - below, 90 + d, 3000, 17 - below, 90 + d, 3000, -3000, 90 + d, -3000, -3000],
      [0, 1, 2, 0, 2, 3],
    );
    const [ahead, aside] = nearestFloor(fieldOfView(buildBvh(ledge), EYES), height, [0, 45], 20_000);
    // An edge found to a degree moves the floor by some percent out there.
    const past = Math.atan(below / d);
    const between = (got: number | undefined, downLow: number, downHigh: number): void => {
      expect(got).toBeGreaterThan(height / Math.tan(downHigh));
      expect(got).toBeLessThan(height / Math.tan(downLow));
    };
    between(ahead, past - 1.2 * DEGREE, past + 1.2 * DEGREE);
    const askew = Math.atan((below / d) * Math.cos(45 * DEGREE));
    between(aside, askew - 1.2 * DEGREE, askew + 1.2 * DEGREE);
    const wall = meshOf([200, -9e3, -9e3, 200, 9e3, -9e3, 200, 0, 9e3], [0, 1, 2]);
    expect(nearestFloor(fieldOfView(buildBvh(wall), EYES), height, [0], 10_000)).toEqual([undefined]);
  });

  it('finds the pupils 3 mm behind the skin of a ball', () => {
    const eyes = findEyes(buildBvh(sphere(100, 5)));
    expect(eyes?.left[0]).toBeCloseTo(Math.sqrt(100 ** 2 - 31.4 ** 2 - 17 ** 2) - 3, 0);
    expect(findEyes(NOTHING, 31, 500)).toBeUndefined();
  });
});

/** A ball about the origin without the cap of half angle `alpha` about +x. */
function openBall(radius: number, alpha: number): Mesh {
  const [rings, columns] = [60, 120];
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i <= rings; i++) {
    const out = alpha + ((Math.PI - alpha) * i) / rings;
    for (let j = 0; j < columns; j++) {
      const round = (2 * Math.PI * j) / columns;
      positions.push(
        radius * Math.cos(out),
        radius * Math.sin(out) * Math.cos(round),
        radius * Math.sin(out) * Math.sin(round),
      );
    }
  }
  for (let i = 0; i < rings; i++) {
    for (let j = 0; j < columns; j++) {
      const [a, b] = [i * columns + j, i * columns + ((j + 1) % columns)];
      triangles.push(a, b, b + columns, a, b + columns, a + columns);
    }
  }
  return meshOf(positions, triangles);
}

describe('breath', () => {
  it('sees the open share and area of a ball with a round hole in closed form', () => {
    const [radius, alpha] = [100, 30 * DEGREE];
    const { share, areaMm2 } = openBefore(buildBvh(openBall(radius, alpha)), [0, 0, 0]);
    expect(share).toBeCloseTo(1 - Math.cos(alpha), 2);
    const cap = 2 * Math.PI * radius ** 2 * (1 - Math.cos(alpha));
    expect(Math.abs(areaMm2 / cap - 1)).toBeLessThan(0.03);
    expect(openBefore(NOTHING, [0, 0, 0]).share).toBe(1);
  });

  it('counts the air between two balls, and none where all is open', () => {
    const [inner, outer] = [sphere(25, 4), sphere(40, 4)];
    const form = { mesh: inner, tree: buildBvh(inner), winding: buildWinding(inner) };
    const part = { mesh: outer, tree: buildBvh(outer) };
    // Only what lies forward of the middle counts: half the shell.
    const shell = ((2 / 3) * Math.PI * (40 ** 3 - 25 ** 3)) as number;
    expect(Math.abs(enclosedAir(part, form, 4) / shell - 1)).toBeLessThan(0.06);
    const far = openBall(4000, 179 * DEGREE);
    expect(enclosedAir({ mesh: outer, tree: buildBvh(far) }, form, 10)).toBe(0);
  });
});

describe('load on the head', () => {
  it('of a block is mass times offset', () => {
    const block = box(100, 100, 100);
    const forward = { ...block, positions: block.positions.map((x, i) => (i % 3 === 0 ? x + 50 : x)) };
    const load = headLoad(forward, true, 3, 1.24);
    expect(load.massG).toBeCloseTo(1240, 6);
    expect(load.centre[0]).toBeCloseTo(50, 9);
    expect(load.momentNCm).toBeCloseTo(1.24 * 9.81 * 5, 9);
    // As a sheet: 6 faces of 100 cm², 3 mm thick.
    expect(headLoad(forward, false, 3, 1).massG).toBeCloseTo(180, 6);
  });
});

describe('room inside', () => {
  const [body, shell] = [sphere(50, 4), sphere(100, 4)];
  const form = { tree: buildBvh(body), winding: buildWinding(body) };
  const part = { tree: buildBvh(shell) };

  it('is found for a thing that goes between two balls, and its clearance holds at its corners', () => {
    const size: [number, number, number] = [20, 30, 16];
    const found = findRoom(size, regionOf(shell), part, form, 3);
    if (found === undefined) throw new Error('no room');
    expect(found.clearanceMm).toBeGreaterThanOrEqual(3);
    for (const [a, b, c] of [-1, 1].flatMap((i) => [-1, 1].flatMap((j) => [-1, 1].map((k) => [i, j, k])))) {
      const corner = [0, 1, 2].map(
        (k) =>
          found.centre[k] +
          (a * size[0] * found.axes[0][k] + b * size[1] * found.axes[1][k] + c * size[2] * found.axes[2][k]) / 2,
      );
      const away = Math.hypot(...corner);
      expect(away).toBeGreaterThan(53);
      expect(away).toBeLessThan(97);
    }
  });

  it('is denied to one thicker than the gap', () => {
    expect(findRoom([60, 60, 52], regionOf(shell), part, form, 0)).toBeUndefined();
  });
});
