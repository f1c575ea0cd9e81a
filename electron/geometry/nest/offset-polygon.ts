/**
 * A closed outline moved outward: nothing of the result lies nearer to the outline than the distance, and corners are
 * kept as corners up to a mitre limit. The raw parallel edges, which nowhere leave the widened outline, then the way
 * round the outside of all of them.
 */

/** A mitre sticks out at most this many times the distance; beyond it is cut off square. */
const MITRE_LIMIT = 2;
/** Cosine of a corner that turns straight back. */
const STRAIGHT_BACK = -0.999;
/** Points of an outline nearer than this are one, mm. */
const SAME_MM = 1 / 1024;

/** `polygon`: xy pairs, counter-clockwise, not crossing itself. A gap narrower than twice the distance is closed. O(n^2). */
export function offsetPolygon(polygon: readonly number[], distanceMm: number): number[] {
  const outline = withoutDoubles(polygon);
  return distanceMm === 0 ? outline : aroundOutside(rawOffset(outline, distanceMm).map(jogged));
}

/** Edges that lie on one another do not cross: each coordinate is moved a little, in a fixed irregular way. */
const JOG_MM = 2 ** -22;
const jogged = (value: number, i: number): number => value + JOG_MM * Math.sin(i * i + i);

function withoutDoubles(polygon: readonly number[]): number[] {
  const kept: number[] = [];
  for (let i = 0; i < polygon.length; i += 2) {
    const j = (i + 2) % polygon.length;
    if (Math.hypot(polygon[j] - polygon[i], polygon[j + 1] - polygon[i + 1]) > SAME_MM) {
      kept.push(polygon[i], polygon[i + 1]);
    }
  }
  return kept;
}

function rawOffset(outline: readonly number[], d: number): number[] {
  const raw: number[] = [];
  const count = outline.length;
  for (let i = 0; i < count; i += 2) {
    const before = (i + count - 2) % count,
      after = (i + 2) % count;
    const [x, y] = [outline[i], outline[i + 1]];
    const first = unit(x - outline[before], y - outline[before + 1]);
    const second = unit(outline[after] - x, outline[after + 1] - y);
    // Out of a counter-clockwise outline is to the right of each edge.
    const [ax, ay] = [x + d * first[1], y - d * first[0]];
    const [bx, by] = [x + d * second[1], y - d * second[0]];
    const turn = first[0] * second[1] - first[1] * second[0];
    const straight = first[0] * second[0] + first[1] * second[1];
    if (turn <= 0) {
      // A hollow corner: by way of the corner itself, so that the two edges cross and the loop between falls away.
      raw.push(ax, ay, x, y, bx, by);
      continue;
    }
    const mitre = Math.sqrt(2 / (1 + straight));
    if (mitre <= MITRE_LIMIT) {
      const half = unit(first[1] + second[1], -first[0] - second[0]);
      raw.push(x + d * mitre * half[0], y + d * mitre * half[1]);
    } else {
      // Square across the corner, still at the distance at its middle.
      const half = straight > STRAIGHT_BACK ? unit(first[1] + second[1], -first[0] - second[0]) : first;
      const reach = d * Math.tan(Math.acos(Math.min(1, Math.max(-1, half[0] * first[1] - half[1] * first[0]))) / 2);
      raw.push(ax + reach * first[0], ay + reach * first[1], bx - reach * second[0], by - reach * second[1]);
    }
  }
  return raw;
}

function unit(x: number, y: number): [number, number] {
  const size = Math.hypot(x, y);
  return [x / size, y / size];
}

