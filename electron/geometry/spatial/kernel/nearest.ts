/**
 * Nearest-surface queries over a tree of faces, in AssemblyScript (TypeScript that is compiled to WebAssembly): the host
 * side, and what is in which memory, is near-kernel.ts.
 *
 * The tree of two children per node is laid out anew with four, so that one vector of four lanes bounds the distance to
 * all of them. Low down, where the faces of a node lie about flat, the bound is a coin: a disc of some thickness that
 * holds them, lying as they do in the mean. Seen from some way off a surface, the boxes of faces that lie slanting
 * reach far toward the viewer and let nearly all faces about the foot through; coins let through a quarter of them.
 * Bounds are single precision and loosened by what that can be wrong by; triangles are asked in double precision, as
 * nearestOnTriangle of on-triangle.ts asks them. Wide trees with bounds in vectors: Wald, Benthin and Boulos 2008,
 * "Getting rid of packets". Coins are not from a paper.
 */
import { clear, reach, take } from './memory';

/**
 * A record: 8 vectors of bounds, and in a ninth, lane by lane, what they bound. A box: least x, y, z, greatest x, y, z.
 * A coin: centre, unit axis, half its thickness, radius.
 */
const RECORD: usize = 144;
const HELD: usize = 128;
/** What a number in `HELD` tells: four times the record's number, and its kind; of a leaf, slots. */
const BOXES = 0;
const COINS = 1;
const LEAF = 2;
/** A node with more faces than this has no coin: they do not lie flat, and its box is as good. */
const MOST_FACES = 64;
/** Room for rounding in single precision, as a share of the squared distance to a coin's centre, or to a box. */
const LOOSE: f32 = 4e-6;
/** Room for rounding of what is rounded when it is laid out, as a share. */
const WIDER = 1 + 2e-6;
/** A rounded axis is longer than 1 by less than this, squared. */
const LONGER: f64 = 1 + 4e-7;
const CORNERS_BYTES: usize = 72;
const STACKED: usize = 16;
/** A tree is never so deep that more records wait. */
const MOST_WAITING = 512;
/** A node that waits to be laid out: node, slot, address. */
const WAITING: usize = 12;

/** What the host writes, as bvh.ts has it. */
export let rights: usize = 0;
export let counts: usize = 0;
export let bounds: usize = 0;
export let corners: usize = 0;
/** What it reads: squared distance, foot and feature, in double precision. */
export let hit: usize = 0;

let ends: usize = 0;
let records: usize = 0;
let stack: usize = 0;
let centreX: f64 = 0,
  centreY: f64 = 0,
  centreZ: f64 = 0;
let slack: f32 = 0;
let recordCount = 0;
let root = 0;
let waitingCount = 0;
/** Slot that the query before found, or -1. */
let last = -1;

/** Take the room for a tree; false where memory does not suffice. */
export function reserveNear(nodeCount: i32, faceCount: i32): bool {
  clear();
  hit = take(5, 8);
  stack = take(MOST_WAITING, STACKED);
  corners = take(faceCount, CORNERS_BYTES);
  records = take(nodeCount, RECORD);
  rights = take(nodeCount, 4);
  counts = take(nodeCount, 1);
  bounds = take(nodeCount, 24);
  ends = take(nodeCount, 4);
  return reach();
}

/**
 * Begin to lay the tree out with four children per node. Coordinates are kept about the centre given; `slackMm` is what
 * single precision loses of them. O(n), but little of it.
 */
export function beginLayOut(nodeCount: i32, x: f64, y: f64, z: f64, slackMm: f64): void {
  centreX = x;
  centreY = y;
  centreZ = z;
  slack = <f32>slackMm;
  for (let node = nodeCount - 1; node >= 0; node--) {
    const count = countOf(node);
    store<i32>(ends + ((<usize>node) << 2), count > 0 ? rightOf(node) + count : endOf(rightOf(node)));
  }
  recordCount = 0;
  last = -1;
  waitingCount = 0;
  wait(0, 0, 0);
}

