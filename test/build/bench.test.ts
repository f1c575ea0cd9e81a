/** What the bench says of the bars of the design: met or not, and by what they are missed. */
import { expect, test } from 'vitest';
import { benchTask, judged, measureTask, most, verdictOf } from '../bench/harness.ts';

const task = benchTask({
  name: 'an-invented-task',
  sizes: [10, 20],
  bars: { 20: most({ maxMm: 0.15, faces: 60_000, peakRssMb: 100 }) },
  prepare: (size) => size,
  run: (size) => ({ maxMm: size / 100, faces: 50_000 }),
});
const memory = { reset: () => {}, peakMb: () => 90 };

test('a row with bars says whether all of them are met, one without says nothing', async () => {
  const small = await measureTask(task, 10, memory);
  expect([small.met, small.bars]).toEqual([undefined, undefined]);
  const large = await measureTask(task, 20, memory);
  expect(large.met).toBe(false);
  expect(large.bars).toEqual([
    { figure: 'maxMm', most: 0.15, reached: 0.2 },
    { figure: 'faces', most: 60_000, reached: 50_000 },
    { figure: 'peakRssMb', most: 100, reached: 90 },
  ]);
  expect(verdictOf([small, large])).toEqual([
    '0 of 1 rows with a bar meet it; not met:',
    '  an-invented-task at 20: maxMm 0.2, bar 0.15',
  ]);
});

test('a bar exactly reached is met; a figure that was not told does not meet it', async () => {
  const measured = await measureTask(task, 10, memory);
  expect(judged(measured, most({ maxMm: 0.1 })).met).toBe(true);
  expect(verdictOf([judged(measured, most({ maxMm: 0.1 }))])).toEqual(['1 of 1 rows with a bar meet it.']);
  expect(judged(measured, most({ p99Mm: 0.05 })).met).toBe(false);
  expect(verdictOf([measured])).toEqual([]);
});
