/** Points that stand for a dense surface: its vertices and, where those are few, edge middles and face centres. */
import { faceCross } from '../mesh/face-cross.ts';

export interface SourcePoints {
  /** xyz triples; the first ones are the vertices, in order. */
  readonly positions: Float64Array;
  /** Area each stands for, mm². */
  readonly weights: Float32Array;
  /** A vertex of the face each lies on; -1 for a place not used. */
  readonly owner: Int32Array;
}

/** Below this many vertices the surface between them matters at the scale of a light mesh. */
const FEW_VERTICES = 150_000;

/**
 * Points of a mesh. Weights: a face gives each corner a third of its area, or with middles and centres a
 * twelfth to each corner, a sixth to each edge's middle and a quarter to its centre. O(faces).
 */
export function sourcePoints(p: Float64Array, t: Uint32Array, tick: () => void): SourcePoints {
  const vertexCount = p.length / 3;
  const faceCount = t.length / 3;
  const more = vertexCount < FEW_VERTICES;
  const count = vertexCount + (more ? faceCount * 4 : 0);
  const positions = new Float64Array(count * 3);
  positions.set(p);
  const weights = new Float32Array(count);
  const owner = new Int32Array(count);
  for (let v = 0; v < vertexCount; v++) owner[v] = v;
  let at = vertexCount;
  for (let f = 0; f < t.length; f += 3) {
    if (f % 12_288 === 0) tick();
    const area = faceCross(p, t, f) / 2;
    const share = more ? area / 12 : area / 3;
    weights[t[f]] += share;
    weights[t[f + 1]] += share;
    weights[t[f + 2]] += share;
    if (!more) continue;
    for (let k = 0; k < 3; k++) {
      const u = t[f + k],
        w = t[f + ((k + 1) % 3)];
      // An edge is met from both faces; its middle stands once, with the shares of both.
      owner[at] = u < w ? u : -1;
      weights[at] = area / 3;
      for (let i = 0; i < 3; i++) positions[at * 3 + i] = (p[u * 3 + i] + p[w * 3 + i]) / 2;
      at++;
    }
    owner[at] = t[f];
    weights[at] = area / 4;
    for (let i = 0; i < 3; i++)
      positions[at * 3 + i] = (p[t[f] * 3 + i] + p[t[f + 1] * 3 + i] + p[t[f + 2] * 3 + i]) / 3;
    at++;
  }
  return { positions, weights, owner };
}
