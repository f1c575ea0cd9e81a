/** Allowances on a form against closed forms: what a ball holds when part of it grows. */
import { describe, expect, it } from 'vitest';
import { allowOperation } from '../../electron/operations/allow.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { scaling } from '../../electron/geometry/mesh/transform.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { inventTorso } from '../../electron/invented/torso.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { input } from './samples.ts';
import { box, sphere } from '../support/solids.ts';

function allow(mesh: Mesh, zones: readonly unknown[], fromFile = input(mesh).fromFile) {
  const outcome = runOperation(allowOperation, [{ mesh, name: 'form', fromFile }], { zones: { zones } });
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return { mesh: outcome.value.mesh as Mesh, figures: outcome.value.figures, warnings: outcome.warnings };
}

const everywhere = { points: [[0, 0, 0]], radiusMm: 300 };

describe('allowances', () => {
  it.each([6, -4, 25])('a ball of 90 grown by %d mm all round has the volume of that ball', (growMm) => {
    const ball = sphere(90, 5);
    const { mesh, figures } = allow(ball, [{ name: 'all', growMm, ...everywhere }]);
    expect(volumeOf(mesh) / volumeOf(ball)).toBeCloseTo(((90 + growMm) / 90) ** 3, 3);
    expect(figures.formVolumeMm3).toBe(volumeOf(ball));
    expect(figures.zones[0]).toMatchObject({ name: 'all', growMm, samples: 10_242 });
    expect(Math.abs(figures.zones[0].meanMm - growMm)).toBeLessThan(0.1);
  });

  it('adds the volume of a zone with a blend: the integral of the step over the ball', () => {
    // On a sphere of R, a cap zone of radius r with blend b grows by g s(d): the volume gained, g small, is the
    // integral of g s(d) 2 pi R sin(d / R) along the cap; d is the straight distance from the zone's middle.
    const [R, r, b, g] = [90, 60, 30, 2];
    let gained = 0;
    for (let i = 0; i < 20_000; i++) {
      const angle = ((i + 0.5) * Math.PI) / 20_000;
      const chord = 2 * R * Math.sin(angle / 2);
      const s = Math.min(1, Math.max(0, (r - chord) / b + 0.5));
      const h = g * s * s * (3 - 2 * s);
      gained += (((R + h) ** 3 - R ** 3) / 3) * 2 * Math.PI * Math.sin(angle) * (Math.PI / 20_000);
    }
    const ball = sphere(R, 5);
    const { mesh, figures } = allow(ball, [{ growMm: g, blendMm: b, points: [[0, 0, R]], radiusMm: r }]);
    expect((volumeOf(mesh) - volumeOf(ball)) / gained).toBeCloseTo(1, 1);
    expect(Math.abs((volumeOf(mesh) - volumeOf(ball)) / gained - 1)).toBeLessThan(0.02);
    expect(figures.movedVertices).toBeLessThan(10_242 / 2);
    // The other side stays exactly.
    for (let i = 0; i < ball.positions.length; i += 3) {
      if (ball.positions[i + 2] < 0) expect(mesh.positions[i]).toBe(Math.fround(ball.positions[i]));
    }
  });

  it('grows hair over the crown of a head and leaves it sound; the ears may be inside a wig', () => {
    const head = inventHead({ seed: 41 }).mesh(8000);
    const { figures, warnings } = allow(head, [
      { region: 'crown', growMm: 10 },
      { region: 'temples', growMm: 12 },
      { region: 'cheeks', growMm: -2 },
    ]);
    expect(figures.health).toMatchObject({ watertight: true, selfIntersections: 0 });
    expect(warnings).toEqual([]);
    for (const zone of figures.zones) expect(Math.abs(zone.meanMm - zone.growMm)).toBeLessThan(0.1);
  });

  it('takes points in the file’s coordinates, and says where a zone counts nowhere', () => {
    const ball = sphere(90, 4);
    const zone = { name: 'spot', growMm: 3, points: [[0, 0, 0.09]], radiusMm: 40 };
    expect(allow(ball, [zone], scaling(1000)).figures.zones[0].samples).toBeGreaterThan(10);
    expect(allow(ball, [zone]).warnings[0].sentence).toMatch(/Zone "spot" counts fully nowhere/);
  });

  it('refuses an open form in one sentence', () => {
    const open = { ...box(50, 50, 50), triangles: box(50, 50, 50).triangles.slice(3) };
    expect(() => allow(open, [{ growMm: 3, ...everywhere }])).toThrow(/open .*allow needs a closed one/);
  });
});

it('the usual places of a head are refused on a torso, which has none of them', () => {
  const mesh = inventTorso({ seed: 11 }).mesh(4000);
  expect(() => allow(mesh, [{ region: 'crown', growMm: 4 }])).toThrow('"crown" is a place of an upright head form');
});
