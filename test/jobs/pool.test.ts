import { afterEach, describe, expect, it } from 'vitest';
import type { Fault } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { JobPool, type PoolOptions } from '../../electron/jobs/pool.ts';
import type { JobOrder, JobResult } from '../../electron/jobs/protocol.ts';
import { hooksFor, PROGRESS_EVERY_MS } from '../../electron/jobs/run-context.ts';

const registry = new URL('../support/trial-operations.ts', import.meta.url);
const pools: JobPool[] = [];
const logged: string[] = [];

function open(options: PoolOptions = {}): JobPool {
  const pool = new JobPool({
    registry,
    log: (reference, account) => logged.push(`${reference} ${account}`),
    ...options,
  });
  pools.push(pool);
  return pool;
}

afterEach(async () => {
  await Promise.all(pools.splice(0).map((pool) => pool.close()));
  logged.length = 0;
});

const tetrahedron = (): Mesh => ({
  positions: Float64Array.from([0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0, 3]),
  triangles: Uint32Array.from([0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3]),
  colours: new Uint8Array(12).fill(9),
});

const order = (verb: string, mesh = tetrahedron(), parameters: unknown = {}): JobOrder => ({
  verb,
  inputs: [{ mesh, name: 'trial', fromFile: IDENTITY }],
  parameters,
});

const faultOf = (outcome: Outcome<unknown>): Fault => {
  if (outcome.ok) throw new Error('it went well');
  return outcome.fault;
};
const valueOf = (outcome: Outcome<JobResult>): JobResult => {
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome.value;
};
const threadOf = (outcome: Outcome<JobResult>): unknown => valueOf(outcome).figures['thread'];

