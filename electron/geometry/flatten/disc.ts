/** The shape of a patch as a whole: its border loops, and whether it is a disc. */
import { findTwins, nextHalfedge, previousHalfedge } from '../mesh/twins.ts';

/**
 * The border of a patch as loops of vertices, patch to the left of the way, seen from outside. A vertex where two
 * stretches of border touch belongs to both of their loops. O(faces).
 */
export function borderLoops(triangles: Uint32Array, vertexCount: number): readonly (readonly number[])[] {
  const { twin } = findTwins(triangles, vertexCount);
  const seen = new Uint8Array(triangles.length);
  const loops: number[][] = [];
  for (let first = 0; first < triangles.length; first++) {
    if (twin[first] >= 0 || seen[first]) continue;
    const loop: number[] = [];
    let h = first;
    do {
      seen[h] = 1;
      loop.push(triangles[h]);
      // Round the far end until the border goes on.
      h = nextHalfedge(h);
      while (twin[h] >= 0) h = nextHalfedge(twin[h]);
    } while (h !== first && loop.length <= triangles.length);
    loops.push(loop);
  }
  return loops;
}

/** Vertices in use less edges plus faces: 1 for a disc, 0 for a tube, 2 for a ball. O(faces). */
export function eulerNumber(triangles: Uint32Array, vertexCount: number): number {
  const { openEdges } = findTwins(triangles, vertexCount);
  const used = new Uint8Array(vertexCount);
  for (const v of triangles) used[v] = 1;
  let vertices = 0;
  for (const one of used) vertices += one;
  return vertices - (triangles.length + openEdges) / 2 + triangles.length / 3;
}

/**
 * The patch cut open along edges: `cut(a, b)` tells which. Vertices along a cut become several, one for each side; cuts
 * that end inside leave a slit. `source[v]` is the vertex each came from. O(faces).
 */
export function openAlong(
  triangles: Uint32Array,
  vertexCount: number,
  cut: (a: number, b: number) => boolean,
): { readonly triangles: Uint32Array; readonly source: Uint32Array } {
  const { twin } = findTwins(triangles, vertexCount);
  const opened = new Uint32Array(triangles.length);
  const named = new Uint8Array(triangles.length);
  const source: number[] = [];
  for (let corner = 0; corner < triangles.length; corner++) {
    if (named[corner]) continue;
    const v = source.length;
    source.push(triangles[corner]);
    const name = (c: number): void => {
      named[c] = 1;
      opened[c] = v;
    };
    const goesOn = (h: number): boolean => twin[h] >= 0 && !cut(triangles[h], triangles[nextHalfedge(h)]);
    // Round the vertex one way; where that ends at a border or cut, also the other way.
    let c = corner;
    name(c);
    for (;;) {
      if (!goesOn(c)) break;
      c = nextHalfedge(twin[c]);
      if (named[c]) break;
      name(c);
    }
    c = corner;
    for (;;) {
      const back = previousHalfedge(c);
      if (!goesOn(back)) break;
      c = twin[back];
      if (named[c]) break;
      name(c);
    }
  }
  return { triangles: opened, source: Uint32Array.from(source) };
}
