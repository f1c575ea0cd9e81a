/** A registry for tests of the job pool: operations that behave in the ways real ones might. */
import { threadId } from 'node:worker_threads';
import { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed } from '../../shared-types/outcome.ts';
import type { OperationSpecification } from '../../shared-types/operations/specification.ts';
import type { Operation } from '../../electron/operations/operation.ts';

const specification = (verb: string): OperationSpecification => ({
  verb,
  summary: 'Trial.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: z.object({ seconds: z.number().default(60) }),
  figures: z.object({ thread: z.number(), sum: z.number().default(0) }),
});

const trial = (verb: string, run: Operation['run']): Operation => ({
  specification: specification(verb),
  phases: { work: 1 },
  run,
});

/** Busy for so many seconds unless stopped; `look` is called all along. */
function spin(seconds: unknown, look: (share: number) => void): void {
  const begin = performance.now();
  const length = Number(seconds) * 1000;
  for (let passed = 0; passed < length; passed = performance.now() - begin) look(passed / length);
}

export const OPERATIONS: readonly Operation[] = [
  trial('echo', ([input]) =>
    done({ mesh: input.mesh, figures: { thread: threadId, sum: input.mesh.positions.reduce((a, b) => a + b, 0) } }),
  ),
  trial('busy', (_inputs, { seconds }, run) => {
    spin(seconds, (share) => run.step('work', share, 1));
    return done({ figures: { thread: threadId, sum: 0 } });
  }),
  trial('deaf', (_inputs, { seconds }) => {
    spin(seconds, () => {});
    return done({ figures: { thread: threadId, sum: 0 } });
  }),
  trial('refuse', () => failed(fault('mesh.no-faces', {}, { file: 'trial.stl' }))),
  trial('throw', () => {
    throw new Error('a mistake of ours');
  }),
  trial('lie', () => done({ figures: { thread: 'not a number', sum: 0 } as never })),
  trial('die', () => process.exit(3)),
  trial('slice', ([input]) =>
    done({
      mesh: { ...input.mesh, positions: new Float64Array(new ArrayBuffer(160), 16, 12) },
      figures: { thread: threadId, sum: 0 },
    }),
  ),
];
