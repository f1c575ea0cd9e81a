/** Distance in a plane from a point to the nearest of many segments, by a grid of square cells. */
export interface SegmentsNear {
  /** Exact up to the reach the grid was made for; beyond it a lower bound that is greater than the reach. */
  readonly distance: (x: number, y: number) => number;
}

/** Polylines as x, y, x, y; cells are `reach` wide. Building O(length / reach), asking O(segments nearby). */
export function segmentsNear(polylines: readonly (readonly number[])[], reach: number): SegmentsNear {
  const segments: number[] = [];
  for (const line of polylines) {
    for (let i = 0; i + 3 < line.length; i += 2) segments.push(line[i], line[i + 1], line[i + 2], line[i + 3]);
  }
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let s = 0; s < segments.length; s += 2) {
    left = Math.min(left, segments[s]);
    right = Math.max(right, segments[s]);
    low = Math.min(low, segments[s + 1]);
    high = Math.max(high, segments[s + 1]);
  }
  const cells = new Map<string, number[]>();
  const cellOf = (value: number): number => Math.floor(value / reach);
  for (let s = 0; s < segments.length; s += 4) {
    const [x0, y0, x1, y1] = segments.slice(s, s + 4);
    for (let i = cellOf(Math.min(x0, x1) - reach); i <= cellOf(Math.max(x0, x1) + reach); i++) {
      for (let j = cellOf(Math.min(y0, y1) - reach); j <= cellOf(Math.max(y0, y1) + reach); j++) {
        const name = `${i} ${j}`;
        const list = cells.get(name);
        if (list === undefined) cells.set(name, [s]);
        else list.push(s);
      }
    }
  }
  return {
    distance: (x, y) => {
      let least = 2 * reach;
      for (const s of cells.get(`${cellOf(x)} ${cellOf(y)}`) ?? []) {
        const ex = segments[s + 2] - segments[s],
          ey = segments[s + 3] - segments[s + 1];
        const square = ex * ex + ey * ey;
        const share = square === 0 ? 0 : ((x - segments[s]) * ex + (y - segments[s + 1]) * ey) / square;
        const held = Math.min(1, Math.max(0, share));
        least = Math.min(least, Math.hypot(x - segments[s] - held * ex, y - segments[s + 1] - held * ey));
      }
      const outside = Math.hypot(Math.max(left - x, x - right, 0), Math.max(low - y, y - high, 0));
      return Math.max(least, outside);
    },
  };
}
