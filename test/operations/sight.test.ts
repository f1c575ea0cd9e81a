import { describe, expect, it } from 'vitest';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { inventLeg } from '../../electron/invented/leg.ts';
import { inventLimb } from '../../electron/invented/limb.ts';
import { inventTorso } from '../../electron/invented/torso.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { sightOperation } from '../../electron/operations/sight.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { meshOf } from '../support/meshes.ts';
import { ellipsoid, inward, sphere } from '../support/solids.ts';

const HEAD = ellipsoid(95, 75, 110, 4);
/** A board before the left half of the face. */
const BOARD = meshOf([150, 0, -200, 150, 200, -200, 150, 200, 200, 150, 0, 200], [0, 1, 2, 0, 2, 3]);
const run = (part: Mesh, parameters: object = {}, form: Mesh = HEAD) =>
  runOperation(
    sightOperation,
    [
      { mesh: part, name: 'part', fromFile: IDENTITY },
      { mesh: form, name: 'form', fromFile: IDENTITY },
    ],
    parameters,
  );
const figures = (outcome: ReturnType<typeof run>) => {
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return outcome.value.figures;
};
const sentence = (outcome: ReturnType<typeof run>): string => {
  if (outcome.ok) throw new Error('it should have failed');
  return faultSentence(outcome.fault);
};

describe('sight, the operation', () => {
  it('guesses no eyes on an invented torso, forearm or leg', () => {
    for (const body of [inventTorso({ seed: 1 }), inventLimb({ seed: 1 }), inventLeg({ seed: 1 })]) {
      expect(sentence(run(BOARD, {}, body.mesh(1500)))).toMatch(/no face where the eyes should be/);
    }
  });

  it('takes a mirrored part as it takes the plain one, with left and right exchanged', () => {
    const mirror: Matrix4 = [1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
    const plain = figures(run(BOARD));
    const mirrored = figures(run(BOARD, { placement: { placement: [...mirror] } }));
    expect(plain.left.share).toBeLessThan(plain.right.share);
    expect(Math.abs(mirrored.right.share - plain.left.share)).toBeLessThan(0.01);
    expect(mirrored.massG).toBeCloseTo(plain.massG, 6);
    const solid = figures(run(sphere(200, 3), { placement: { placement: [...mirror] } }));
    expect(solid.massIsOf).toBe('solid');
    expect(solid.massG).toBeGreaterThan(0);
  });

  it('refuses a placement that is flat or stands column by column, eyes exchanged, and a form with a hole', () => {
    const flat = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1];
    expect(sentence(run(BOARD, { placement: { placement: flat } }))).toContain('flat');
    const columns = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 10, 0, 0, 1];
    expect(sentence(run(BOARD, { placement: { placement: columns } }))).toContain('column by column');
    const exchanged = { left: [90, -31, 17], right: [90, 31, 17] };
    expect(sentence(run(BOARD, { eyes: exchanged }))).toContain('exchange');
    expect(run(BOARD, {}, { ...HEAD, triangles: HEAD.triangles.slice(3) }).ok).toBe(false);
  });

  it('finds room for a thing under a roomy ball, tells what was looked for, and finds none for a larger one', () => {
    // To the side of the ellipsoid a ball of 125 mm leaves 50 mm.
    const look = (size: number) => {
      const outcome = run(inward(sphere(125, 2)), { thing: [size, size, size], within: 'back', clearanceMm: 3 });
      if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
      return outcome.value.figures;
    };
    const { roomFor, room } = look(12);
    expect(roomFor).toEqual({ sizeMm: [12, 12, 12], within: 'back', clearanceMm: 3 });
    expect(room?.clearanceMm).toBeGreaterThanOrEqual(3);
    expect(room?.centre[0]).toBeLessThan(0);
    expect(look(80).room).toBeNull();
  });
});
