/** Room for the way in and for volumes left free, against bodies whose offsets have a closed form. */
import { describe, expect, it } from 'vitest';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { inventLimb } from '../../../electron/invented/limb.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findUndercuts } from '../../../electron/geometry/offset/donning.ts';
import { makeLiner } from '../../../electron/geometry/offset/liner.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { measureRoom, RoomyField, type RoomWishes } from '../../../electron/geometry/offset/roomy-field.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { SweptBody } from '../../../electron/geometry/offset/swept-body.ts';
import { measureZones, type Zone } from '../../../electron/geometry/offset/zones.ts';
import { seeded } from '../../support/random.ts';
import { join, keptWhere, moved } from '../../support/meshes.ts';
import { box, frustum, keyhole, sphere } from '../../support/solids.ts';

const FOAM = 8;
const ALL = (): boolean => true;
const WAY: Vec3 = [0, 0, -1];

/** Volume of a convex body's offset (Steiner 1840): V + S t + M t² + 4/3 π t³, M the integral of mean curvature. */
const steiner = (volume: number, surface: number, mean: number, t: number): number =>
  volume + surface * t + mean * t * t + (4 / 3) * Math.PI * t ** 3;

function made(form: Mesh, wishes: Partial<RoomWishes>) {
  const field = new RoomyField(form, { foamMm: FOAM, zones: [], keepOuts: [], clear: undefined, ...wishes });
  const surface = offsetSurface(field, FOAM, 0.1, QUIET_RUN);
  if (surface === undefined) throw new Error('nothing made');
  return { field, mesh: surface.mesh, crossings: surface.selfIntersections };
}

describe('the swept room', () => {
  it('of a keyhole body put on from above is the box under its head: exact distance and foot at 2000 seeded points', () => {
    const swept = new SweptBody(keyhole(), [0, 0, -1]);
    const body = new SignedField(keyhole());
    const random = seeded(6);
    let [beside, within] = [0, 0];
    for (let i = 0; i < 2000; i++) {
      const [x, y, z] = [120 * random() - 60, 120 * random() - 60, 180 * random() - 105];
      const [fx, fy, fz] = [x, y, z].map((c, k) => Math.min(30, Math.max(k === 2 ? -60 : -30, c)));
      const distance = Math.hypot(x - fx, y - fy, z - fz);
      const height = Math.max(0, body.at(x, y, z));
      const told = swept.at(x, y, z, height);
      expect(Math.abs(told - distance)).toBeLessThan(1e-9);
      if (told >= height) continue;
      if (distance > 0) beside++;
      else within++;
      expect(Math.hypot(swept.x - fx, swept.y - fy, swept.z - fz)).toBeLessThan(1e-9);
    }
    expect(beside).toBeGreaterThan(300);
    expect(within).toBeGreaterThan(50);
  });

  it('of a ball is half a ball on a cylinder that ends flat at its lowest point, whatever way it is put on; far or near', () => {
    const [R, lean] = [30, 1.1];
    const back: Vec3 = [Math.sin(lean), 0, Math.cos(lean)];
    const swept = new SweptBody(sphere(R, 5), [-back[0], 0, -back[2]]);
    const random = seeded(8);
    let asked = 0;
    for (let i = 0; i < 2000; i++) {
      const [x, y, z] = [0, 1, 2].map(() => 140 * random() - 70);
      const up = x * back[0] + z * back[2];
      const across = Math.sqrt(Math.max(0, x * x + y * y + z * z - up * up));
      if (up > 0) continue;
      asked++;
      const distance = Math.hypot(Math.max(0, across - R), Math.max(0, -R - up));
      const told = swept.at(x, y, z, Math.max(0, Math.hypot(x, y, z) - R));
      // Facets of the ball lie up to 0.03 mm within it.
      expect(Math.abs(told - distance)).toBeLessThan(0.06);
    }
    expect(asked).toBeGreaterThan(800);
  });

  it('of a frustum of 600 slivers, put on over its wide end: the room is the body itself', () => {
    const swept = new SweptBody(frustum(40, 30, 20, 600), [0, 0, -1]);
    expect(swept.at(45, 0, -5, 4)).toBe(4);
    const turned = new SweptBody(frustum(40, 30, 20, 600), [0, 0, 1]);
    // Beside the narrow end lies the shadow of the wide one.
    expect(Math.abs(turned.at(44, 0, 9, 12) - 4)).toBeLessThan(0.001);
    expect(turned.at(35, 0, 9, 4)).toBe(0);
  });

  it('put on askew it is the hull of the box and its shadow: a box swept along its diagonal', () => {
    // Seen along (1, 1, 0) the box of 20 × 20 reaches 10√2 to either side.
    const swept = new SweptBody(box(20, 20, 20), [1, 1, 0]);
    const side: Vec3 = [-Math.SQRT1_2, Math.SQRT1_2, 0];
    const at = 10 * Math.SQRT2 + 5;
    expect(swept.at(at * side[0], at * side[1], 0, 9)).toBeCloseTo(5, 9);
    expect(swept.at(9 + at * side[0], 9 + at * side[1], 3, 9)).toBeCloseTo(5, 9);
    expect(swept.at(9, 9, 3, 1)).toBe(0);
  });

  it('gives the limit when there is nothing nearer', () => {
    expect(new SweptBody(box(20, 20, 20), [0, 0, -1]).at(50, 0, 0, 12)).toBe(12);
  });
});

