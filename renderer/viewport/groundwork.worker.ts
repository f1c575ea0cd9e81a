/** The thread in which a mesh's search tree and its coarse stand-in are made, so that the picture never waits. */
import { layGroundwork, type GroundworkOrder } from './groundwork-made.ts';

interface Port {
  onmessage: ((event: { data: { id: number; order: GroundworkOrder } }) => void) | null;
  postMessage(message: unknown, transfer: ArrayBuffer[]): void;
}

const port = globalThis as unknown as Port;

port.onmessage = ({ data: { id, order } }) => {
  try {
    const made = layGroundwork(order);
    port.postMessage({ id, made }, [
      ...made.tree.roots,
      made.coarse.buffer,
      ...(made.tree.order === null ? [] : [made.tree.order.buffer as ArrayBuffer]),
    ]);
  } catch (trouble) {
    port.postMessage({ id, trouble: String(trouble) }, []);
  }
};
