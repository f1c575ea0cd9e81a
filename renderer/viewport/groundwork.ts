/**
 * Orders groundwork from a thread of its own, one mesh after the other, and lets the thread go when nothing is left.
 * Where no thread can be had (a page opened from a file, say) the work is done here, between two pictures.
 */
import { BufferAttribute, BufferGeometry } from 'three';
import { MeshBVH, type SerializedBVH } from 'three-mesh-bvh';
import { layGroundwork, type GroundworkMade, type GroundworkOrder } from './groundwork-made.ts';

export interface Groundwork {
  readonly tree: MeshBVH;
  readonly coarse: Uint32Array<ArrayBuffer> | undefined;
  readonly bytes: number;
}

interface Waiting {
  readonly id: number;
  readonly order: GroundworkOrder;
  readonly done: (made: Groundwork) => void;
}

export class GroundworkOffice {
  #worker: Worker | undefined;
  #canThread = typeof Worker === 'function';
  readonly #waiting: Waiting[] = [];
  #current: Waiting | undefined;
  #nextId = 1;
  #idle = 0;

  /** Calls `done` once the groundwork is there; the answer takes it back (a mesh that is shown no more). */
  order(order: GroundworkOrder, done: (made: Groundwork) => void): () => void {
    const waiting = { id: this.#nextId++, order, done };
    this.#waiting.push(waiting);
    if (this.#current === undefined) this.#idle = window.setTimeout(() => this.#next(), 0);
    return () => {
      const at = this.#waiting.indexOf(waiting);
      if (at >= 0) this.#waiting.splice(at, 1);
      if (this.#current === waiting) {
        this.#close();
        this.#next();
      }
    };
  }

  dispose(): void {
    this.#waiting.length = 0;
    this.#close();
  }

  #close(): void {
    window.clearTimeout(this.#idle);
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#current = undefined;
  }

  #next(): void {
    if (this.#current !== undefined) return;
    const waiting = this.#waiting.shift();
    if (waiting === undefined) {
      this.#close();
      return;
    }
    this.#current = waiting;
    if (this.#canThread) {
      try {
        this.#thread().postMessage({ id: waiting.id, order: waiting.order });
        return;
      } catch {
        this.#canThread = false;
      }
    }
    this.#here();
  }

  #here(): void {
    this.#idle = window.setTimeout(() => {
      const waiting = this.#current;
      if (waiting !== undefined) this.#settle(waiting, layGroundwork(waiting.order));
    }, 30);
  }

  #thread(): Worker {
    if (this.#worker !== undefined) return this.#worker;
    const worker = new Worker(new URL('./groundwork.worker.ts', import.meta.url), { type: 'module' });
    worker.onmessage = ({ data }: MessageEvent<{ id: number; made?: GroundworkMade; trouble?: string }>) => {
      const waiting = this.#current;
      if (waiting === undefined || waiting.id !== data.id) return;
      if (data.made === undefined) this.#here();
      else this.#settle(waiting, data.made);
    };
    worker.onerror = () => {
      this.#canThread = false;
      worker.terminate();
      this.#worker = undefined;
      if (this.#current !== undefined) this.#here();
    };
    this.#worker = worker;
    return worker;
  }

  #settle(waiting: Waiting, made: GroundworkMade): void {
    this.#current = undefined;
    const geometry = new BufferGeometry();
    geometry.setAttribute('position', new BufferAttribute(waiting.order.positions, 3));
    geometry.setIndex(new BufferAttribute(waiting.order.triangles, 1));
    const saved = { version: 1, roots: made.tree.roots, index: null, indirectBuffer: made.tree.order };
    const tree = MeshBVH.deserialize(saved as SerializedBVH, geometry, { setIndex: false });
    const roots = made.tree.roots.reduce((sum, root) => sum + root.byteLength, 0);
    const bytes = roots + (made.tree.order?.byteLength ?? 0) + made.coarse.byteLength;
    waiting.done({ tree, coarse: made.coarse.length > 0 ? made.coarse : undefined, bytes });
    this.#next();
  }
}
