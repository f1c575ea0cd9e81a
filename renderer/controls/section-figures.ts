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

/** Foam and wall of a liner over a form along one way out from the middle of the form's section. */
export interface FlatGap {
  readonly way: 'low x' | 'high x' | 'low y' | 'high y';
  /** Where the form's outline, the liner's inner and (with a wall) its outer side are met: the coordinate along the way. */
  readonly at: readonly number[];
  /** The other coordinate. */
  readonly across: number;
  readonly foamMm: number;
  readonly wallMm: number | undefined;
}

/** Gaps along both axes through the middle of the form's box; a way on which the liner is open is left out. O(points). */
export function gapsOf(lines: readonly FlatLine[]): readonly FlatGap[] {
  const form = lines.filter(({ slot }) => slot === 'form');
  const liner = lines.filter(({ slot }) => slot === 'liner');
  const box = boxOf(form);
  if (box === undefined || liner.length === 0) return [];
  const gaps: FlatGap[] = [];
  for (const [axis, across] of [
    [0, (box.minY + box.maxY) / 2],
    [1, (box.minX + box.maxX) / 2],
  ] as const) {
    const middle = axis === 0 ? (box.minX + box.maxX) / 2 : (box.minY + box.maxY) / 2;
    for (const side of [-1, 1] as const) {
      const out = (of: readonly FlatLine[]): number[] =>
        crossingsOf(of, axis, across)
          .map((c) => side * (c - middle))
          .filter((c) => c > 0)
          .sort((a, b) => a - b);
      const skin = out(form).at(-1);
      const [inner, outer] = out(liner).filter((c) => skin !== undefined && c > skin);
      if (skin === undefined || inner === undefined) continue;
      gaps.push({
        way: axis === 0 ? (side < 0 ? 'low x' : 'high x') : side < 0 ? 'low y' : 'high y',
        at: [skin, inner, ...(outer === undefined ? [] : [outer])].map((c) => middle + side * c),
        across,
        foamMm: inner - skin,
        wallMm: outer === undefined ? undefined : outer - inner,
      });
    }
  }
  return gaps;
}

/** Where lines cross the line along an axis at the other coordinate `across`. */
function crossingsOf(lines: readonly FlatLine[], axis: 0 | 1, across: number): number[] {
  const found: number[] = [];
  for (const { points, closed } of lines) {
    const count = points.length / 2;
    for (let i = closed ? 0 : 1; i < count; i++) {
      const before = (i + count - 1) % count;
      const a = points[2 * before + 1 - axis] - across,
        b = points[2 * i + 1 - axis] - across;
      if (a > 0 === b > 0) continue;
      const s = a / (a - b);
      found.push(points[2 * before + axis] + s * (points[2 * i + axis] - points[2 * before + axis]));
    }
  }
  return found;
}
