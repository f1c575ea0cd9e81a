/** What picking and turning a heavy mesh need beside it: a search tree over its faces, and a coarse stand-in. */
import { BufferAttribute, BufferGeometry } from 'three';
import { MeshBVH, type SerializedBVH } from 'three-mesh-bvh';
import { coarseFaces } from './coarse-faces.ts';

export interface GroundworkOrder {
  readonly positions: Float32Array;
  readonly triangles: Uint32Array;
  /** Faces of the stand-in; none is made of a mesh with fewer than twice as many. */
  readonly coarseFaces: number;
}

export interface GroundworkMade {
  readonly tree: {
    readonly roots: ArrayBuffer[];
    readonly order: Uint32Array | Uint16Array | null;
  };
  readonly coarse: Uint32Array<ArrayBuffer>;
}

/** `indirect` keeps the faces in their order: a face's number means the same to everyone. */
const TREE = { indirect: true, targetLeafSize: 8, verbose: false } as const;

export function layGroundwork(order: GroundworkOrder): GroundworkMade {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(order.positions, 3));
  geometry.setIndex(new BufferAttribute(order.triangles, 1));
  const saved = MeshBVH.serialize(new MeshBVH(geometry, TREE), { cloneBuffers: false }) as SerializedBVH & {
    indirectBuffer: Uint32Array | Uint16Array | null;
  };
  const coarse =
    order.triangles.length / 3 >= 2 * order.coarseFaces
      ? coarseFaces(order.positions, order.triangles, order.coarseFaces)
      : new Uint32Array(0);
  return { tree: { roots: saved.roots as ArrayBuffer[], order: saved.indirectBuffer }, coarse };
}
