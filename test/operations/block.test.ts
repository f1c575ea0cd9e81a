/** Forms from readings alone: every reading that is used is met on the finished mesh, and the rest is said to be guessed. */
import { describe, expect, it } from 'vitest';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { arcThrough } from '../../electron/geometry/measure/arc.ts';
import { planeThrough, tapeGirth } from '../../electron/geometry/measure/girth.ts';
import { neutralHead } from '../../electron/geometry/figure/neutral-head.ts';
import { examine } from '../../electron/geometry/mend/health.ts';
import { roundToSingle } from '../../electron/geometry/mesh/transform.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { bendToReadings, blockOperation, judgeSheet } from '../../electron/operations/block.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { drawHead } from '../support/drawn-heads.ts';

const block = (sheet: unknown, more: Record<string, unknown> = {}) =>
  runOperation(blockOperation, [], { sheet, faces: 4000, ...more });
const reading = (name: string, measured: number, u = 1.5) => ({ name, measured, u });

/** More sets than CI has time for: BLOCK_SETS=50 (all were run before each release of this file). */
const SETS = Number(process.env['BLOCK_SETS'] ?? 3);

describe('a form from readings alone', () => {
  it(`meets every reading used within its uncertainty, ${SETS} sets drawn from the survey, and is sound`, () => {
    const head = neutralHead(SETS > 3 ? 9500 : 4000);
    if (!head.ok) throw new Error('no neutral head');
    for (let seed = 100; seed < 100 + SETS; seed++) {
      const { population, readings } = drawHead(seed);
      const judged = judgeSheet({ readings }, population, false);
      if (!judged.ok) throw new Error(`seed ${seed}: ${JSON.stringify(judged.fault)}`);
      // One of a hundred good sets loses a reading by the limit chosen.
      expect(judged.value.outliers.length, `seed ${seed}`).toBeLessThanOrEqual(1);
      const found = bendToReadings(
        head.value,
        judged.value,
        () => undefined,
        () => undefined,
      );
      if (found === undefined) throw new Error(`seed ${seed}: not bent`);
      for (const { name, measuredMm, uMm } of judged.value.used) {
        const formMm = found.bent.taken.get(name)?.lengthMm ?? NaN;
        expect(Math.abs(formMm - measuredMm), `seed ${seed}: ${name}`).toBeLessThanOrEqual(uMm);
      }
      const { mesh } = found.bent.tape;
      expect(roundToSingle(mesh).positions, `seed ${seed}`).toEqual(mesh.positions);
      const health = examine(mesh, QUIET_RUN);
      expect(health, `seed ${seed}`).toMatchObject({
        watertight: true,
        selfIntersections: 0,
        nonManifoldVertices: 0,
        degenerateFaces: 0,
        pieces: 1,
      });
    }
  });

  it('has the lengths that are claimed, taken anew on the mesh alone through the landmarks it tells', () => {
    const sheet = {
      readings: [
        reading('head length', 201),
        reading('head breadth', 149),
        reading('head circumference', 572, 3),
        reading('tragion to top of head', 128),
        reading('bitragion chin arc', 318, 3),
      ],
    };
    const outcome = block(sheet);
    if (!outcome.ok) throw new Error(JSON.stringify(outcome.fault));
    const { figures } = outcome.value;
    const mesh = outcome.value.mesh as Mesh;
    const at = (name: string): Vec3 => figures.landmarks[name] as unknown as Vec3;
    const formMm = (name: string): number => figures.measures.find((one) => one.name === name)?.formMm ?? NaN;
    const p = mesh.positions;
    let [crown, wide] = [-Infinity, 0];
    for (let i = 0; i < p.length; i += 3) {
      crown = Math.max(crown, p[i + 2]);
      // Above the ears.
      if (p[i + 2] > 38) wide = Math.max(wide, Math.abs(p[i + 1]));
    }
    // Frame: the tragions level with the origin and midway about it, an orbitale level with them (ISO 7250-1).
    for (const name of ['tragion-left', 'tragion-right', 'orbitale-left'])
      expect(Math.abs(at(name)[2])).toBeLessThan(0.05);
    expect(at('tragion-left')[1] + at('tragion-right')[1]).toBe(0);
    expect(crown - at('tragion-left')[2]).toBeCloseTo(formMm('tragion to top of head'), 3);
    expect(2 * wide).toBeCloseTo(formMm('head breadth'), 1);
    const [g, o] = [at('glabella'), at('opisthocranion')];
    expect(Math.hypot(g[0] - o[0], g[1] - o[1], g[2] - o[2])).toBeCloseTo(formMm('head length'), 6);
    // The landmark is eased over the flat of the back: no point of the middle line may be farther from the glabella by
    // more than a sixth of what a reading of head length is worth.
    let farthest = 0;
    for (let i = 0; i < p.length; i += 3) {
      if (p[i + 1] !== 0 || p[i + 2] < -20 || p[i] > 0) continue;
      farthest = Math.max(farthest, Math.hypot(p[i] - g[0], p[i + 2] - g[2]));
    }
    expect(farthest - formMm('head length')).toBeLessThan(1.5 / 6);
    const brow = at('brow');
    const plane = planeThrough(brow, o, [o[0], o[1] + 10, o[2]]);
    if (plane === undefined) throw new Error('no plane');
    expect(tapeGirth(mesh, plane, [brow])?.length).toBeCloseTo(formMm('head circumference'), 3);
    const arc = arcThrough(mesh, [at('tragion-left'), at('pogonion'), at('tragion-right')], new SignedField(mesh));
    expect(arc?.length).toBeCloseTo(formMm('bitragion chin arc'), 3);
    expect(figures.measures.filter(({ role }) => role === 'given')).toHaveLength(5);
    expect(figures.largestMiss).toBeLessThanOrEqual(1);
    expect(figures.advice[0]).toMatch(/No scan stands behind this form: 5 measures were read/);
  });

  it('names the reading that does not belong, and makes the form without it', () => {
    const outcome = block({
      survey: 'men',
      readings: [
        reading('head length', 201),
        reading('head breadth', 155),
        reading('head circumference', 632, 3),
        reading('bizygomatic breadth', 143),
      ],
    });
    if (!outcome.ok) throw new Error(JSON.stringify(outcome.fault));
    expect(outcome.value.figures.outliers).toEqual(['head circumference']);
    expect(outcome.warnings.map(({ code }) => code)).toContain('block.outlier');
  });

  it('says in one sentence what it cannot do', () => {
    expect(block({ readings: [] })).toMatchObject({ ok: false, fault: { code: 'block.no-readings' } });
    expect(block({ readings: [reading('chest circumference', 990)] })).toMatchObject({
      ok: false,
      fault: { code: 'block.no-readings' },
    });
    // 7.7 inches typed as millimetres, and 742 for 574 (mm).
    expect(block({ readings: [reading('head length', 7.7)] })).toMatchObject({
      ok: false,
      fault: { code: 'block.not-a-head', facts: { name: 'head length' } },
    });
    expect(block({ readings: [reading('head circumference', 742)] })).toMatchObject({ ok: false });
    expect(block({ readings: [reading('head length', -3)] })).toMatchObject({
      ok: false,
      fault: { code: 'job.usage' },
    });
    // The straight way from tragion to vertex cannot be shorter than the height over it.
    expect(
      block(
        {
          readings: [
            reading('tragion to vertex', 120, 0.5),
            reading('tragion to top of head', 130, 0.5),
            reading('bitragion breadth', 140, 0.5),
          ],
        },
        { all: true },
      ),
    ).toMatchObject({ ok: false, fault: { code: 'block.cannot' } });
  });
});
