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

/** Foam and wall of a liner over a form, or the wall of a shell, along one way out. */
export interface FlatGap {
  readonly way: 'low x' | 'high x' | 'low y' | 'high y';
  /** Where the form's outline, the inner and (with a wall) the outer side are met: the coordinate along the way. */
  readonly at: readonly number[];
  /** The other coordinate. */
  readonly across: number;
  readonly foamMm: number | undefined;
  readonly wallMm: number | undefined;
}

/** The other coordinate of the point that lies farthest along an axis to one side. O(points). */
function acrossAtEnd(lines: readonly FlatLine[], axis: 0 | 1, side: -1 | 1): number {
  let [most, across] = [-Infinity, 0];
  for (const { points } of lines) {
    for (let at = 0; at + 1 < points.length; at += 2) {
      if (side * points[at + axis] > most) [most, across] = [side * points[at + axis], points[at + 1 - axis]];
    }
  }
  return across;
}

/**
 * Gaps along both axes: where the form reaches out farthest to each side, since there it stands square to the way and the
 * gap is the thickness itself; where the liner is open there, through the middle of the form's box; else none. O(points).
 */
export function gapsOf(lines: readonly FlatLine[]): readonly FlatGap[] {
  const shell = lines.filter(({ slot }) => slot === 'shell');
  if (shell.length > 0) return wallsOf(shell);
  const form = lines.filter(({ slot }) => slot === 'form');
  const liner = lines.filter(({ slot }) => slot === 'liner');
  const box = boxOf(form);
  if (box === undefined || liner.length === 0) return [];
  const middles = [(box.minX + box.maxX) / 2, (box.minY + box.maxY) / 2] as const;
  const gapAt = (axis: 0 | 1, side: -1 | 1, across: number): FlatGap | undefined => {
    const middle = middles[axis];
    const out = (of: readonly FlatLine[]): number[] =>
      crossingsOf(of, axis, across)
        .map((c) => side * (c - middle))
        .filter((c) => c > 0)
        .sort((a, b) => a - b);
    const skin = out(form).at(-1);
    const [inner, outer] = out(liner).filter((c) => skin !== undefined && c > skin);
    if (skin === undefined || inner === undefined) return undefined;
    return {
      way: wayTo(axis, side),
      at: [skin, inner, ...(outer === undefined ? [] : [outer])].map((c) => middle + side * c),
      across,
      foamMm: inner - skin,
      wallMm: outer === undefined ? undefined : outer - inner,
    };
  };
  const gaps: FlatGap[] = [];
  for (const axis of [0, 1] as const) {
    for (const side of [-1, 1] as const) {
      const gap = gapAt(axis, side, acrossAtEnd(form, axis, side)) ?? gapAt(axis, side, middles[axis === 0 ? 1 : 0]);
      if (gap !== undefined) gaps.push(gap);
    }
  }
  return gaps;
}

/** From a rim the way runs along within the wall: more than so many times the least is no wall. */
const ALONG = 2;

/** The wall of a shell where it reaches out farthest to each side. O(points). */
function wallsOf(shell: readonly FlatLine[]): readonly FlatGap[] {
  const gaps: (FlatGap & { readonly wallMm: number })[] = [];
  for (const axis of [0, 1] as const) {
    for (const side of [-1, 1] as const) {
      const across = acrossAtEnd(shell, axis, side);
      const [outer, inner] = crossingsOf(shell, axis, across).sort((a, b) => side * (b - a));
      if (inner === undefined) continue;
      gaps.push({
        way: wayTo(axis, side),
        at: [inner, outer],
        across,
        foamMm: undefined,
        wallMm: Math.abs(outer - inner),
      });
    }
  }
  const least = Math.min(...gaps.map(({ wallMm }) => wallMm));
  return gaps.filter(({ wallMm }) => wallMm <= ALONG * least);
}

const wayTo = (axis: 0 | 1, side: -1 | 1): FlatGap['way'] =>
  axis === 0 ? (side < 0 ? 'low x' : 'high x') : side < 0 ? 'low y' : 'high y';

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
