import { describe, expect, it } from 'vitest';
import { createHash } from 'node:crypto';
import { z } from 'zod';
import type { ParameterMeta } from '../../shared-types/operations/specification.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import type { RunHooks } from '../../shared-types/progress.ts';
import { flagsOf } from '../../electron/hosts/cli/arguments.ts';
import { verbHelp } from '../../electron/hosts/cli/help.ts';
import { findOperation, OPERATIONS } from '../../electron/operations/index.ts';
import { runOperation, type OperationResult } from '../../electron/operations/operation.ts';
import { seeded } from '../support/random.ts';
import { input, SAMPLES } from './samples.ts';

const SEED = 20_251_125;

function hashOf(result: OperationResult<unknown>): string {
  const hash = createHash('sha256').update(JSON.stringify([result.figures, result.matrix]));
  if (result.mesh !== undefined) hash.update(result.mesh.positions).update(result.mesh.triangles);
  return hash.digest('hex');
}

/** What JSON would lose or bend: typed arrays, functions, numbers that are none. */
function notPlain(value: unknown, path = ''): string[] {
  if (value === null || typeof value === 'string' || typeof value === 'boolean') return [];
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [path];
  if (typeof value !== 'object') return [path];
  if (Array.isArray(value)) return value.flatMap((one, index) => notPlain(one, `${path}[${index}]`));
  if (Object.getPrototypeOf(value) !== Object.prototype) return [path];
  return Object.entries(value).flatMap(([key, one]) => notPlain(one, `${path}.${key}`));
}

const copyOf = (mesh: Mesh): Mesh => structuredClone(mesh);

describe('the registry', () => {
  it('knows each verb once', () => {
    const verbs = OPERATIONS.map(({ specification }) => specification.verb);
    expect(new Set(verbs).size).toBe(verbs.length);
    for (const verb of verbs) expect(findOperation(verb)?.specification.verb).toBe(verb);
    expect(findOperation('sing')).toBeUndefined();
  });
});

