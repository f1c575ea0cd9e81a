/** A head form from a sheet of readings: the neutral head carved, bent and proven. Size is the faces of the form. */
import { blockOperation } from '../../electron/operations/block.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { benchTask, type BenchTask } from './harness.ts';

/** What a wearer far away can be asked for: two calliper spans and a tape. */
const READINGS = [
  { name: 'head length', measured: 201, u: 1.5 },
  { name: 'head breadth', measured: 149, u: 1.5 },
  { name: 'head circumference', measured: 572, u: 3 },
];
const CHIN = { name: 'bitragion chin arc', measured: 322, u: 3 };

const block = (faces: number, readings: typeof READINGS): Record<string, number> => {
  const made = runOperation(blockOperation, [], { sheet: { readings }, faces });
  if (!made.ok) throw new Error(made.fault.code);
  const { largestMiss, rounds, selfIntersections } = made.value.figures;
  return { largestMissInU: largestMiss, rounds, selfIntersections };
};

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'block-three-readings',
    sizes: [4000, 9500],
    prepare: (size) => size,
    run: (size) => block(size, READINGS),
  }),
  benchTask({
    name: 'block-with-an-arc',
    sizes: [9500],
    prepare: (size) => size,
    run: (size) => block(size, [...READINGS, CHIN]),
  }),
];