describe('job pool', () => {
  it('copies inputs, so the caller keeps its mesh, and hands back an equal result', async () => {
    const mesh = tetrahedron();
    const result = valueOf(await open().run(order('echo', mesh)));
    expect(mesh).toEqual(tetrahedron());
    expect(result.mesh).toEqual(tetrahedron());
    expect(result.figures['sum']).toBe(6);
  });

  it('copies out a view into a larger buffer instead of carrying all of it off', async () => {
    const { mesh } = valueOf(await open().run(order('slice')));
    expect(mesh?.positions.length).toBe(12);
    expect(mesh?.positions.buffer.byteLength).toBe(96);
  });

  it('stops a busy loop by the shared flag, and the thread lives on', async () => {
    const pool = open();
    const before = threadOf(await pool.run(order('echo')));
    const stop = new AbortController();
    const outcome = await pool.run(order('busy'), { signal: stop.signal, progress: () => stop.abort() });
    expect(faultOf(outcome).code).toBe('job.cancelled');
    expect(threadOf(await pool.run(order('echo')))).toBe(before);
  });

  it('ends a thread that does not listen, settles its job, and serves the next in a new one', async () => {
    const pool = open();
    const before = threadOf(await pool.run(order('echo')));
    const stop = new AbortController();
    const outcome = pool.run(order('deaf'), { signal: stop.signal });
    const next = pool.run(order('echo'));
    stop.abort();
    expect(faultOf(await outcome).code).toBe('job.cancelled');
    expect(threadOf(await next)).not.toBe(before);
  });

  it('settles a stopped job without waiting for a thread that is still busy with it', async () => {
    const pool = open();
    await pool.run(order('echo'));
    const stop = new AbortController();
    // Longer than a test may take: only a settling that does not wait for the thread can pass.
    const outcome = pool.run(order('deaf', tetrahedron(), { seconds: 1000 }), { signal: stop.signal });
    stop.abort();
    expect(faultOf(await outcome).code).toBe('job.cancelled');
  });

  it('never starts what was stopped while waiting, or before it was asked', async () => {
    const pool = open();
    const first = pool.run(order('busy', tetrahedron(), { seconds: 0.2 }));
    const stop = new AbortController();
    const waiting = pool.run(order('die'), { signal: stop.signal });
    stop.abort();
    expect(faultOf(await waiting).code).toBe('job.cancelled');
    expect(faultOf(await pool.run(order('die'), { signal: stop.signal })).code).toBe('job.cancelled');
    expect((await first).ok).toBe(true);
    expect(logged).toEqual([]);
  });

  it('tells progress that never falls, ends at 1, and is not a flood', async () => {
    const told: number[] = [];
    await open().run(order('busy', tetrahedron(), { seconds: 0.5 }), { progress: (fraction) => told.push(fraction) });
    expect(told.length).toBeGreaterThan(2);
    expect(told).toEqual(told.toSorted((a, b) => a - b));
    expect(told.at(-1)).toBe(1);
    // Ten at 50 ms apart, the first, and the last one or two.
    expect(told.length).toBeLessThanOrEqual(14);
  });

  it('carries a fault over as the data it is', async () => {
    expect(faultOf(await open().run(order('refuse')))).toEqual({
      code: 'mesh.no-faces',
      facts: {},
      where: { file: 'trial.stl' },
    });
  });

  it.each([
    ['throw', 'a mistake of ours'],
    ['lie', 'thread'],
    ['die', 'ended by itself with code 3'],
  ])('turns our own mistake (%s) into a reference, with the whole account in the log', async (verb, account) => {
    const pool = open();
    const fault = faultOf(await pool.run(order(verb)));
    expect(fault.code).toBe('job.internal');
    expect(logged).toHaveLength(1);
    expect(logged[0]).toContain(account);
    expect(logged[0]).toContain(String(fault.facts['reference']));
    expect((await pool.run(order('echo'))).ok).toBe(true);
  });

  it('survives an order that cannot be copied and a registry that cannot be loaded', async () => {
    expect(faultOf(await open().run(order('echo', tetrahedron(), { f: () => 1 }))).code).toBe('job.internal');
    const lost = open({ registry: new URL('./no-such-registry.ts', import.meta.url) });
    const both = await Promise.all([lost.run(order('echo')), lost.run(order('echo'))]);
    expect(both.map((outcome) => faultOf(outcome).code)).toEqual(['job.internal', 'job.internal']);
  });

  it('validates parameters in the thread and knows no unregistered verb', async () => {
    const pool = open();
    expect(faultOf(await pool.run(order('busy', tetrahedron(), { seconds: 'long' }))).code).toBe('job.usage');
    expect(faultOf(await pool.run(order('sing'))).code).toBe('job.usage');
  });

  it('runs as many at once as it has threads', async () => {
    const pool = open({ threads: 2 });
    const brief = { seconds: 0.2 };
    const three = [1, 2, 3].map(() => pool.run(order('busy', tetrahedron(), brief)));
    const threads = new Set((await Promise.all(three)).map(threadOf));
    expect(threads.size).toBe(2);
  });

  it('settles everything when it is closed', async () => {
    const pool = open();
    const all = [pool.run(order('deaf')), pool.run(order('busy')), pool.run(order('echo'))];
    await pool.close();
    const codes = (await Promise.all([...all, pool.run(order('echo'))])).map((outcome) => faultOf(outcome).code);
    expect(codes).toEqual(Array(4).fill('job.cancelled'));
  });

  it('reads and writes files in the thread, and names the file in a fault', async () => {
    const outcome = await open().run({ verb: 'echo', inputs: [{ path: '/nowhere/a.stl' }], parameters: {} });
    expect(faultOf(outcome)).toMatchObject({ code: 'file.missing', facts: { path: '/nowhere/a.stl' } });
    const { file, mesh } = valueOf(await open().run({ ...order('echo'), writeAs: 'b.stl' }));
    expect(mesh).toBeUndefined();
    // Binary STL: 80 bytes of header, a count, 50 bytes a face (the format's own arithmetic).
    expect(file?.bytes.length).toBe(84 + 4 * 50);
    expect(faultOf(await open().run({ ...order('echo'), writeAs: 'b.doc' })).code).toBe('file.unknown-target');
  });
});

describe('progress hooks', () => {
  it('let one message through in so many milliseconds, always the last, never a fall', () => {
    let clock = 0;
    const told: [number, string][] = [];
    const flag = new Int32Array(new SharedArrayBuffer(4));
    const hooks = hooksFor(
      flag,
      (...one) => told.push(one),
      () => clock,
    );
    hooks.progress(0.1, 'a');
    clock += PROGRESS_EVERY_MS - 1;
    hooks.progress(0.4, 'a');
    clock += 1;
    hooks.progress(0.3, 'b');
    hooks.progress(1, 'b');
    expect(told).toEqual([
      [0.1, 'a'],
      [0.4, 'b'],
      [1, 'b'],
    ]);
    expect(hooks.cancelled()).toBe(false);
    Atomics.store(flag, 0, 1);
    expect(hooks.cancelled()).toBe(true);
  });
});
