/** Scans given to the program from outside the page come to the dialog one after the other. */
import { expect, test } from 'vitest';
import type { Client } from '../../renderer/client/client.ts';
import { createIncoming } from '../../renderer/state/incoming.ts';

const turn = (): Promise<void> => new Promise((settle) => setTimeout(settle, 1));

test('several opened scans wait for each other, and one that was dropped goes first', async () => {
  const listeners = new Map<string, (value: unknown) => void>();
  const client = {
    on: (name: string, listener: (value: unknown) => void) => {
      listeners.set(name, listener);
      return () => {};
    },
  } as unknown as Client;
  const incoming = createIncoming(client);
  const dropped = { file: new File(['v'], 'dropped.obj') };
  incoming.set(dropped);
  for (const name of ['a', 'b']) {
    listeners.get('opened')?.({ upload: `handle-${name}`, fileName: `${name}.obj`, byteCount: 8 });
  }
  await turn();
  expect(incoming.get()).toBe(dropped);
  const seen: unknown[] = [];
  for (let i = 0; i < 3; i++) {
    incoming.set(undefined);
    await turn();
    seen.push(incoming.get());
  }
  expect(seen).toEqual([
    { file: { name: 'a.obj', size: 8 }, upload: 'handle-a' },
    { file: { name: 'b.obj', size: 8 }, upload: 'handle-b' },
    undefined,
  ]);
});
