/** What is measured on the lines of a section: how wide and high they are together, and how long each is. Pure. */
export interface FlatLine {
  readonly slot: string;
  readonly closed: boolean;
  /** xy pairs, mm. */
  readonly points: Float64Array;
}

export interface FlatBox {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

/** The box that holds them all; undefined when nothing is cut. O(points). */
export function boxOf(lines: readonly FlatLine[]): FlatBox | undefined {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const { points } of lines) {
    for (let at = 0; at + 1 < points.length; at += 2) {
      minX = Math.min(minX, points[at]);
      maxX = Math.max(maxX, points[at]);
      minY = Math.min(minY, points[at + 1]);
      maxY = Math.max(maxY, points[at + 1]);
    }
  }
  return minX > maxX ? undefined : { minX, minY, maxX, maxY };
}

/** Length along a line, mm; a closed one goes back to its start. O(points). */
export function lengthOf({ points, closed }: FlatLine): number {
  let length = 0;
  const count = points.length / 2;
  for (let i = closed ? 0 : 1; i < count; i++) {
    const before = (i + count - 1) % count;
    length += Math.hypot(points[2 * i] - points[2 * before], points[2 * i + 1] - points[2 * before + 1]);
  }
  return length;
}

/** As an SVG path: mirrored in x, because one looks along the plane's normal, and y upward as on the body. */
export function pathOf({ points, closed }: FlatLine): string {
  let path = '';
  for (let at = 0; at + 1 < points.length; at += 2) {
    path += `${at === 0 ? 'M' : 'L'}${(-points[at]).toFixed(2)} ${(-points[at + 1]).toFixed(2)}`;
  }
  return closed ? `${path}Z` : path;
}
