import { describe, expect, it } from 'vitest';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { findUndercuts } from '../../../electron/geometry/offset/donning.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { keptWhere } from '../../support/meshes.ts';
import { frustum, keyhole } from '../../support/solids.ts';

const FOAM = 8;

function undercutsOf(form: Mesh, direction: Vec3, kept: (x: number, y: number, z: number) => boolean) {
  const field = new SignedField(form);
  const liner = offsetSurface(field, FOAM, 0.1, QUIET_RUN);
  if (liner === undefined) throw new Error('nothing made');
  return findUndercuts(field, FOAM, liner.mesh, direction, keptWhere(liner.mesh, kept), QUIET_RUN);
}

describe('a cone, 40 mm at the foot, 36 mm at the top, 20 mm high', () => {
  const cone = frustum(40, 36, 20, 256);
  const height = cone.positions.reduce((low, c, i) => (i % 3 === 2 ? Math.min(low, c) : low), Infinity);
  const inMiddle = (_x: number, _y: number, z: number): boolean => z > height && z < height + 20;

  it('lets a part on from above without undercut', () => {
    expect(undercutsOf(cone, [0, 0, -1], inMiddle).undercuts).toEqual([]);
  });

  it('from below, the foam at the narrow end must give what the foot is wider', () => {
    // The liner's side is at 40 - z / 5 + 8 / cos α; at z = 20, tan α = 1 / 5, it is 4.158 mm beyond the foot.
    const beyond = 36 + FOAM * Math.hypot(1, 1 / 5) - 40;
    const { undercuts, deepestMm } = undercutsOf(cone, [0, 0, 3], inMiddle);
    expect(undercuts.length).toBe(1);
    expect(Math.abs(deepestMm - (FOAM - beyond))).toBeLessThan(0.2);
    expect(undercuts[0].where[2]).toBeGreaterThan(height + 16);
  });
});

describe('a keyhole body: a post of 40 mm under a head of 60 mm', () => {
  it('has one undercut, deepest at the rounded edges of the post: 8 mm and the 30 - 20 - 8/√2 mm by which the head reaches past', () => {
    const { undercuts } = undercutsOf(keyhole(), [0, 0, -1], (_x, _y, z) => z > -50);
    expect(undercuts.length).toBe(1);
    expect(Math.abs(undercuts[0].depthMm - (FOAM + 30 - 20 - FOAM / Math.SQRT2))).toBeLessThan(0.15);
    expect(undercuts[0].where[2]).toBeLessThan(-7.9);
    // All round the post: the four flat sides 40 wide, 42 high, and more at corners and under the head.
    expect(undercuts[0].areaMm2).toBeGreaterThan(4 * 40 * 38);
  });

  it('put on from the other end there is none beside the head', () => {
    expect(undercutsOf(keyhole(), [0, 0, 1], (_x, _y, z) => z > 2 && z < 30).undercuts).toEqual([]);
  });
});
