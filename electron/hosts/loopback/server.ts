/**
 * The loopback host: the studio's screens and one socket on 127.0.0.1, for a machine without the desktop
 * shell. It knows HTTP and sockets and nothing of the work: calls go to the dispatcher it is given.
 *
 * Small answers and progress cross the socket; an answer over a megabyte is fetched once as a blob, which is
 * several times faster in a browser than a socket frame (measured in stack.md section 5).
 */
import { randomBytes } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Duplex } from 'node:stream';
import { WebSocketServer, type WebSocket } from 'ws';
import type { Outcome } from '../../../shared-types/outcome.ts';
import type { MessageDown } from '../../../shared-types/rpc.ts';
import { decodeWire, encodeWire } from '../../../shared-types/wire.ts';
import { Conversation, type Call, type Subscribe } from '../../services/conversation.ts';
import { PAGE_HEADERS, screenFile } from '../../services/screen-files.ts';
import { mayEnter, mayPass, TOKEN_COOKIE, type Gate } from './guard.ts';

export type { Call };

export interface LoopbackOptions {
  /** Folder of the built screens; index.html in it is the page. */
  readonly screens: string;
  readonly call: Call;
  /** Takes a scan sent from the page, as a stream; answers with a handle the page can name in a call. */
  readonly receive?: (name: string, body: AsyncIterable<Uint8Array>) => Promise<Outcome<unknown>>;
  readonly subscribe?: Subscribe;
  /** 0 picks a free port. */
  readonly port?: number;
}

export interface Loopback {
  /** The address to open, with the secret of this start. */
  readonly address: string;
  close(): Promise<void>;
}

const BLOB_BYTES = 1 << 20;
const BLOB_LIFE_MS = 60_000;
const SOCKET_BYTES = 16 << 20;
const UPLOAD_BYTES = 2 ** 31;

/** Start serving. Resolves once the port listens. */
export async function startLoopback(options: LoopbackOptions): Promise<Loopback> {
  const token = randomBytes(24).toString('base64url');
  const blobs = new Map<string, { bytes: Uint8Array; timer: NodeJS.Timeout }>();
  const server = createServer();
  await new Promise<void>((settle, refuse) => {
    server.once('error', refuse);
    server.listen(options.port ?? 0, '127.0.0.1', settle);
  });
  const gate: Gate = { port: (server.address() as AddressInfo).port, token };
  server.on('request', (request, response) => {
    answer(request, response, gate, options, blobs).catch(() => {
      if (!response.headersSent) refuse(response, 500);
      else response.destroy();
    });
  });
  const sockets = serveSockets(server, gate, options, blobs);
  return {
    address: `http://127.0.0.1:${gate.port}/?token=${token}`,
    close: async () => {
      for (const { timer } of blobs.values()) clearTimeout(timer);
      blobs.clear();
      for (const socket of sockets.clients) socket.terminate();
      sockets.close();
      server.closeAllConnections();
      await new Promise<void>((settle) => server.close(() => settle()));
    },
  };
}

function refuse(response: ServerResponse, status: number): void {
  response.writeHead(status, { ...PAGE_HEADERS, 'content-type': 'text/plain; charset=utf-8' });
  response.end(status === 404 ? 'Not here.' : status === 403 ? 'Not allowed.' : 'Not possible.');
}