/**
 * Lay out nodes, depth first, until their faces begin at a slot or beyond; it needs the corners of those before, and of
 * four times `MOST_FACES` more. */
export function layOutTo(slot: i32): void {
  while (waitingCount > 0) {
    const at = stack + <usize>(waitingCount - 1) * WAITING;
    const begin = load<i32>(at, 4);
    if (begin >= slot) return;
    const to = load<i32>(at, 8);
    waitingCount--;
    const held = lay(load<i32>(at), begin);
    if (to === 0) root = held;
    else store<i32>(to, held);
  }
}

/** A node whose faces begin at a slot is to be laid out, and its number and kind written at an address. */
function wait(node: i32, begin: i32, to: usize): void {
  const at = stack + <usize>waitingCount * WAITING;
  waitingCount++;
  store<i32>(at, node);
  store<i32>(at, begin, 4);
  store<i32>(at, <i32>to, 8);
}

function rightOf(node: i32): i32 {
  return load<i32>(rights + ((<usize>node) << 2));
}
function countOf(node: i32): i32 {
  return <i32>load<u8>(counts + <usize>node);
}
function endOf(node: i32): i32 {
  return load<i32>(ends + ((<usize>node) << 2));
}

/** Lay out a node whose faces begin at a slot; its children wait. Returns its number and kind. */
function lay(node: i32, begin: i32): i32 {
  const number = recordCount++;
  const record = records + <usize>number * RECORD;
  const count = countOf(node);
  if (count > 0) {
    for (let lane = 0; lane < 4; lane++) {
      if (lane < count) putCoin(record, lane, begin + lane, begin + lane + 1);
      else putNothing(record, lane);
      store<i32>(record + ((<usize>lane) << 2), begin + lane, HELD);
    }
    return (number << 2) | LEAF;
  }
  const left = node + 1,
    right = rightOf(node);
  // Children in the order of their slots; -1 for none.
  const a = countOf(left) > 0 ? left : left + 1,
    b = countOf(left) > 0 ? -1 : rightOf(left),
    c = countOf(right) > 0 ? right : right + 1,
    d = countOf(right) > 0 ? -1 : rightOf(right);
  let from = begin;
  let isFlat = true;
  for (let lane = 0; lane < 4; lane++) {
    const child = lane === 0 ? a : lane === 1 ? b : lane === 2 ? c : d;
    if (child < 0) continue;
    if (endOf(child) - from > MOST_FACES) isFlat = false;
    from = endOf(child);
  }
  // From the last to the first, so that the first is laid out next.
  for (let lane = 3; lane >= 0; lane--) {
    const child = lane === 0 ? a : lane === 1 ? b : lane === 2 ? c : d;
    if (child < 0) {
      putNothing(record, lane);
      continue;
    }
    from = lane === 0 ? begin : endOf(lane === 1 ? a : lane === 2 ? left : c);
    if (isFlat) putCoin(record, lane, from, endOf(child));
    else putBox(record, lane, child);
    wait(child, from, record + HELD + ((<usize>lane) << 2));
  }
  return (number << 2) | (isFlat ? COINS : BOXES);
}

/** A lane whose distance is no number, and so never near enough. */
function putNothing(record: usize, lane: i32): void {
  store<f32>(record + ((<usize>lane) << 2), NaN);
}

function putBox(record: usize, lane: i32, node: i32): void {
  const at = record + ((<usize>lane) << 2);
  const box = bounds + <usize>node * 24;
  store<f32>(at, <f32>(<f64>load<f32>(box) - centreX) - slack);
  store<f32>(at, <f32>(<f64>load<f32>(box, 4) - centreY) - slack, 16);
  store<f32>(at, <f32>(<f64>load<f32>(box, 8) - centreZ) - slack, 32);
  store<f32>(at, <f32>(<f64>load<f32>(box, 12) - centreX) + slack, 48);
  store<f32>(at, <f32>(<f64>load<f32>(box, 16) - centreY) + slack, 64);
  store<f32>(at, <f32>(<f64>load<f32>(box, 20) - centreZ) + slack, 80);
}

