import { describe, expect, test } from 'vitest';
import { fault } from '../../shared-types/faults/index.ts';
import { done } from '../../shared-types/outcome.ts';
import type { MessageDown, MessageUp } from '../../shared-types/rpc.ts';
import { bridgeOf, bridgeWire } from '../../renderer/client/bridge-wire.ts';
import { createClient } from '../../renderer/client/client.ts';
import { listeners, type Wire, type WireState } from '../../renderer/client/wire.ts';

function handWire(first: WireState = 'open') {
  const sent: MessageUp[] = [];
  const messages = listeners<MessageDown>();
  const states = listeners<WireState>();
  let state = first;
  const wire: Wire = {
    send: (message) => {
      if (state !== 'open') return false;
      sent.push(message);
      return true;
    },
    onMessage: messages.add,
    state: () => state,
    onState: states.add,
    upload: () => Promise.reject(new Error('not here')),
  };
  const become = (next: WireState): void => {
    state = next;
    states.tell(next);
  };
  return { wire, sent, tell: messages.tell, become };
}
const settled = (): Promise<void> => new Promise((settle) => setTimeout(settle, 0));

describe('a call always settles', () => {
  test('with its own answer, whatever the order of the answers', async () => {
    const { wire, sent, tell } = handWire();
    const client = createClient(wire);
    const [undo, redo] = [client.call('history.undo', {}), client.call('history.redo', {})];
    await settled();
    expect(sent.map((message) => (message.kind === 'call' ? message.name : 'stop'))).toEqual([
      'history.undo',
      'history.redo',
    ]);
    const [first, second] = sent;
    tell({ kind: 'done', id: second?.id ?? 0, value: { label: 'second' }, warnings: [] });
    tell({ kind: 'done', id: first?.id ?? 0, value: { label: 'first' }, warnings: [] });
    expect(await undo).toEqual({ ok: true, value: { label: 'first' }, warnings: [] });
    expect(await redo).toEqual({ ok: true, value: { label: 'second' }, warnings: [] });
  });

  test('with the fault the program gives, after its progress', async () => {
    const { wire, sent, tell } = handWire();
    const heard: [number, string][] = [];
    const call = createClient(wire).call('demo.make', {}, { onProgress: (...news) => heard.push(news) });
    await settled();
    const id = sent[0]?.id ?? 0;
    tell({ kind: 'progress', id, fraction: 0.5, phase: 'Inventing heads' });
    tell({ kind: 'fault', id, fault: fault('job.out-of-memory', {}) });
    const outcome = await call;
    expect(outcome.ok).toBe(false);
    if (!outcome.ok) expect(outcome.fault.code).toBe('job.out-of-memory');
    expect(heard).toEqual([[0.5, 'Inventing heads']]);
  });

  test('as lost when the connection goes, and works again when it is back', async () => {
    const { wire, sent, tell, become } = handWire();
    const client = createClient(wire);
    const cutOff = client.call('app.about', {});
    await settled();
    become('lost');
    const outcome = await cutOff;
    expect(!outcome.ok && outcome.fault.code).toBe('job.connection');
    const refused = await client.call('app.about', {});
    expect(!refused.ok && refused.fault.code).toBe('job.connection');
    become('open');
    const again = client.call('history.undo', {});
    await settled();
    const last = sent.at(-1);
    // An answer to the call that was cut off comes late and is nobody's.
    tell({ kind: 'done', id: sent[0]?.id ?? 0, value: { label: 'late' }, warnings: [] });
    tell({ kind: 'done', id: last?.id ?? 0, value: { label: 'now' }, warnings: [] });
    expect(await again).toMatchObject({ ok: true, value: { label: 'now' } });
  });

  test('a call made while the connection is being opened waits for it', async () => {
    const { wire, sent, tell, become } = handWire('connecting');
    const call = createClient(wire).call('history.undo', {});
    await settled();
    expect(sent).toEqual([]);
    become('open');
    await settled();
    tell({ kind: 'done', id: sent[0]?.id ?? 0, value: { label: 'x' }, warnings: [] });
    expect((await call).ok).toBe(true);
  });

  test('a stop goes up once, and the call settles with what the program says', async () => {
    const { wire, sent, tell } = handWire();
    const controller = new AbortController();
    const call = createClient(wire).call('demo.make', {}, { signal: controller.signal });
    await settled();
    controller.abort();
    expect(sent.at(-1)).toEqual({ kind: 'stop', id: sent[0]?.id });
    tell({ kind: 'fault', id: sent[0]?.id ?? 0, fault: fault('job.cancelled', {}) });
    expect(!(await call).ok).toBe(true);
    const never = await createClient(wire).call('demo.make', {}, { signal: controller.signal });
    expect(!never.ok && never.fault.code).toBe('job.cancelled');
  });
});

test('events reach their listeners until they are dropped', () => {
  const { wire, tell } = handWire();
  const client = createClient(wire);
  const heard: unknown[] = [];
  const drop = client.on('jobs', (value) => heard.push(value));
  tell({ kind: 'event', name: 'jobs', value: { jobs: [] } });
  tell({ kind: 'event', name: 'changed', value: { what: 'library' } });
  drop();
  tell({ kind: 'event', name: 'jobs', value: { jobs: [] } });
  expect(heard).toEqual([{ jobs: [] }]);
});

test('over the bridge messages pass that are ones, and a file goes the bridge’s own way', async () => {
  const sent: MessageUp[] = [];
  let down: (message: MessageDown) => void = () => {};
  const bridge = {
    send: (message: MessageUp) => void sent.push(message),
    onMessage: (listener: (message: MessageDown) => void) => {
      down = listener;
      return () => {};
    },
    upload: (file: File) => Promise.resolve(done({ upload: `for ${file.name}` })),
  };
  expect(bridgeOf({ wearwright: bridge })).toBe(bridge);
  expect(bridgeOf({})).toBeUndefined();
  expect(bridgeOf({ wearwright: { send: bridge.send } })).toBeUndefined();
  const client = createClient(bridgeWire(bridge));
  const call = client.call('history.undo', {});
  await settled();
  down('no message' as unknown as MessageDown);
  down({ kind: 'done', id: sent[0]?.id ?? 0, value: { label: 'x' }, warnings: [] });
  expect(await call).toMatchObject({ ok: true, value: { label: 'x' } });
  expect(await client.upload(new File([], 'head.stl'))).toMatchObject({ value: { upload: 'for head.stl' } });
});