describe.each(OPERATIONS.map((operation) => [operation.specification.verb, operation] as const))(
  '%s',
  (verb, operation) => {
    const { specification } = operation;
    const sample = SAMPLES[verb] ?? { inputs: [], parameters: {} };
    const run = (hooks: RunHooks = {}) => runOperation(operation, sample.inputs, sample.parameters, hooks);
    const good = (outcome: ReturnType<typeof run>): OperationResult<unknown> => {
      if (!outcome.ok) throw new Error(`${verb}: ${JSON.stringify(outcome.fault)}`);
      return outcome.value;
    };
    const onceMade = <T>(make: () => T): (() => T) => {
      let made: { value: T } | undefined;
      return () => (made ??= { value: make() }).value;
    };
    /** The result of the sample, made once. */
    const result = onceMade(() => good(run()));
    /** And once more while watched: what it told, and how often it asked whether to stop. */
    const watched = onceMade(() => {
      const before = sample.inputs.map(({ mesh }) => copyOf(mesh));
      const told: number[] = [];
      let asked = 0;
      const made = good(run({ progress: (fraction) => told.push(fraction), cancelled: () => (asked++, false) }));
      return { before, told, asked, made };
    });

    it('has a sample to be tested with', () => {
      expect(Object.keys(SAMPLES)).toContain(verb);
      expect(sample.inputs.length).toBe(specification.inputs.length);
    });

    it('explains itself: a summary, and a sentence and unit for each parameter', () => {
      expect(specification.summary).toMatch(/^[A-Z].*\.$/);
      for (const [field, schema] of Object.entries(specification.parameters.shape)) {
        const meta = (schema as z.ZodType).meta() as ParameterMeta | undefined;
        expect(meta?.help, field).toMatch(/^[A-Z].*\.$/);
        const flag = flagsOf(specification).find((one) => one.field === field);
        if (flag?.kind === 'number') expect(meta?.unit, field).toBeTruthy();
        expect(flag?.flag, field).toMatch(/^[a-z]+(-[a-z]+)*$/);
      }
      const help = verbHelp(specification);
      for (const { flag } of flagsOf(specification)) expect(help).toContain(`--${flag}`);
      expect(help).not.toMatch(/undefined|\[object/);
    });

    it('weighs its phases to 1', () => {
      const sum = Object.values(operation.phases).reduce((a, b) => a + b, 0);
      expect(sum).toBeCloseTo(1, 9);
    });

    it('gives what its specification promises, as plain data', () => {
      const { mesh, files, papers, matrix, figures } = result();
      expect(mesh !== undefined).toBe(specification.makes === 'mesh');
      expect((files ?? papers) !== undefined).toBe(specification.makes === 'folder');
      if (specification.makes === 'mesh') {
        expect(matrix).toHaveLength(16);
        expect(matrix?.every(Number.isFinite)).toBe(true);
        expect(matrix?.slice(12)).toEqual([0, 0, 0, 1]);
      }
      expect(notPlain(figures)).toEqual([]);
      expect(specification.figures.strict().safeParse(figures).error?.issues ?? []).toEqual([]);
    });

    it('tells progress that never falls, comes from its own steps, and ends at 1', () => {
      const { told } = watched();
      expect(told).toEqual(told.toSorted((a, b) => a - b));
      expect(told.at(-1)).toBeCloseTo(1, 9);
      // Without what runOperation credits at the end, each phase once.
      expect(told.at(-1 - Object.keys(operation.phases).length)).toBeGreaterThan(0.5);
    });

    it('stops wherever it is asked to', () => {
      const { asked } = watched();
      expect(asked).toBeGreaterThan(1);
      const random = seeded(SEED);
      for (const at of [1, ...Array.from({ length: 3 }, () => 1 + Math.floor(random() * (asked - 1)))]) {
        let left = at;
        let reached = 0;
        const outcome = run({ cancelled: () => --left < 0, progress: (fraction) => (reached = fraction) });
        expect(outcome, `stopped at ${at} of ${asked}, seed ${SEED}`).toMatchObject({
          ok: false,
          fault: { code: 'job.cancelled' },
        });
        if (at === 1) expect(reached).toBeLessThan(1);
      }
    });

    it('leaves its input as it was, and gives the same bytes for the same input', () => {
      const { before, made } = watched();
      expect(hashOf(made)).toBe(hashOf(result()));
      expect(sample.inputs.map(({ mesh }) => mesh)).toEqual(before);
    });

    it.skipIf(specification.inputs.length === 0)('answers broken meshes with an outcome, never with a throw', () => {
      const single = {
        positions: Float64Array.from([0, 0, 0, 9, 0, 0, 0, 9, 0]),
        triangles: Uint32Array.from([0, 1, 2]),
      };
      const flat = { positions: new Float64Array(9), triangles: Uint32Array.from([0, 1, 2, 0, 2, 1]) };
      const empty = { positions: new Float64Array(0), triangles: new Uint32Array(0) };
      for (const mesh of [single, flat, empty]) {
        const outcome = runOperation(
          operation,
          specification.inputs.map(() => input(mesh)),
          sample.parameters,
        );
        expect(typeof outcome.ok).toBe('boolean');
        if (mesh === empty) expect(outcome).toMatchObject({ ok: false, fault: { code: 'mesh.no-faces' } });
      }
    });

    it('refuses parameters out of range or of the wrong kind, naming them', () => {
      for (const flag of flagsOf(specification)) {
        if (flag.field === undefined) continue;
        const bad = flag.kind === 'number' ? -1e12 : -7;
        const outcome = runOperation(operation, sample.inputs, { ...sample.parameters, [flag.field]: bad });
        const { ok } = outcome;
        expect(ok, flag.flag).toBe(false);
        if (!ok) {
          expect(outcome.fault.code).toBe('job.usage');
          expect(outcome.fault.facts['reason']).toContain(flag.field);
        }
      }
    });
  },
);
