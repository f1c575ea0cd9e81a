/** Union-find over small integers, with path halving. */
export class Sets {
  readonly #parent: Uint32Array;

  constructor(count: number) {
    this.#parent = new Uint32Array(count);
    for (let i = 0; i < count; i++) this.#parent[i] = i;
  }

  find(i: number): number {
    const parent = this.#parent;
    while (parent[i] !== i) {
      parent[i] = parent[parent[i]];
      i = parent[i];
    }
    return i;
  }

  join(a: number, b: number): void {
    const ra = this.find(a);
    const rb = this.find(b);
    if (ra !== rb) this.#parent[Math.max(ra, rb)] = Math.min(ra, rb);
  }
}

export interface Pieces {
  /** Piece of each face, numbered from 0 in order of first face. */
  readonly pieceOfFace: Uint32Array;
  readonly count: number;
}

/** Split the faces into pieces that share no vertex with one another. O(faces · α). */
export function findPieces(triangles: Uint32Array, vertexCount: number): Pieces {
  const sets = new Sets(vertexCount);
  for (let f = 0; f < triangles.length; f += 3) {
    sets.join(triangles[f], triangles[f + 1]);
    sets.join(triangles[f], triangles[f + 2]);
  }
  const numberOfRoot = new Int32Array(vertexCount).fill(-1);
  const pieceOfFace = new Uint32Array(triangles.length / 3);
  let count = 0;
  for (let face = 0; face < pieceOfFace.length; face++) {
    const root = sets.find(triangles[face * 3]);
    if (numberOfRoot[root] < 0) numberOfRoot[root] = count++;
    pieceOfFace[face] = numberOfRoot[root];
  }
  return { pieceOfFace, count };
}