describe('an undercut taken out', () => {
  it('a keyhole body: the liner is the offset of the box under its head, and nothing holds it back any more', () => {
    const { field, mesh, crossings } = made(keyhole(), { clear: { direction: [0, 0, -1], giveMm: 0 } });
    const [a, b, c] = [60, 60, 90];
    const closed = steiner(a * b * c, 2 * (a * b + b * c + c * a), Math.PI * (a + b + c), FOAM);
    expect(crossings).toBe(0);
    expect(Math.abs(volumeOf(mesh) / closed - 1)).toBeLessThan(0.0005);
    expect(measureOffset(field, FOAM, mesh, QUIET_RUN).maxAbsErrorMm).toBeLessThan(0.1);
    expect(findUndercuts(field, FOAM, mesh, WAY, keptWhere(mesh, ALL), QUIET_RUN).undercuts).toEqual([]);
    // Farthest off at the rounded edges: √2 (10 + 8/√2) from the post, of which 8 are foam.
    const [asked] = measureRoom(
      field,
      mesh,
      keptWhere(mesh, (x, _y, z) => x > 30 && Math.abs(z + 30) < 10),
      () => undefined,
    );
    expect(Math.abs(asked.addedMaxMm - 10 * Math.SQRT2)).toBeLessThan(0.15);
    expect(asked.addedMeanMm).toBeGreaterThan(10);
  });

  it('foam that gives 3 mm asks for so much less: 5 mm beside the post, 8 mm round the head', () => {
    const { field, mesh } = made(keyhole(), { clear: { direction: [0, 0, -1], giveMm: 3 } });
    let [post, head] = [0, 0];
    for (let v = 0; v < mesh.positions.length; v += 3) {
      const [x, y, z] = mesh.positions.subarray(v, v + 3);
      if (Math.abs(y) < 10 && Math.abs(z + 35) < 10) post = Math.max(post, x);
      if (Math.abs(y) < 10 && Math.abs(z - 15) < 8) head = Math.max(head, x);
    }
    expect(Math.abs(post - 35)).toBeLessThan(0.1);
    expect(Math.abs(head - 38)).toBeLessThan(0.1);
    const { deepestMm } = findUndercuts(field, FOAM, mesh, WAY, keptWhere(mesh, ALL), QUIET_RUN);
    expect(Math.abs(deepestMm - 3)).toBeLessThan(0.15);
  });

  it('a cone put on over its narrow end becomes a cylinder as wide as its foot', () => {
    const { mesh } = made(frustum(40, 36, 20, 256), { clear: { direction: [0, 0, 1], giveMm: 0 } });
    const [r, h] = [40, 20];
    const closed = steiner(Math.PI * r * r * h, 2 * Math.PI * r * (r + h), Math.PI * h + Math.PI * Math.PI * r, FOAM);
    expect(Math.abs(volumeOf(mesh) / closed - 1)).toBeLessThan(0.001);
  });

  it('a body without undercut stays as it was', () => {
    const form = box(60, 50, 40);
    const cleared = made(form, { clear: { direction: [0, 0, -1], giveMm: 0 } });
    expect(Math.abs(volumeOf(cleared.mesh) / volumeOf(made(form, {}).mesh) - 1)).toBeLessThan(1e-4);
    expect(measureRoom(cleared.field, cleared.mesh, keptWhere(cleared.mesh, ALL), () => undefined)[0].areaMm2).toBe(0);
  });
});

