/** Corners of the convex hull in the plane, counter-clockwise (monotone chain, Andrew 1979). O(n log n). */
export function convexHull<P extends { readonly x: number; readonly y: number }>(points: readonly P[]): P[] {
  const sorted = points.toSorted((a, b) => a.x - b.x || a.y - b.y);
  if (sorted.length < 3) return sorted;
  const half = (list: readonly P[]): P[] => {
    const chain: P[] = [];
    for (const q of list) {
      while (chain.length >= 2) {
        const a = chain[chain.length - 2],
          b = chain[chain.length - 1];
        if ((b.x - a.x) * (q.y - a.y) - (b.y - a.y) * (q.x - a.x) > 0) break;
        chain.pop();
      }
      chain.push(q);
    }
    chain.pop();
    return chain;
  };
  return [...half(sorted), ...half(sorted.toReversed())];
}
