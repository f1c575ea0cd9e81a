import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import { mayPass } from '../../electron/hosts/loopback/guard.ts';
import { startLoopback, type Loopback } from '../../electron/hosts/loopback/server.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed } from '../../shared-types/outcome.ts';
import { decodeWire, encodeWire } from '../../shared-types/wire.ts';

type Answer = { status: number; headers: Record<string, string | string[] | undefined>; body: Buffer };

let folder: string;
let host: Loopback;
let port: number;
let token: string;
let stopped = 0;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-loopback-'));
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>desk</title>');
  writeFileSync(join(folder, 'key.pem'), 'secret');
  writeFileSync(join(folder, '..', 'outside-wearwright.html'), 'outside');
  host = await startLoopback({
    screens: folder,
    receive: async (name, body) => {
      let bytes = 0;
      for await (const chunk of body) bytes += chunk.length;
      return done({ upload: `${name}, ${bytes} bytes` });
    },
    call: async (name, input, watch) => {
      if (name === 'echo') return done(input);
      if (name === 'large') return done({ positions: new Float64Array(300_000).fill(2.5) });
      if (name === 'wait') {
        watch.progress(0.25, 'waiting');
        await new Promise<void>((settle) => watch.signal.addEventListener('abort', () => settle()));
        stopped++;
        return failed(fault('job.cancelled', {}));
      }
      throw new Error(`/home/someone/secret ${name}`);
    },
  });
  const url = new URL(host.address);
  port = Number(url.port);
  token = url.searchParams.get('token') ?? '';
});

afterAll(async () => {
  await host.close();
  rmSync(join(folder, '..', 'outside-wearwright.html'));
  rmSync(folder, { recursive: true });
});

function ask(path: string, headers: Record<string, string> = {}, method = 'GET', body?: string): Promise<Answer> {
  return new Promise((settle, refuse) => {
    const sent = request({ host: '127.0.0.1', port, path, method, headers }, (response) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () =>
        settle({ status: response.statusCode ?? 0, headers: response.headers, body: Buffer.concat(chunks) }),
      );
    });
    sent.on('error', refuse);
    sent.end(body);
  });
}

const ours = (): Record<string, string> => ({
  cookie: `other=1; wearwright=${token}`,
  origin: `http://127.0.0.1:${port}`,
});

describe('the door', () => {
  it('gives the secret back as a cookie no script can read, and takes it out of the address', async () => {
    const answer = await ask(`/?token=${token}`);
    expect(answer.status).toBe(302);
    expect(answer.headers['location']).toBe('/');
    expect(String(answer.headers['set-cookie'])).toMatch(/HttpOnly; SameSite=Strict/);
  });

  it('refuses a wrong secret, no secret, a foreign host name and a foreign page', async () => {
    expect((await ask('/?token=wrong')).status).toBe(403);
    expect((await ask('/')).status).toBe(403);
    expect((await ask('/', { cookie: 'wearwright=wrong' })).status).toBe(403);
    expect((await ask('/', { ...ours(), host: `evil.example:${port}` })).status).toBe(403);
    expect((await ask(`/?token=${token}`, { host: `evil.example:${port}` })).status).toBe(403);
    expect((await ask('/', { ...ours(), origin: 'http://evil.example' })).status).toBe(403);
    expect((await ask('/', { ...ours(), 'sec-fetch-site': 'cross-site' })).status).toBe(403);
    expect((await ask('/', ours())).status).toBe(200);
  });

  it('wants an origin for whatever changes something', () => {
    const gate = { port, token };
    const headers = { host: `127.0.0.1:${port}`, cookie: `wearwright=${token}` };
    expect(mayPass(gate, headers, false)).toBe(true);
    expect(mayPass(gate, headers, true)).toBe(false);
  });

  it('sends a strict policy with every answer', async () => {
    const { headers } = await ask('/', ours());
    expect(headers['content-security-policy']).toContain("default-src 'none'");
    expect(headers['cross-origin-opener-policy']).toBe('same-origin');
    expect(headers['cross-origin-embedder-policy']).toBe('require-corp');
    expect(headers['x-content-type-options']).toBe('nosniff');
    expect(headers['access-control-allow-origin']).toBeUndefined();
  });

  it.each([
    '/../outside-wearwright.html',
    '/%2e%2e/outside-wearwright.html',
    '/..%2foutside-wearwright.html',
    '/key.pem',
    '/%00',
    '/%',
    '/missing.js',
    '/blob/x',
  ])('does not serve %s', async (path) => {
    expect((await ask(path, ours())).status).toBe(404);
  });

  it('takes a scan as a stream, and no other kind of change', async () => {
    const answer = await ask('/scan?name=head.obj', ours(), 'POST', 'v 0 0 0\n');
    expect(decodeWire(answer.body)).toEqual({ ok: true, value: { upload: 'head.obj, 8 bytes' }, warnings: [] });
    expect((await ask('/', ours(), 'PUT')).status).toBe(405);
  });
});