describe('a ball and, beside it, a smaller one higher up whose shadow hangs down apart', () => {
  const [R, r, x, z] = [25, 7, 52, 40];
  const form = join(sphere(R, 4), moved(sphere(r, 3), x, 0, z));
  // Each on its way in: half a ball on a cylinder that ends flat at the lowest level, -R.
  const cleared = (radius: number, from: number): number => {
    const high = from + R;
    const volume = (2 / 3) * Math.PI * radius ** 3 + Math.PI * radius ** 2 * high;
    const surface = 3 * Math.PI * radius ** 2 + 2 * Math.PI * radius * high;
    return steiner(volume, surface, 2 * Math.PI * radius + Math.PI * high + (Math.PI ** 2 * radius) / 2, FOAM);
  };

  it('both stand in the liner as they are: volumes of the closed form, and no place more than 0.15 mm off', () => {
    const { field, mesh, crossings } = made(form, { clear: { direction: WAY, giveMm: 0 } });
    expect(crossings).toBe(0);
    expect(Math.abs(volumeOf(mesh) / (cleared(R, 0) + cleared(r, z)) - 1)).toBeLessThan(0.002);
    expect(measureOffset(field, FOAM, mesh, QUIET_RUN).maxAbsErrorMm).toBeLessThan(0.15);
    const { positions: p } = mesh;
    let worst = 0;
    for (let v = 0; v < p.length; v += 3) {
      const off = [
        [R, 0, 0],
        [r, x, z],
      ].map(([radius, cx, cz]) => {
        const across = Math.hypot(p[v] - cx, p[v + 1]);
        const up = p[v + 2] - cz;
        if (up > 0) return Math.hypot(across, up) - radius;
        return Math.hypot(Math.max(0, across - radius), Math.max(0, -R - p[v + 2]));
      });
      worst = Math.max(worst, Math.abs(Math.min(...off) - FOAM));
    }
    // Facets of the balls lie up to 0.06 mm within them.
    expect(worst).toBeLessThan(0.15 + 0.06);
  });
});

it('a zone’s evidence is of the seated body alone, not of its way in: a keyhole body under 12 mm of foam all over', () => {
  const all: Zone = {
    name: 'all',
    region: { kind: 'box', min: [-200, -200, -200], max: [200, 200, 200] },
    thicknessMm: 12,
    blendMm: 20,
  };
  const { field, mesh } = made(keyhole(), { zones: [all], clear: { direction: WAY, giveMm: 0 } });
  const [zone] = measureZones(field, mesh, () => undefined);
  expect(Math.abs(zone.maxMm - 12)).toBeLessThan(0.15);
  expect(Math.abs(zone.minMm - 12)).toBeLessThan(0.15);
  // Of the head top, sides, and the rounded edges and corners between them; and the foot of the post.
  const [w, h, t] = [60, 30, 12];
  const round = (Math.PI / 2) * t;
  const closed = w * w + 4 * w * h + 4 * w * round + 4 * h * round + 2 * Math.PI * t * t + 40 * 40;
  expect(Math.abs(zone.areaMm2 / closed - 1)).toBeLessThan(0.03);
});

