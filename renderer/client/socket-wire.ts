/**
 * Over a socket to this computer's own port. A lost connection is tried again, at first soon and then less often; large
 * answers come as an address to fetch once; scans go up as a request of their own, because a socket frame is slow.
 */
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import { failed, type Outcome } from '../../shared-types/outcome.ts';
import type { MessageDown } from '../../shared-types/rpc.ts';
import { decodeWire, encodeWire } from '../../shared-types/wire.ts';
import { isMessageDown, listeners, type UploadWatch, type Wire, type WireState } from './wire.ts';

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 5000;

export function socketWire(pageAddress: string): Wire {
  const socketAddress = new URL('./socket', pageAddress);
  socketAddress.protocol = socketAddress.protocol === 'https:' ? 'wss:' : 'ws:';
  const messages = listeners<MessageDown>();
  const states = listeners<WireState>();
  let state: WireState = 'connecting';
  let socket: WebSocket | undefined;
  let waitMs = FIRST_WAIT_MS;

  const become = (next: WireState): void => {
    if (next === state) return;
    state = next;
    states.tell(next);
  };
  const receive = async (bytes: Uint8Array, from: WebSocket): Promise<void> => {
    const message = decodeWire(bytes);
    const at = blobAddress(message);
    if (at === undefined) {
      if (isMessageDown(message)) messages.tell(message);
      return;
    }
    try {
      const answer = await fetch(new URL(`.${at}`, pageAddress), { credentials: 'same-origin', cache: 'no-store' });
      const inner = answer.ok ? decodeWire(new Uint8Array(await answer.arrayBuffer())) : undefined;
      if (isMessageDown(inner)) messages.tell(inner);
      else from.close();
    } catch {
      // The answer is gone for good; closing settles its call as lost instead of leaving it waiting.
      from.close();
    }
  };
  const open = (): void => {
    const opening = new WebSocket(socketAddress);
    opening.binaryType = 'arraybuffer';
    socket = opening;
    opening.addEventListener('open', () => {
      waitMs = FIRST_WAIT_MS;
      become('open');
    });
    opening.addEventListener('message', (event: MessageEvent<unknown>) => {
      if (event.data instanceof ArrayBuffer) void receive(new Uint8Array(event.data), opening);
    });
    opening.addEventListener('close', () => {
      if (socket !== opening) return;
      socket = undefined;
      become('lost');
      setTimeout(open, waitMs);
      waitMs = Math.min(2 * waitMs, LONGEST_WAIT_MS);
    });
  };
  open();

  return {
    send(message) {
      if (socket === undefined || socket.readyState !== WebSocket.OPEN) return false;
      socket.send(encodeWire(message));
      return true;
    },
    onMessage: messages.add,
    state: () => state,
    onState: states.add,
    upload: (file, watch) => post(new URL(`./scan?name=${encodeURIComponent(file.name)}`, pageAddress), file, watch),
  };
}

function blobAddress(message: unknown): string | undefined {
  if (typeof message !== 'object' || message === null) return undefined;
  const { kind, at } = message as { kind?: unknown; at?: unknown };
  return kind === 'blob' && typeof at === 'string' && at.startsWith('/blob/') ? at : undefined;
}

function isOutcome(value: unknown): value is Outcome<{ upload: string }> {
  if (typeof value !== 'object' || value === null) return false;
  const outcome = value as { ok?: unknown; value?: { upload?: unknown }; fault?: Partial<Fault> };
  return outcome.ok === true ? typeof outcome.value?.upload === 'string' : typeof outcome.fault?.code === 'string';
}

/** The older way of asking, because only it tells how much has gone up. */
function post(address: URL, file: File, watch: UploadWatch): Promise<Outcome<{ upload: string }>> {
  return new Promise((settle) => {
    const request = new XMLHttpRequest();
    const lost = (): void => settle(failed(fault('job.connection', {})));
    request.open('POST', address);
    request.responseType = 'arraybuffer';
    request.upload.addEventListener('progress', (event) => {
      if (event.lengthComputable && event.total > 0) watch.onProgress?.(event.loaded / event.total);
    });
    request.addEventListener('load', () => {
      const answer = request.status === 200 ? decodeWire(new Uint8Array(request.response as ArrayBuffer)) : undefined;
      if (isOutcome(answer)) settle(answer);
      else lost();
    });
    request.addEventListener('error', lost);
    request.addEventListener('abort', () => settle(failed(fault('job.cancelled', {}))));
    watch.signal?.addEventListener('abort', () => request.abort());
    request.send(file);
  });
}