/** The coin about the faces of slots [begin, end). */
function putCoin(record: usize, lane: i32, begin: i32, end: i32): void {
  const first = corners + <usize>begin * CORNERS_BYTES,
    last = corners + <usize>end * CORNERS_BYTES;
  let nx: f64 = 0,
    ny: f64 = 0,
    nz: f64 = 0;
  let x0 = Infinity,
    y0 = Infinity,
    z0 = Infinity,
    x1 = -Infinity,
    y1 = -Infinity,
    z1 = -Infinity;
  for (let c = first; c < last; c += CORNERS_BYTES) {
    const ax = load<f64>(c),
      ay = load<f64>(c, 8),
      az = load<f64>(c, 16);
    const bx = load<f64>(c, 24),
      by = load<f64>(c, 32),
      bz = load<f64>(c, 40);
    const cx = load<f64>(c, 48),
      cy = load<f64>(c, 56),
      cz = load<f64>(c, 64);
    nx += (by - ay) * (cz - az) - (bz - az) * (cy - ay);
    ny += (bz - az) * (cx - ax) - (bx - ax) * (cz - az);
    nz += (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    x0 = min(x0, min(ax, min(bx, cx)));
    y0 = min(y0, min(ay, min(by, cy)));
    z0 = min(z0, min(az, min(bz, cz)));
    x1 = max(x1, max(ax, max(bx, cx)));
    y1 = max(y1, max(ay, max(by, cy)));
    z1 = max(z1, max(az, max(bz, cz)));
  }
  const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
  // Any axis holds faces without one. It is rounded first: thickness and radius are those about the rounded axis.
  nx = size > 0 ? <f64>(<f32>(nx / size)) : 1;
  ny = size > 0 ? <f64>(<f32>(ny / size)) : 0;
  nz = size > 0 ? <f64>(<f32>(nz / size)) : 0;
  const mx = (x0 + x1) / 2,
    my = (y0 + y1) / 2,
    mz = (z0 + z1) / 2;
  let low = Infinity,
    high = -Infinity,
    wide: f64 = 0;
  for (let c = first; c < last; c += 24) {
    const x = load<f64>(c) - mx,
      y = load<f64>(c, 8) - my,
      z = load<f64>(c, 16) - mz;
    const h = x * nx + y * ny + z * nz;
    low = min(low, h);
    high = max(high, h);
    wide = max(wide, (x * x + y * y + z * z) * LONGER - h * h);
  }
  const at = record + ((<usize>lane) << 2);
  if (!(wide < Infinity)) {
    // A corner without a place: what lies beside it is to be found all the same.
    for (let k: usize = 0; k < 96; k += 16) store<f32>(at + k, 0);
    store<f32>(at, Infinity, 96);
    store<f32>(at, Infinity, 112);
    return;
  }
  const middle = (low + high) / 2;
  store<f32>(at, <f32>(mx + middle * nx - centreX));
  store<f32>(at, <f32>(my + middle * ny - centreY), 16);
  store<f32>(at, <f32>(mz + middle * nz - centreZ), 32);
  store<f32>(at, <f32>nx, 48);
  store<f32>(at, <f32>ny, 64);
  store<f32>(at, <f32>nz, 80);
  store<f32>(at, <f32>(((high - low) / 2) * WIDER) + slack, 96);
  store<f32>(at, <f32>(Math.sqrt(wide) * WIDER) + slack, 112);
}

/** A little less than the squared distances to the four boxes or coins of a record. */
function bound4(record: usize, kind: i32, x: v128, y: v128, z: v128): v128 {
  const zero = f32x4.splat(0);
  const loose = f32x4.splat(LOOSE);
  if (kind === BOXES) {
    const dx = f32x4.max(zero, f32x4.max(f32x4.sub(v128.load(record), x), f32x4.sub(x, v128.load(record, 48))));
    const dy = f32x4.max(zero, f32x4.max(f32x4.sub(v128.load(record, 16), y), f32x4.sub(y, v128.load(record, 64))));
    const dz = f32x4.max(zero, f32x4.max(f32x4.sub(v128.load(record, 32), z), f32x4.sub(z, v128.load(record, 80))));
    const d = f32x4.add(f32x4.add(f32x4.mul(dx, dx), f32x4.mul(dy, dy)), f32x4.mul(dz, dz));
    return f32x4.sub(d, f32x4.mul(d, loose));
  }
  const dx = f32x4.sub(x, v128.load(record)),
    dy = f32x4.sub(y, v128.load(record, 16)),
    dz = f32x4.sub(z, v128.load(record, 32));
  const up = f32x4.add(
    f32x4.add(f32x4.mul(dx, v128.load(record, 48)), f32x4.mul(dy, v128.load(record, 64))),
    f32x4.mul(dz, v128.load(record, 80)),
  );
  const d = f32x4.add(f32x4.add(f32x4.mul(dx, dx), f32x4.mul(dy, dy)), f32x4.mul(dz, dz));
  const across = f32x4.sqrt(f32x4.max(zero, f32x4.sub(d, f32x4.mul(up, up))));
  const over = f32x4.max(zero, f32x4.sub(f32x4.abs(up), v128.load(record, 96)));
  const out = f32x4.max(zero, f32x4.sub(across, v128.load(record, 112)));
  return f32x4.sub(f32x4.add(f32x4.mul(over, over), f32x4.mul(out, out)), f32x4.mul(d, loose));
}

/**
 * Slot of the face nearest to a place, if its squared distance is no more than `most`, or -1. Writes squared distance, foot
 * and feature, as on-triangle.ts has them. Expected O(log n) near the surface.
 */
export function nearest(x: f64, y: f64, z: f64, most: f64): i32 {
  const px = f32x4.splat(<f32>(x - centreX)),
    py = f32x4.splat(<f32>(y - centreY)),
    pz = f32x4.splat(<f32>(z - centreZ));
  // What was found last is often near again, and spares looking into what is farther. It does not count as found.
  let best = last >= 0 && onTriangle(last, x, y, z, most, -1) ? load<f64>(hit) : most;
  let found = -1;
  let top = stack;
  let next = root;
  for (;;) {
    const kind = next & 3;
    const record = records + <usize>(next >> 2) * RECORD;
    const d = bound4(record, kind, px, py, pz);
    const d0 = <f64>f32x4.extract_lane(d, 0),
      d1 = <f64>f32x4.extract_lane(d, 1),
      d2 = <f64>f32x4.extract_lane(d, 2),
      d3 = <f64>f32x4.extract_lane(d, 3);
    if (kind === LEAF) {
      const first = load<i32>(record, HELD);
      if (d0 <= best && onTriangle(first, x, y, z, best, found)) {
        found = first;
        best = load<f64>(hit);
      }
      if (d1 <= best && onTriangle(first + 1, x, y, z, best, found)) {
        found = first + 1;
        best = load<f64>(hit);
      }
      if (d2 <= best && onTriangle(first + 2, x, y, z, best, found)) {
        found = first + 2;
        best = load<f64>(hit);
      }
      if (d3 <= best && onTriangle(first + 3, x, y, z, best, found)) {
        found = first + 3;
        best = load<f64>(hit);
      }
    } else {
      // The nearest on top.
      const base = top;
      if (d0 <= best) top = push(base, top, d0, load<i32>(record, HELD));
      if (d1 <= best) top = push(base, top, d1, load<i32>(record, HELD + 4));
      if (d2 <= best) top = push(base, top, d2, load<i32>(record, HELD + 8));
      if (d3 <= best) top = push(base, top, d3, load<i32>(record, HELD + 12));
    }
    do {
      if (top === stack) {
        last = found;
        return found;
      }
      top -= STACKED;
    } while (!(load<f64>(top) <= best));
    next = load<i32>(top, 8);
  }
  return found;
}

/** Put a record where it belongs among those from `base` on, the farthest lowest; returns the new top. */
function push(base: usize, top: usize, distance2: f64, held: i32): usize {
  let at = top;
  while (at > base && load<f64>(at - STACKED) < distance2) {
    // Piece by piece, as it was written: a load of what two stores wrote waits for both.
    store<f64>(at, load<f64>(at - STACKED));
    store<i32>(at, load<i32>(at - STACKED, 8), 8);
    at -= STACKED;
  }
  store<f64>(at, distance2);
  store<i32>(at, held, 8);
  return top + STACKED;
}

/** Whether the triangle of a slot is nearer than `best`, or as near where nothing was found; then its hit is written. */
function onTriangle(slot: i32, x: f64, y: f64, z: f64, best: f64, found: i32): bool {
  const c = corners + <usize>slot * CORNERS_BYTES;
  const ax = load<f64>(c),
    ay = load<f64>(c, 8),
    az = load<f64>(c, 16);
  const abx = load<f64>(c, 24) - ax,
    aby = load<f64>(c, 32) - ay,
    abz = load<f64>(c, 40) - az;
  const acx = load<f64>(c, 48) - ax,
    acy = load<f64>(c, 56) - ay,
    acz = load<f64>(c, 64) - az;
  const apx = x - ax,
    apy = y - ay,
    apz = z - az;
  const d1 = abx * apx + aby * apy + abz * apz;
  const d2 = acx * apx + acy * apy + acz * apz;
  let u: f64 = 0,
    v: f64 = 0,
    feature: f64 = 0;
  if (d1 <= 0 && d2 <= 0) {
    feature = 4;
  } else {
    const bpx = apx - abx,
      bpy = apy - aby,
      bpz = apz - abz;
    const d3 = abx * bpx + aby * bpy + abz * bpz;
    const d4 = acx * bpx + acy * bpy + acz * bpz;
    if (d3 >= 0 && d4 <= d3) {
      u = 1;
      feature = 5;
    } else {
      const vc = d1 * d4 - d3 * d2;
      if (vc <= 0 && d1 >= 0 && d3 <= 0) {
        u = d1 / (d1 - d3);
        feature = 3;
      } else {
        const cpx = apx - acx,
          cpy = apy - acy,
          cpz = apz - acz;
        const d5 = abx * cpx + aby * cpy + abz * cpz;
        const d6 = acx * cpx + acy * cpy + acz * cpz;
        if (d6 >= 0 && d5 <= d6) {
          v = 1;
          feature = 6;
        } else {
          const vb = d5 * d2 - d1 * d6;
          const va = d3 * d6 - d5 * d4;
          if (vb <= 0 && d2 >= 0 && d6 <= 0) {
            v = d2 / (d2 - d6);
            feature = 2;
          } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
            v = (d4 - d3) / (d4 - d3 + (d5 - d6));
            u = 1 - v;
            feature = 1;
          } else {
            const sum = va + vb + vc;
            if (sum > 0) {
              u = vb / sum;
              v = vc / sum;
            } else {
              feature = 4; // degenerate to a point
            }
          }
        }
      }
    }
  }
  const px = ax + u * abx + v * acx,
    py = ay + u * aby + v * acy,
    pz = az + u * abz + v * acz;
  const dx = x - px,
    dy = y - py,
    dz = z - pz;
  const distance2 = dx * dx + dy * dy + dz * dz;
  if (!(distance2 < best || (found < 0 && distance2 <= best))) return false;
  store<f64>(hit, distance2);
  store<f64>(hit, px, 8);
  store<f64>(hit, py, 16);
  store<f64>(hit, pz, 24);
  store<f64>(hit, feature, 32);
  return true;
}
