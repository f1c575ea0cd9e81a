import { describe, expect, it } from 'vitest';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { lightenOperation } from '../../electron/operations/lighten.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { LIGHTEN_DEFAULT_FACES } from '../../shared-types/operations/lighten.ts';
import type { RunHooks } from '../../shared-types/progress.ts';
import { headOf } from '../bench/heads.ts';
import { torus } from '../support/solids.ts';

const run = (mesh: Mesh, parameters: unknown, hooks?: RunHooks): ReturnType<typeof runOperation> =>
  runOperation(lightenOperation, [{ mesh, name: 'head.ply', fromFile: IDENTITY }], parameters, hooks);

describe('lighten, the operation', () => {
  it('by default goes under 10,000 faces (common practice for solid CAD, no source), and states its figures', () => {
    const seen: number[] = [];
    const outcome = run(headOf(30_000), {}, { progress: (fraction) => seen.push(fraction) });
    expect(outcome.ok).toBe(true);
    if (!outcome.ok) return;
    const { figures, mesh, matrix } = outcome.value;
    expect(LIGHTEN_DEFAULT_FACES).toBeLessThan(10_000);
    expect(figures).toMatchObject({ watertight: true, selfIntersections: 0, openEdges: 0 });
    expect(figures.faces).toBe((mesh as Mesh).triangles.length / 3);
    expect(figures.faces).toBeLessThanOrEqual(LIGHTEN_DEFAULT_FACES);
    expect(figures.meanDeviationMm).toBeGreaterThan(0);
    expect(figures.meanDeviationMm).toBeLessThan(figures.p99DeviationMm as number);
    expect(figures.p99DeviationMm).toBeLessThan(figures.maxDeviationMm as number);
    expect(Math.abs(figures.volumeChangePercent as number)).toBeLessThan(0.05);
    expect(matrix).toEqual(IDENTITY);
    expect(seen.every((fraction, i) => i === 0 || fraction >= seen[i - 1])).toBe(true);
    expect(seen.at(-1)).toBeCloseTo(1, 9);
  });

  it('stops when asked, at any point', () => {
    const mesh = headOf(12_000);
    for (const at of [3, 10, 40]) {
      let reads = 0;
      const outcome = run(mesh, { faces: 2000 }, { cancelled: () => ++reads > at });
      expect(outcome.ok).toBe(false);
      expect(!outcome.ok && outcome.fault.code).toBe('job.cancelled');
    }
  });

  it('answers bad wishes with one sentence', () => {
    const sentence = (mesh: Mesh, parameters: unknown): string => {
      const outcome = run(mesh, parameters);
      return outcome.ok ? '' : faultSentence(outcome.fault);
    };
    const ring = torus(50, 12, 40, 20);
    expect(sentence(ring, { faces: 100, withinMm: 1 })).toContain('not both');
    expect(sentence(ring, { faces: 4 })).toMatch(/^4 faces are too few .* goes down to \d+/);
    expect(sentence(ring, { faces: -1 })).toContain('faces');
    expect(sentence({ positions: new Float64Array(0), triangles: new Uint32Array(0) }, {})).toContain('no faces');
  });
});
