/** Liners over bodies other than heads: an arm with a hand's swelling, a bust with shoulders; and a head with an open face. */
import { describe, expect, it } from 'vitest';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { boundsOf } from '../../../electron/geometry/mesh/quantities.ts';
import { makeLiner, type Liner, type LinerWishes } from '../../../electron/geometry/offset/liner.ts';
import { cylinder } from '../../support/solids.ts';

/** A round body along z whose radius follows a profile, flattened in x. */
function turnedBody(heightMm: number, flat: number, radiusAt: (share: number) => number): Mesh {
  const post = cylinder(1, heightMm, 64, 40);
  const positions = post.positions.slice();
  for (let v = 0; v < positions.length; v += 3) {
    const radius = radiusAt(positions[v + 2] / heightMm + 0.5);
    positions[v] *= flat * radius;
    positions[v + 1] *= radius;
  }
  return { ...post, positions };
}

/** A forearm: wrist of 27 mm, a hand of 45 mm below it, the elbow's end of 45 mm above. */
const ARM = turnedBody(300, 0.8, (s) => 27 + 18 * Math.exp(-((s - 0.05) ** 2) / 0.012) + 18 * s * s);
/** A bust: chest below, shoulders, a neck above. */
const bust = (share: number): number => 55 + 115 / (1 + Math.exp((share - 0.75) / 0.03));
const BUST = turnedBody(400, 0.6, bust);

function lined(form: Mesh, wishes: Partial<LinerWishes>): Liner {
  const made = makeLiner(form, { foamMm: 6, toleranceMm: 0.3, openings: [], ...wishes }, QUIET_RUN);
  if (typeof made === 'string') throw new Error(made);
  expect([made.troubles, made.selfIntersections]).toEqual([0, 0]);
  return made;
}

describe('a bracer over a forearm', () => {
  const openings = [
    { kind: 'plane', plane: { point: [0, 0, -90], normal: [0, 0, 1] } },
    { kind: 'plane', plane: { point: [0, 0, 110], normal: [0, 0, -1] } },
  ] as const;

  it('does not slide over the hand; split along the arm it goes on; with the wrist cleared it slides', () => {
    const wishes = { openings, wallMm: 2.5, donning: [0, 0, 1] as Vec3, giveMm: 2 };
    const snug = lined(ARM, wishes);
    // The hand's half-breadth by the profile, at its widest; the wrist's foam lies well within it.
    const hand = 27 + 18 + 18 * 0.05 ** 2;
    expect(Math.abs((snug.leastOpening?.body.sideMm ?? 0) - 2 * hand)).toBeLessThan(0.5);
    expect(snug.donning?.deepestMm).toBeGreaterThan(6);
    expect(snug.waysIn?.split.passes).toBe(true);
    const cleared = lined(ARM, { ...wishes, isCleared: true });
    expect(cleared.donning?.deepestMm).toBeLessThan(2.3);
    // Outside: the hand, the foam that does not give, and the wall.
    expect(Math.abs(boundsOf(cleared.mesh.positions).max[1] - (hand + 6 - 2 + 2.5))).toBeLessThan(0.4);
  });
});

describe('a breastplate over a bust', () => {
  it('with arm and neck holes along drawn lines is sound, and each hole as wide as drawn and the foam lets it', () => {
    // On the body itself: seen from the side a ring of 45 mm.
    const ring = (side: 1 | -1): Vec3[] =>
      Array.from({ length: 12 }, (_, i): Vec3 => {
        const turn = (Math.PI * i) / 6;
        const [x, z] = [45 * Math.cos(turn), 30 + 45 * Math.sin(turn)];
        const radius = bust(z / 400 + 0.5);
        return [x, side * radius * Math.sqrt(1 - (x / (0.6 * radius)) ** 2), z];
      });
    const shell = lined(BUST, {
      wallMm: 3,
      openings: [
        { kind: 'plane', plane: { point: [0, 0, -150], normal: [0, 0, 1] } },
        { kind: 'plane', plane: { point: [0, 0, 160], normal: [0, 0, -1] } },
        { kind: 'curve', points: ring(1), away: undefined },
        { kind: 'curve', points: ring(-1), away: undefined },
      ],
    });
    const [left, right] = shell.openings.slice(2);
    // The sides are rounded: the foam widens the hole by less than its share of the radius.
    for (const hole of [left, right]) {
      expect(hole.leastWidthMm).toBeGreaterThan(85);
      expect(hole.mostWidthMm).toBeLessThan(150);
      expect(hole.rimMm).toBeGreaterThan(2.5);
      expect(hole.rimMm).toBeLessThan(4);
    }
    expect(Math.abs(left.rimLengthMm / right.rimLengthMm - 1)).toBeLessThan(0.02);
  });
});