describe('the socket', () => {
  function open(headers: Record<string, string>): Promise<WebSocket> {
    return new Promise((settle, refuse) => {
      const socket = new WebSocket(`ws://127.0.0.1:${port}/socket`, { headers });
      socket.once('open', () => settle(socket));
      socket.once('error', refuse);
    });
  }
  const next = (socket: WebSocket): Promise<Record<string, unknown>> =>
    new Promise((settle) =>
      socket.once('message', (data: Buffer) => settle(decodeWire(data) as Record<string, unknown>)),
    );

  it('is closed to strangers', async () => {
    await expect(open({})).rejects.toThrow('403');
    await expect(open({ ...ours(), origin: 'http://evil.example' })).rejects.toThrow('403');
    await expect(open({ cookie: `wearwright=${token}` })).rejects.toThrow('403');
  });

  it('answers calls with typed arrays in and out', async () => {
    const socket = await open(ours());
    socket.send(encodeWire({ kind: 'call', id: 1, name: 'echo', input: { a: Float64Array.of(1.5) } }));
    expect(await next(socket)).toEqual({ kind: 'done', id: 1, value: { a: Float64Array.of(1.5) }, warnings: [] });
    socket.close();
  });

  it('hands a large answer over as a blob that can be fetched once', async () => {
    const socket = await open(ours());
    socket.send(encodeWire({ kind: 'call', id: 2, name: 'large', input: null }));
    const pointer = await next(socket);
    expect(pointer['kind']).toBe('blob');
    const fetched = await ask(String(pointer['at']), ours());
    const message = decodeWire(fetched.body) as { id: number; value: { positions: Float64Array } };
    expect(message.id).toBe(2);
    expect(message.value.positions.length).toBe(300_000);
    expect((await ask(String(pointer['at']), ours())).status).toBe(404);
    socket.close();
  });

  it('reports progress, stops when asked, and stops what a closed page left running', async () => {
    const socket = await open(ours());
    socket.send(encodeWire({ kind: 'call', id: 3, name: 'wait', input: null }));
    expect(await next(socket)).toEqual({ kind: 'progress', id: 3, fraction: 0.25, phase: 'waiting' });
    socket.send(encodeWire({ kind: 'stop', id: 3 }));
    expect(await next(socket)).toMatchObject({ kind: 'fault', id: 3, fault: { code: 'job.cancelled' } });
    const before = stopped;
    socket.send(encodeWire({ kind: 'call', id: 4, name: 'wait', input: null }));
    await next(socket);
    socket.close();
    await expect.poll(() => stopped).toBe(before + 1);
  });

  it('drops what is no message, and never tells the page what a bug said', async () => {
    const socket = await open(ours());
    socket.send('text');
    socket.send(Buffer.from([1, 2, 3]));
    socket.send(encodeWire({ kind: 'call', id: 'x', name: 'echo' }));
    socket.send(encodeWire({ kind: 'call', id: 5, name: 'bug', input: null }));
    const answer = await next(socket);
    expect(answer).toMatchObject({ kind: 'fault', id: 5, fault: { code: 'job.internal' } });
    expect(JSON.stringify(answer)).not.toContain('secret');
    socket.close();
  });
});
