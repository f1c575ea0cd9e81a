/** The border of a flat piece: does it cross itself, which stretches of it belong to which line, where lies a point. */

/** Whether a closed polygon (xy pairs) crosses itself. O(n log n) on the whole: sorted by x, swept. */
export function crossesItself(polygon: readonly number[]): boolean {
  const count = polygon.length / 2;
  const x = (i: number): number => polygon[(i % count) * 2];
  const y = (i: number): number => polygon[(i % count) * 2 + 1];
  const side = (a: number, b: number, c: number): number =>
    (x(b) - x(a)) * (y(c) - y(a)) - (y(b) - y(a)) * (x(c) - x(a));
  const order = Array.from({ length: count }, (_, i) => i).sort(
    (i, j) => Math.min(x(i), x(i + 1)) - Math.min(x(j), x(j + 1)),
  );
  let open: number[] = [];
  for (const i of order) {
    const left = Math.min(x(i), x(i + 1));
    open = open.filter((j) => Math.max(x(j), x(j + 1)) >= left);
    for (const j of open) {
      if ((i + 1) % count === j || (j + 1) % count === i) continue;
      if (side(i, i + 1, j) * side(i, i + 1, j + 1) < 0 && side(j, j + 1, i) * side(j, j + 1, i + 1) < 0) return true;
    }
    open.push(i);
  }
  return false;
}

/** A stretch of a border that runs along one line. */
export interface BorderRun {
  /** Line's number; -1 where the border is free. */
  readonly line: number;
  /** Places in the border's loop, one after another; the last is the end of the last edge. */
  readonly at: readonly number[];
}

/**
 * The loop in runs of one label. `label[i]` belongs to the edge from place i to the next; `tip(i)` tells whether a run
 * also ends at place i, as at the point of a dart. O(loop).
 */
export function borderRuns(label: Int32Array, tip: (i: number) => boolean): readonly BorderRun[] {
  const count = label.length;
  const ends = (i: number): boolean => label[i] !== label[(i + count - 1) % count] || tip(i);
  let first = 0;
  while (first < count && !ends(first)) first++;
  if (first === count) {
    return [{ line: label[0], at: Array.from({ length: count + 1 }, (_, i) => i % count) }];
  }
  const runs: BorderRun[] = [];
  let at = [first];
  for (let i = 1; i <= count; i++) {
    const place = (first + i) % count;
    at.push(place);
    if (!ends(place)) continue;
    runs.push({ line: label[at[0]], at });
    at = [place];
  }
  return runs;
}

/** Area of a polygon (xy pairs), positive when it runs counter-clockwise. */
export function polygonArea(polygon: readonly number[]): number {
  let twice = 0;
  for (let i = 0; i < polygon.length; i += 2) {
    const j = (i + 2) % polygon.length;
    twice += polygon[i] * polygon[j + 1] - polygon[i + 1] * polygon[j];
  }
  return twice / 2;
}
