/** Bodies broken in the ways of test/support/meshes.ts: sound wherever there is a body to be made out of them. */
import { describe, expect, it } from 'vitest';
import { examine } from '../../../electron/geometry/mend/health.ts';
import { mend } from '../../../electron/geometry/mend/mend.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { BODIES, brokenBody, DAMAGES, meshOf, remnant } from '../../support/meshes.ts';
import { seeded } from '../../support/random.ts';

const SOUND = {
  watertight: true,
  selfIntersections: 0,
  degenerateFaces: 0,
  duplicateFaces: 0,
  nonManifoldEdges: 0,
  nonManifoldVertices: 0,
};
const SMALL = ['sphere', 'ring', 'can', 'plate'] as const;

describe('mend', () => {
  for (const damage of Object.keys(DAMAGES)) {
    it(`makes bodies with one damage sound: ${damage}`, () => {
      SMALL.forEach((name, number) => {
        const body = BODIES[name]();
        const random = seeded(1000 + number);
        const draft = { positions: [...body.positions], triangles: [...body.triangles], edge: 8 };
        DAMAGES[damage](draft, random);
        const { mesh, left, after } = mend(meshOf(draft.positions, draft.triangles), { keep: 'largest' });
        expect(left, name).toBe(0);
        const health = examine(mesh);
        expect(health, name).toMatchObject(SOUND);
        expect(after, name).toEqual(health);
      });
    });
  }

  const seed = 51;
  it(`makes bodies with several damages sound, and counts right (seeds from ${seed})`, () => {
    const names = Object.keys(BODIES).filter((name) => name !== 'box' && name !== 'head' && name !== 'egg');
    for (let n = 0; n < 15; n++) {
      const random = seeded(seed + n);
      const { mesh: broken, damages } = brokenBody(BODIES[names[n % names.length]](), random);
      const { mesh, left, after } = mend(broken, { keep: n % 4 === 0 ? 'all' : 'largest' });
      const label = `seed ${seed + n}: ${damages.join(', ')}`;
      expect(left, label).toBe(0);
      const health = examine(mesh);
      expect(health, label).toMatchObject(SOUND);
      expect(after, label).toEqual(health);
    }
  });

  it('makes something sound of a remnant, or says that nothing is enclosed; never a false claim', () => {
    let sound = 0;
    for (let n = 0; n < 16; n++) {
      const { mesh, left, after } = mend(remnant(BODIES[SMALL[n % 4]](), seeded(900 + n)), { keep: 'largest' });
      if (left > 0) continue;
      sound++;
      expect(examine(mesh)).toMatchObject(SOUND);
      expect(after?.volume).toBeGreaterThan(0);
    }
    expect(sound).toBeGreaterThan(8);
  });

  it('repairs one spot and leaves the rest of the ball to the last digit', () => {
    const body = BODIES.sphere();
    const draft = { positions: [...body.positions], triangles: [...body.triangles], edge: 12 };
    // one vertex pulled right through the ball's far side
    for (let k = 0; k < 3; k++) draft.positions[k] *= -1.3;
    const { mesh, report } = mend(meshOf(draft.positions, draft.triangles), { keep: 'largest' });
    expect(examine(mesh)).toMatchObject(SOUND);
    expect(report.reskinned).toBeUndefined();
    const kept = new Set<string>();
    for (let i = 0; i < mesh.positions.length; i += 3) kept.add(mesh.positions.subarray(i, i + 3).join());
    let same = 0;
    for (let i = 3; i < body.positions.length; i += 3)
      if (kept.has(Float64Array.from(body.positions.subarray(i, i + 3), Math.fround).join())) same++;
    expect(same).toBeGreaterThan(0.9 * (body.positions.length / 3));
    // The spike had its foot and its tip in a few faces: what is lost of the ball is little.
    expect(volumeOf(mesh) / volumeOf(body)).toBeGreaterThan(0.97);
  });
});
