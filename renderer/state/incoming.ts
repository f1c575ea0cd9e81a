/** The scan somebody has brought and nobody has answered for yet; those opened from outside the page wait in line. */
import type { Client } from '../client/client.ts';
import { createStore, type Store } from './store.ts';

export type Incoming = { readonly wearerId?: string | undefined } & (
  | { readonly file: File; readonly upload?: undefined }
  /** Given to the program from outside the page, which has received it already. */
  | { readonly file: { readonly name: string; readonly size: number }; readonly upload: string }
);

export function createIncoming(client: Pick<Client, 'on'>): Store<Incoming | undefined> {
  const incoming = createStore<Incoming | undefined>(undefined);
  const line: Incoming[] = [];
  const next = (): void => {
    if (incoming.get() === undefined) incoming.set(line.shift());
  };
  client.on('opened', ({ upload, fileName, byteCount }) => {
    line.push({ file: { name: fileName, size: byteCount }, upload });
    next();
  });
  // The next once the one before is dealt with and the page has seen that it is.
  incoming.subscribe(() => {
    if (line.length > 0) setTimeout(next, 0);
  });
  return incoming;
}
