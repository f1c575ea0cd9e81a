/** Over the desktop shell's bridge: messages are plain data and typed arrays, cloned between the processes. */
import type { Bridge } from '../../shared-types/bridge.ts';
import { isMessageDown, listeners, type Wire } from './wire.ts';
import type { MessageDown } from '../../shared-types/rpc.ts';

/** What the preload put on the window, if this page stands in the desktop window. */
export function bridgeOf(page: object): Bridge | undefined {
  const bridge = (page as { wearwright?: Partial<Bridge> }).wearwright;
  const isWhole = [bridge?.send, bridge?.onMessage, bridge?.upload].every((part) => typeof part === 'function');
  return isWhole ? (bridge as Bridge) : undefined;
}

export function bridgeWire(bridge: Bridge): Wire {
  const messages = listeners<MessageDown>();
  bridge.onMessage((message: unknown) => {
    if (isMessageDown(message)) messages.tell(message);
  });
  return {
    send(message) {
      bridge.send(message);
      return true;
    },
    onMessage: messages.add,
    // The program lives as long as its window.
    state: () => 'open',
    onState: () => () => {},
    upload: (file) => bridge.upload(file),
  };
}