it('a hand that slides on misses by at most 1.5 tolerances in the notches between its shadows, where the first cubes left 1.8', () => {
  const [toleranceMm, donning] = [0.3, WAY];
  const wishes = { foamMm: FOAM, toleranceMm, openings: [], donning, isCleared: true, giveMm: 3 };
  const liner = makeLiner(inventLimb({ seed: 6 }).mesh(4000), wishes, QUIET_RUN);
  if (typeof liner === 'string') throw new Error(liner);
  expect(liner.selfIntersections).toBe(0);
  expect(liner.evidence.maxAbsErrorMm).toBeLessThan(1.5 * toleranceMm);
  expect(liner.evidence.missingMaxMm).toBeLessThan(1.5 * toleranceMm);
});

describe('volumes left free', () => {
  it('a ball beside a sphere: the union of both, grown by foam and clearance', () => {
    const [R, r, d] = [48, 12, 45];
    const { field, mesh, crossings } = made(sphere(40, 5), {
      keepOuts: [{ name: 'fan', shape: { kind: 'ball', centre: [0, 0, d], radiusMm: 10 }, clearanceMm: 2 }],
    });
    // Two balls less the lens they share (Kern and Bland 1948, Solid Mensuration).
    const lens = (Math.PI * (R + r - d) ** 2 * (d * d + 2 * d * (r + R) - 3 * (r - R) ** 2)) / (12 * d);
    const closed = (4 / 3) * Math.PI * (R ** 3 + r ** 3) - lens;
    expect(crossings).toBe(0);
    expect(Math.abs(volumeOf(mesh) / closed - 1)).toBeLessThan(0.0015);
    expect(measureOffset(field, FOAM, mesh, QUIET_RUN).maxAbsErrorMm).toBeLessThan(0.15);
    const [fan] = measureRoom(field, mesh, keptWhere(mesh, ALL), () => undefined);
    expect([fan.keepOut, Math.abs(fan.addedMaxMm - (d + r - R)) < 0.15]).toEqual(['fan', true]);
  });

  it.each([
    ['box', { kind: 'box', min: [-8, -8, 40], max: [8, 8, 50] } as const],
    ['mesh', { kind: 'mesh', mesh: boxAt(16, 16, 10, [0, 0, 45]) } as const],
  ])('a %s keeps its clearance everywhere', (_kind, shape) => {
    const { mesh } = made(sphere(40, 4), { keepOuts: [{ name: 'mic', shape, clearanceMm: 4 }] });
    let least = Infinity;
    for (let v = 0; v < mesh.positions.length; v += 3) {
      const [x, y, z] = mesh.positions.subarray(v, v + 3);
      least = Math.min(
        least,
        Math.hypot(Math.max(0, Math.abs(x) - 8), Math.max(0, Math.abs(y) - 8), Math.max(0, z - 50, 40 - z)),
      );
    }
    expect(Math.abs(least - 4)).toBeLessThan(0.1);
  });

  it('a capsule stands off by its radius and clearance along its whole length', () => {
    const shape = { kind: 'capsule', from: [0, -30, 50], to: [0, 30, 50], radiusMm: 3 } as const;
    const { mesh } = made(sphere(40, 4), { keepOuts: [{ name: 'boom', shape, clearanceMm: 2 }] });
    const tops = [-25, 0, 25].map((y0) => {
      let top = 0;
      for (let v = 0; v < mesh.positions.length; v += 3) {
        if (Math.abs(mesh.positions[v + 1] - y0) < 3) top = Math.max(top, mesh.positions[v + 2]);
      }
      return top;
    });
    for (const top of tops) expect(Math.abs(top - 55)).toBeLessThan(0.15);
  });
});

function boxAt(x: number, y: number, z: number, at: Vec3): Mesh {
  const mesh = box(x, y, z);
  return { ...mesh, positions: mesh.positions.map((c, i) => c + at[i % 3]) };
}