/** The outermost way round a closed chain that may cross itself, counter-clockwise. */
function aroundOutside(chain: readonly number[]): number[] {
  const count = chain.length / 2;
  const nodes = chain.slice();
  // Places along each edge, with the node there.
  const stops: [number, number][][] = Array.from({ length: count }, (_, i) => [
    [0, i],
    [1, (i + 1) % count],
  ]);
  for (let i = 0; i < count; i++) {
    const [ax, ay] = [chain[i * 2], chain[i * 2 + 1]];
    const i2 = ((i + 1) % count) * 2;
    const [dx, dy] = [chain[i2] - ax, chain[i2 + 1] - ay];
    for (let j = i + 2; j < count; j++) {
      if ((j + 1) % count === i) continue;
      const j2 = ((j + 1) % count) * 2;
      const [ex, ey] = [chain[j2] - chain[j * 2], chain[j2 + 1] - chain[j * 2 + 1]];
      const across = dx * ey - dy * ex;
      if (across === 0) continue;
      const [ox, oy] = [chain[j * 2] - ax, chain[j * 2 + 1] - ay];
      const s = (ox * ey - oy * ex) / across;
      const t = (ox * dy - oy * dx) / across;
      if (!(s > 0 && s < 1 && t > 0 && t < 1)) continue;
      const node = nodes.length / 2;
      nodes.push(ax + s * dx, ay + s * dy);
      stops[i].push([s, node]);
      stops[j].push([t, node]);
    }
  }
  const ways: number[][] = Array.from({ length: nodes.length / 2 }, () => []);
  for (const edge of stops) {
    edge.sort((a, b) => a[0] - b[0]);
    for (let k = 1; k < edge.length; k++) {
      ways[edge[k - 1][1]].push(edge[k][1]);
      ways[edge[k][1]].push(edge[k - 1][1]);
    }
  }
  let first = 0;
  for (let i = 1; i < nodes.length / 2; i++) if (nodes[i * 2 + 1] < nodes[first * 2 + 1]) first = i;
  const angle = (from: number, to: number): number =>
    Math.atan2(nodes[to * 2 + 1] - nodes[from * 2 + 1], nodes[to * 2] - nodes[from * 2]);
  const loop: number[] = [];
  let at = first;
  // At the lowest place everything lies above: as if come up from below.
  const begin = nextWay(ways[first], -Math.PI / 2, (to) => angle(first, to));
  for (let to = begin, steps = 0; steps <= 2 * nodes.length; steps++) {
    loop.push(nodes[at * 2], nodes[at * 2 + 1]);
    const back = angle(to, at);
    const here = to;
    to = nextWay(ways[here], back, (one) => angle(here, one));
    at = here;
    if (at === first && to === begin) break;
  }
  return withoutDoubles(loop);
}

/** The first way counter-clockwise from the angle `back`, that angle itself last. */
function nextWay(ways: readonly number[], back: number, angle: (to: number) => number): number {
  let best = ways[0];
  let least = Infinity;
  for (const to of ways) {
    let turn = angle(to) - back;
    while (turn <= 0) turn += 2 * Math.PI;
    if (turn < least) [least, best] = [turn, to];
  }
  return best;
}

/** Distance from a point to a closed outline. */
export function nearest(outline: readonly number[], x: number, y: number): number {
  let best = Infinity;
  for (let i = 0; i < outline.length; i += 2) {
    const j = (i + 2) % outline.length;
    const ex = outline[j] - outline[i],
      ey = outline[j + 1] - outline[i + 1];
    const size = ex * ex + ey * ey;
    const along = size > 0 ? ((x - outline[i]) * ex + (y - outline[i + 1]) * ey) / size : 0;
    const share = Math.min(1, Math.max(0, along));
    best = Math.min(best, Math.hypot(outline[i] + share * ex - x, outline[i + 1] + share * ey - y));
  }
  return best;
}

/** An outline (or any points) turned counter-clockwise about 0, 0 by quarters. */
export function turned(outline: readonly number[], quarters: number): number[] {
  const out: number[] = [];
  for (let i = 0; i < outline.length; i += 2) {
    const [x, y] = [outline[i], outline[i + 1]];
    out.push(
      ...[
        [x, y],
        [-y, x],
        [-x, -y],
        [y, -x],
      ][quarters & 3],
    );
  }
  return out;
}

/** Whether a point lies inside a closed outline (crossing number). */
export function inside(outline: readonly number[], x: number, y: number): boolean {
  let odd = false;
  for (let i = 0; i < outline.length; i += 2) {
    const j = (i + 2) % outline.length;
    if (outline[i + 1] > y === outline[j + 1] > y) continue;
    const at = outline[i] + ((y - outline[i + 1]) / (outline[j + 1] - outline[i + 1])) * (outline[j] - outline[i]);
    if (at > x) odd = !odd;
  }
  return odd;
}
