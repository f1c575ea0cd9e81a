/** Stands for the studio's thread: opens at once, answers "echo", and ends without a word when asked to "die". */
import { parentPort } from 'node:worker_threads';
import { done } from '../../../shared-types/outcome.ts';

parentPort?.on('message', (message: { kind: string; id: number; name?: string; input?: unknown }) => {
  if (message.kind !== 'call') return;
  if (message.name === 'die') process.exit(7);
  if (message.name === 'echo') {
    parentPort?.postMessage({ kind: 'done', id: message.id, value: message.input, warnings: [] });
  }
});
parentPort?.postMessage({ kind: 'opened', outcome: done(null) });
