/** Where each point of a flat piece lies on the body, and the other way; as the pattern's verbs tell it in a file. */
import { onBodySchema, type FlatPiece } from '../../../shared-types/operations/pattern.ts';

export type { FlatPiece };

/** The pieces in order of their numbers; undefined when the file is not what it should be. */
export function readOnBody(bytes: Uint8Array): FlatPiece[] | undefined {
  try {
    const parsed = onBodySchema.safeParse(JSON.parse(new TextDecoder().decode(bytes)));
    return parsed.success ? parsed.data.pieces.toSorted((a, b) => a.number - b.number) : undefined;
  } catch {
    return undefined;
  }
}

type Point3 = [number, number, number];

/** The point of the body under a point of the flat piece; undefined off the piece. O(triangles). */
export function bodyAt({ flat, body, triangles }: FlatPiece, x: number, y: number): Point3 | undefined {
  for (let f = 0; f < triangles.length; f += 3) {
    const [a, b, c] = [triangles[f] ?? 0, triangles[f + 1] ?? 0, triangles[f + 2] ?? 0];
    const at = (v: number, k: number): number => flat[2 * v + k] ?? 0;
    const [ux, uy] = [at(b, 0) - at(a, 0), at(b, 1) - at(a, 1)];
    const [vx, vy] = [at(c, 0) - at(a, 0), at(c, 1) - at(a, 1)];
    const area = ux * vy - uy * vx;
    if (area === 0) continue;
    const [px, py] = [x - at(a, 0), y - at(a, 1)];
    const s = (px * vy - py * vx) / area;
    const t = (ux * py - uy * px) / area;
    if (s < 0 || t < 0 || s + t > 1) continue;
    return [0, 1, 2].map((k) => {
      const on = (v: number): number => body[3 * v + k] ?? 0;
      return on(a) + s * (on(b) - on(a)) + t * (on(c) - on(a));
    }) as Point3;
  }
  return undefined;
}

/** The flat point of the piece's triangle nearest to a point of the body, by its middle. O(triangles). */
export function flatAt({ flat, body, triangles }: FlatPiece, point: readonly number[]): [number, number] | undefined {
  let best: { square: number; at: [number, number] } | undefined;
  for (let f = 0; f < triangles.length; f += 3) {
    const corners = [0, 1, 2].map((k) => triangles[f + k] ?? 0);
    const middle = (of: readonly number[], size: number, k: number): number =>
      corners.reduce((sum, v) => sum + (of[size * v + k] ?? 0), 0) / 3;
    const square = [0, 1, 2].reduce((sum, k) => sum + (middle(body, 3, k) - (point[k] ?? 0)) ** 2, 0);
    if (best === undefined || square < best.square) best = { square, at: [middle(flat, 2, 0), middle(flat, 2, 1)] };
  }
  return best?.at;
}

/** Left, top, width and height that hold the piece with a margin, y upward turned downward. */
export function boxOf({ outline, flat }: FlatPiece, margin: number): [number, number, number, number] {
  const points = [...outline, ...flat];
  const xs = points.filter((_, i) => i % 2 === 0);
  const ys = points.filter((_, i) => i % 2 === 1);
  const [left, right] = [Math.min(...xs) - margin, Math.max(...xs) + margin];
  const [low, high] = [Math.min(...ys) - margin, Math.max(...ys) + margin];
  return [left, -high, right - left, high - low];
}
