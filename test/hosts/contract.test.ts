/** One suite for every way of asking: straight, as the command line does; over the socket; through the window. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, vi } from 'vitest';
import { WebSocket } from 'ws';
import { startLoopback } from '../../electron/hosts/loopback/server.ts';
import { createStudio, type Studio } from '../../electron/services/dispatch.ts';
import { bridgeWire } from '../../renderer/client/bridge-wire.ts';
import { createClient } from '../../renderer/client/client.ts';
import type { Bridge } from '../../shared-types/bridge.ts';
import { EVENTS, type EventName } from '../../shared-types/contract.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { MessageDown, MessageUp } from '../../shared-types/rpc.ts';
import { decodeWire, encodeWire } from '../../shared-types/wire.ts';
import { good } from '../store/support.ts';
import { contractSuite, type Transport } from './contract-suite.ts';
import * as fake from './electron-fake.ts';

vi.mock('electron', () => import('./electron-fake.ts'));
const { startRemoteStudio } = await import('../../electron/hosts/shell/remote-studio.ts');
const { Shell } = await import('../../electron/hosts/shell/shell.ts');
await import('../../electron/hosts/shell/preload.ts');

/** A studio over a new library; closing it shows that no mistake of ours was met on the way. */
function freshStudio(): { studio: Studio; folder: string; account: string[] } {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-contract-'));
  writeFileSync(join(folder, 'index.html'), '<!doctype html>');
  const account: string[] = [];
  const log = (reference: string, told: string): void => void account.push(`${reference} ${told}`);
  return {
    studio: good(createStudio({ libraryPath: join(folder, 'library.wearwright'), threads: 1, log })),
    folder,
    account,
  };
}

/** Numbers calls, and settles each with what comes down for it. */
function talk(
  send: (message: MessageUp) => void,
): Pick<Transport, 'call' | 'events'> & { readonly hear: (message: MessageDown) => void } {
  const waiting = new Map<number, (outcome: Outcome<unknown>) => void>();
  const events: Transport['events'] = [];
  let count = 0;
  return {
    events,
    call: (name, input, watch) => {
      const id = ++count;
      watch?.signal?.addEventListener('abort', () => send({ kind: 'stop', id }));
      return new Promise((settle) => {
        waiting.set(id, settle);
        send({ kind: 'call', id, name, input });
      });
    },
    hear: (message) => {
      if (message.kind === 'event') events.push({ name: message.name, value: message.value });
      else if (message.kind === 'done') waiting.get(message.id)?.(done(message.value, message.warnings));
      else if (message.kind === 'fault') waiting.get(message.id)?.(failed(message.fault));
    },
  };
}

async function straight(): Promise<Transport> {
  const { studio, folder, account } = freshStudio();
  const events: Transport['events'] = [];
  studio.subscribe((name, value) => events.push({ name, value }));
  return {
    events,
    call: (name, input, watch) => studio.call(name, input, watch),
    upload: (fileName, bytes) => studio.receive(fileName, oneChunk(bytes)),
    close: async () => {
      await studio.close();
      rmSync(folder, { recursive: true });
      expect(account).toEqual([]);
    },
  };
}

async function* oneChunk(bytes: Uint8Array): AsyncGenerator<Uint8Array> {
  yield bytes;
}

async function overTheSocket(): Promise<Transport> {
  const { studio, folder, account } = freshStudio();
  const host = await startLoopback({
    screens: folder,
    call: (name, input, watch) => studio.call(name, input, watch),
    receive: (name, body) => studio.receive(name, body),
    subscribe: (listener) => studio.subscribe(listener),
  });
  const { origin, searchParams } = new URL(host.address);
  const headers = { cookie: `wearwright=${searchParams.get('token')}`, origin };
  const socket = new WebSocket(`${origin.replace('http', 'ws')}/socket`, { headers });
  await new Promise((settle, refuse) => socket.once('open', settle).once('error', refuse));
  const { call, events, hear } = talk((message) => socket.send(encodeWire(message)));
  const blobs: string[] = [];
  socket.on('message', (data: Buffer) => {
    const message = decodeWire(data) as MessageDown | { kind: 'blob'; at: string };
    if (message.kind !== 'blob') return hear(message);
    blobs.push(message.at);
    void fetch(origin + message.at, { headers })
      .then((answer) => answer.arrayBuffer())
      .then((body) => hear(decodeWire(new Uint8Array(body)) as MessageDown));
  });
  return {
    call,
    events,
    upload: async (fileName, bytes) => {
      const at = `${origin}/scan?name=${encodeURIComponent(fileName)}`;
      const answer = await fetch(at, { method: 'POST', headers, body: bytes });
      return decodeWire(new Uint8Array(await answer.arrayBuffer())) as Outcome<{ upload: string }>;
    },
    garble: (message) => {
      socket.send(encodeWire(message));
      socket.send(new Uint8Array([1, 2, 3]));
      socket.send('text');
    },
    close: async () => {
      socket.terminate();
      await host.close();
      await studio.close();
      rmSync(folder, { recursive: true });
      expect(account).toEqual([]);
      // The large mesh has gone by the short way, each once.
      expect(blobs.length).toBeGreaterThan(0);
      expect(new Set(blobs).size).toBe(blobs.length);
    },
  };
}

async function throughTheWindow(): Promise<Transport> {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-contract-'));
  const account: string[] = [];
  fake.restart(folder);
  const shell = new Shell({
    screens: folder,
    preload: 'preload.cjs',
    usualLibrary: join(folder, 'new/library.wearwright'),
    startStudio: (libraryPath, log, died) => startRemoteStudio({ libraryPath, log, died }),
    log: (reference, told) => account.push(`${reference} ${told}`),
  });
  await shell.start([]);
  // The page's own side of it: what the screens use.
  const bridge = fake.world['wearwright'] as Bridge;
  const client = createClient(bridgeWire(bridge));
  const events: Transport['events'] = [];
  for (const name of Object.keys(EVENTS) as EventName[]) client.on(name, (value) => events.push({ name, value }));
  // Events are for a page that has spoken.
  await client.call('app.about', {});
  return {
    events,
    call: (name, input, watch) => client.call(name as 'app.about', input as Record<string, never>, watch),
    upload: (fileName, bytes) => {
      const file = new File([], fileName);
      const path = join(folder, fileName);
      writeFileSync(path, bytes);
      fake.droppedPaths.set(file, path);
      return client.upload(file);
    },
    garble: (message) => fake.sendUp('wearwright:up', message),
    close: async () => {
      await shell.leave();
      expect(fake.app.quits).toBe(1);
      rmSync(folder, { recursive: true });
      expect(account).toEqual([]);
    },
  };
}

contractSuite('the dispatcher itself', straight);
contractSuite('the loopback host', overTheSocket);
contractSuite('the desktop shell', throughTheWindow);
