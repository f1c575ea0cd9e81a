import { describe, expect, it } from 'vitest';
import { Cancelled, createRun, tickingRun } from '../../shared-types/progress.ts';

describe('run context', () => {
  it('weighs phases, never falls, and credits a phase once', () => {
    const told: number[] = [];
    const run = createRun({ a: 0.25, b: 0.75 }, { progress: (fraction) => told.push(fraction) });
    run.step('a', 1, 2);
    run.step('a', 1, 4);
    run.step('b', 1, 3);
    run.step('a', 5, 4);
    run.step('b', 0, 0);
    expect(told).toEqual([0.125, 0.125, 0.375, 0.5, 1]);
  });

  it('lets a nested run fill one phase', () => {
    const told: number[] = [];
    const run = createRun({ a: 0.5, b: 0.5 }, { progress: (fraction) => told.push(fraction) });
    const inner = run.within('b', { x: 0.5, y: 0.5 });
    inner.step('x', 1, 1);
    inner.step('y', 1, 2);
    expect(told).toEqual([0.25, 0.375]);
  });

  it('throws the stop at the next step, nested or not, and a mistake in a phase name at once', () => {
    let stop = false;
    const run = createRun({ a: 1 }, { cancelled: () => stop });
    const inner = run.within('a', { x: 1 });
    inner.step('x', 0, 1);
    expect(() => run.step('z', 0, 1)).toThrow('phase "z" was not declared');
    stop = true;
    expect(() => inner.step('x', 1, 1)).toThrow(Cancelled);
    expect(() => run.step('a', 1, 1)).toThrow(Cancelled);
  });

  it('ticks by whatever phases are stepped within a moment, and so passes the stop on', () => {
    const told: number[] = [];
    let stop = false;
    const run = createRun({ a: 1 }, { cancelled: () => stop, progress: (fraction) => told.push(fraction) });
    const ticking = tickingRun(() => run.step('a', 1, 2));
    ticking.step('b', 1, 1);
    const inner = ticking.within('b', { c: 1 });
    inner.step('c', 0, 1);
    expect(told).toEqual([0.5, 0.5]);
    stop = true;
    expect(() => inner.step('c', 1, 1)).toThrow(Cancelled);
  });
});
