/**
 * A closed outline moved outward: every point of the result lies the distance from the outline, corners kept as corners
 * up to a mitre limit. Raw parallel edges with mitres, then only the stretches that nothing else of the outline comes
 * nearer to than the distance (as in Choi and Park 1999), joined to the longest loop.
 */

/** A mitre sticks out at most this many times the distance; beyond it is cut off square. */
const MITRE_LIMIT = 2;
/** Stretches nearer to the outline than the distance by more than this share belong to loops inside. */
const NEAR_SHARE = 1 / 512;
/** Ends nearer than this are one, mm. */
const SAME_MM = 1 / 1024;

/** `polygon`: xy pairs, counter-clockwise, not crossing itself. O(n^2). */
export function offsetPolygon(polygon: readonly number[], distanceMm: number): number[] {
  const outline = withoutDoubles(polygon);
  if (distanceMm === 0) return outline;
  const raw = rawOffset(outline, distanceMm);
  const pieces = split(raw).filter(({ ax, ay, bx, by }) => {
    const x = (ax + bx) / 2,
      y = (ay + by) / 2;
    return nearest(outline, x, y) > distanceMm * (1 - NEAR_SHARE) && !inside(outline, x, y);
  });
  return longestLoop(pieces);
}

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
      const half = straight > -1 + NEAR_SHARE ? unit(first[1] + second[1], -first[0] - second[0]) : first;
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

interface Stretch {
  readonly ax: number;
  readonly ay: number;
  readonly bx: number;
  readonly by: number;
}

/** All edges of a closed chain, divided where they cross one another. */
function split(raw: readonly number[]): Stretch[] {
  const count = raw.length / 2;
  const x = (i: number): number => raw[(i % count) * 2];
  const y = (i: number): number => raw[(i % count) * 2 + 1];
  const pieces: Stretch[] = [];
  for (let i = 0; i < count; i++) {
    const dx = x(i + 1) - x(i),
      dy = y(i + 1) - y(i);
    const cuts = [0, 1];
    for (let j = 0; j < count; j++) {
      if (j === i) continue;
      const ex = x(j + 1) - x(j),
        ey = y(j + 1) - y(j);
      const across = dx * ey - dy * ex;
      if (across === 0) continue;
      const ox = x(j) - x(i),
        oy = y(j) - y(i);
      const s = (ox * ey - oy * ex) / across;
      const t = (ox * dy - oy * dx) / across;
      if (s > 0 && s < 1 && t >= 0 && t <= 1) cuts.push(s);
    }
    cuts.sort((a, b) => a - b);
    for (let k = 1; k < cuts.length; k++) {
      pieces.push({
        ax: x(i) + cuts[k - 1] * dx,
        ay: y(i) + cuts[k - 1] * dy,
        bx: x(i) + cuts[k] * dx,
        by: y(i) + cuts[k] * dy,
      });
    }
  }
  return pieces.filter((one) => Math.hypot(one.bx - one.ax, one.by - one.ay) > SAME_MM / 2);
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

function longestLoop(pieces: readonly Stretch[]): number[] {
  const used = new Uint8Array(pieces.length);
  let best: number[] = [];
  let most = 0;
  for (let first = 0; first < pieces.length; first++) {
    if (used[first]) continue;
    const loop: number[] = [];
    let length = 0;
    let at = first;
    while (at >= 0) {
      used[at] = 1;
      const { ax, ay, bx, by } = pieces[at];
      loop.push(ax, ay);
      length += Math.hypot(bx - ax, by - ay);
      let next = -1,
        near = SAME_MM * 4;
      for (let j = 0; j < pieces.length; j++) {
        if (used[j]) continue;
        const far = Math.hypot(pieces[j].ax - bx, pieces[j].ay - by);
        if (far < near) [near, next] = [far, j];
      }
      at = next;
    }
    if (length > most) [most, best] = [length, loop];
  }
  return best;
}