async function answer(
  request: IncomingMessage,
  response: ServerResponse,
  gate: Gate,
  options: LoopbackOptions,
  blobs: Map<string, { bytes: Uint8Array; timer: NodeJS.Timeout }>,
): Promise<void> {
  const url = new URL(request.url ?? '/', `http://127.0.0.1:${gate.port}`);
  if (request.method === 'GET' && url.pathname === '/' && url.searchParams.has('token')) {
    if (!mayEnter(gate, request.headers, url.searchParams.get('token'))) return refuse(response, 403);
    // The secret leaves the address bar at once and stays as a cookie no script can read.
    response.writeHead(302, {
      ...PAGE_HEADERS,
      'set-cookie': `${TOKEN_COOKIE}=${gate.token}; HttpOnly; SameSite=Strict; Path=/`,
      location: '/',
    });
    response.end();
    return;
  }
  const upload = request.method === 'POST' && url.pathname === '/scan';
  if (!mayPass(gate, request.headers, upload)) return refuse(response, 403);
  if (upload) return takeScan(request, response, url, options);
  if (request.method !== 'GET' && request.method !== 'HEAD') return refuse(response, 405);
  if (url.pathname.startsWith('/blob/')) {
    const id = url.pathname.slice('/blob/'.length);
    const blob = blobs.get(id);
    if (blob === undefined) return refuse(response, 404);
    clearTimeout(blob.timer);
    blobs.delete(id);
    response.writeHead(200, {
      ...PAGE_HEADERS,
      'content-type': 'application/octet-stream',
      'content-length': blob.bytes.length,
    });
    response.end(blob.bytes);
    return;
  }
  return sendFile(response, options.screens, url.pathname);
}

async function sendFile(response: ServerResponse, folder: string, pathname: string): Promise<void> {
  const file = await screenFile(folder, pathname);
  if (file === undefined) return refuse(response, 404);
  response.writeHead(200, { ...PAGE_HEADERS, 'content-type': file.type, 'content-length': file.byteCount });
  createReadStream(file.path).pipe(response);
}

async function takeScan(
  request: IncomingMessage,
  response: ServerResponse,
  url: URL,
  options: LoopbackOptions,
): Promise<void> {
  const claimed = Number(request.headers['content-length'] ?? 0);
  if (options.receive === undefined || !(claimed <= UPLOAD_BYTES)) return refuse(response, 413);
  let received = 0;
  async function* counted(): AsyncGenerator<Uint8Array> {
    for await (const chunk of request) {
      received += (chunk as Uint8Array).length;
      if (received > UPLOAD_BYTES) throw new Error('upload too long');
      yield chunk as Uint8Array;
    }
  }
  const outcome = await options.receive(url.searchParams.get('name') ?? 'scan', counted());
  response.writeHead(200, { ...PAGE_HEADERS, 'content-type': 'application/octet-stream' });
  response.end(encodeWire(outcome));
}

function serveSockets(
  server: Server,
  gate: Gate,
  options: LoopbackOptions,
  blobs: Map<string, { bytes: Uint8Array; timer: NodeJS.Timeout }>,
): WebSocketServer {
  const sockets = new WebSocketServer({ noServer: true, maxPayload: SOCKET_BYTES, perMessageDeflate: false });
  server.on('upgrade', (request: IncomingMessage, socket: Duplex, head: Buffer) => {
    if (request.url !== '/socket' || !mayPass(gate, request.headers, true)) {
      socket.end('HTTP/1.1 403 Forbidden\r\nconnection: close\r\n\r\n');
      return;
    }
    sockets.handleUpgrade(request, socket, head, (opened) => serveSocket(opened, options, blobs));
  });
  return sockets;
}

function serveSocket(
  socket: WebSocket,
  options: LoopbackOptions,
  blobs: Map<string, { bytes: Uint8Array; timer: NodeJS.Timeout }>,
): void {
  const send = (message: MessageDown): void => {
    if (socket.readyState !== socket.OPEN) return;
    const bytes = encodeWire(message);
    if (bytes.length <= BLOB_BYTES) {
      socket.send(bytes);
      return;
    }
    const id = randomBytes(18).toString('base64url');
    const timer = setTimeout(() => blobs.delete(id), BLOB_LIFE_MS);
    timer.unref();
    blobs.set(id, { bytes, timer });
    socket.send(encodeWire({ kind: 'blob', at: `/blob/${id}` }));
  };
  const unsubscribe = options.subscribe?.((name, value) => send({ kind: 'event', name, value }));
  const talk = new Conversation(options.call, send);
  socket.on('message', (data: Buffer, binary: boolean) => {
    if (binary) talk.take(decodeWire(data));
  });
  socket.on('error', () => socket.terminate());
  socket.on('close', () => {
    unsubscribe?.();
    talk.end();
  });
}
