/**
 * Winding numbers summed over a tree of faces, in AssemblyScript: the host side is winding.ts, which has the papers.
 *
 * Nodes are laid out with four children each, so that one vector of four lanes sums all that are far. Sums from afar are
 * single precision about the body's middle, in lengths of its size; faces close by are asked in double precision.
 */
import { clear, reach, take } from './memory';

/** A node farther away than this many of its radii is summed as a whole. */
const FAR = 3;
/**
 * A record, lane by lane: centre, what its squared distance must exceed, summed area vector, its first moment (xx, yy, zz,
 * xy + yx, xz + zx, yz + zy) and its trace; and in `HELD` what the lane is: a record's number, ~ of a leaf's node, or `NONE`.
 */
const RECORD: usize = 240;
const HELD: usize = 224;
const NONE: i32 = 0x7fffffff;
const CORNERS_BYTES: usize = 72;
/** Of a node while it is summed: area, centre, area vector, 3 by 3 first moment. */
const SUMS: usize = 128;
/** A tree is never so deep that more records or sums wait. */
const MOST_WAITING = 512;

/** What the host writes, as bvh.ts has it. */
export let rights: usize = 0;
export let counts: usize = 0;
export let bounds: usize = 0;
export let corners: usize = 0;

let records: usize = 0;
/** Where a node's sums belong; 0 where they are a part of another's only. */
let lanes: usize = 0;
let waiting: usize = 0;
let sums: usize = 0;
let sumCount = 0;
let nodeCount = 0;
let recordCount = 0;
let nextNode = 0;
let centreX: f64 = 0,
  centreY: f64 = 0,
  centreZ: f64 = 0,
  scale: f64 = 0;

/** Take the room for a tree; false where memory does not suffice. */
export function reserveWinding(nodeCount: i32, faceCount: i32): bool {
  clear();
  waiting = take(MOST_WAITING, 4);
  sums = take(MOST_WAITING, SUMS);
  corners = take(faceCount, CORNERS_BYTES);
  // No more than nodes with children; one where there is none.
  records = take((nodeCount >> 1) + 1, RECORD);
  rights = take(nodeCount, 4);
  counts = take(nodeCount, 1);
  bounds = take(nodeCount, 24);
  lanes = take(nodeCount, 4);
  return reach();
}

function rightOf(node: i32): i32 {
  return load<i32>(rights + ((<usize>node) << 2));
}
function countOf(node: i32): i32 {
  return <i32>load<u8>(counts + <usize>node);
}
function laneOf(node: i32): usize {
  return <usize>load<u32>(lanes + ((<usize>node) << 2));
}

/** Begin about a middle, in parts of a size. */
export function beginWinding(ofNodes: i32, x: f64, y: f64, z: f64, size: f64): void {
  centreX = x;
  centreY = y;
  centreZ = z;
  scale = 1 / size;
  nodeCount = ofNodes;
  sumCount = 0;
  recordCount = 0;
  nextNode = 0;
  memory.fill(lanes, 0, (<usize>nodeCount) << 2);
}

/** Give nodes their places, so many; false once all have theirs. */
export function placeNodes(most: i32): bool {
  const until = min(nodeCount, nextNode + most);
  for (; nextNode < until; nextNode++) {
    const lane = laneOf(nextNode);
    if (nextNode > 0 && (lane === 0 || countOf(nextNode) > 0)) continue;
    if (nextNode > 0) store<i32>(lane, recordCount, HELD);
    fillLanes(recordCount++, nextNode);
  }
  if (nextNode < nodeCount) return true;
  nextNode = nodeCount - 1;
  return false;
}

/** The lanes of a node's record: its children's children, and children that are leaves; of a lone leaf, itself. */
function fillLanes(record: i32, node: i32): void {
  const at = records + <usize>record * RECORD;
  for (let k: usize = 0; k < HELD; k += 16) v128.store(at + k, f32x4.splat(0));
  v128.store(at, f32x4.splat(Infinity), 48);
  v128.store(at, i32x4.splat(NONE), HELD);
  let lane = at;
  if (countOf(node) > 0) {
    give(node, lane);
    return;
  }
  for (let side = 0; side < 2; side++) {
    const child = side === 0 ? node + 1 : rightOf(node);
    if (countOf(child) > 0) {
      give(child, lane);
      lane += 4;
      continue;
    }
    give(child + 1, lane);
    give(rightOf(child), lane + 4);
    lane += 8;
  }
}

function give(node: i32, lane: usize): void {
  store<u32>(lanes + ((<usize>node) << 2), <u32>lane);
  store<i32>(lane, ~node, HELD);
}

/** Sum nodes, children before parents, about so many; false once all are. */
export function sumNodes(most: i32): bool {
  const until = max(-1, nextNode - most);
  for (; nextNode > until; nextNode--) {
    const node = nextNode;
    // Two that were summed become one: the left child's are on top.
    const count = countOf(node);
    const to = sums + <usize>(count > 0 ? sumCount : sumCount - 2) * SUMS;
    if (count > 0) sumFaces(to, node, rightOf(node), count);
    else join(to + SUMS, to, node);
    sumCount += count > 0 ? 1 : -1;
    const lane = laneOf(node);
    if (lane !== 0) putLane(lane, to, node);
  }
  return nextNode >= 0;
}

/** Sums of the faces of a leaf. */
function sumFaces(to: usize, node: i32, first: i32, count: i32): void {
  memory.fill(to, 0, SUMS);
  const begin = corners + <usize>first * CORNERS_BYTES,
    end = begin + <usize>count * CORNERS_BYTES;
  // Twice: the moment is about the centre, which the first time finds.
  for (let c = begin; c < end; c += CORNERS_BYTES) {
    faceSums(c);
    for (let k: usize = 0; k < 24; k += 8) {
      store<f64>(to + k, load<f64>(to + k, 8) + area * load<f64>(face + k), 8);
      store<f64>(to + k, load<f64>(to + k, 32) + load<f64>(face + k, 24), 32);
    }
    store<f64>(to, load<f64>(to) + area);
  }
  centre(to, node);
  for (let c = begin; c < end; c += CORNERS_BYTES) {
    faceSums(c);
    addMoment(to, face, face + 24);
  }
}

/** Sums of two nodes as those of the one they make; `to` may be either's. */
function join(a: usize, b: usize, node: i32): void {
  memory.fill(joined, 0, SUMS);
  store<f64>(joined, load<f64>(a) + load<f64>(b));
  for (let k: usize = 8; k < 32; k += 8) {
    store<f64>(joined + k, load<f64>(a) * load<f64>(a + k) + load<f64>(b) * load<f64>(b + k));
    store<f64>(joined + k, load<f64>(a + k, 24) + load<f64>(b + k, 24), 24);
  }
  centre(joined, node);
  addMoment(joined, a + 8, a + 32);
  addMoment(joined, b + 8, b + 32);
  for (let k: usize = 56; k < SUMS; k += 8)
    store<f64>(joined + k, load<f64>(joined + k) + load<f64>(a + k) + load<f64>(b + k));
  memory.copy(b, joined, SUMS);
}

const joined: usize = memory.data(128, 16);
/** Of the last `faceSums`: the middle, and the area vector. */
const face: usize = memory.data(48, 16);
let area: f64 = 0;

function faceSums(c: usize): void {
  const ax = load<f64>(c),
    ay = load<f64>(c, 8),
    az = load<f64>(c, 16);
  const ux = load<f64>(c, 24) - ax,
    uy = load<f64>(c, 32) - ay,
    uz = load<f64>(c, 40) - az;
  const vx = load<f64>(c, 48) - ax,
    vy = load<f64>(c, 56) - ay,
    vz = load<f64>(c, 64) - az;
  const x = ((uy * vz - uz * vy) / 2) * scale * scale,
    y = ((uz * vx - ux * vz) / 2) * scale * scale,
    z = ((ux * vy - uy * vx) / 2) * scale * scale;
  store<f64>(face, (ax + (ux + vx) / 3 - centreX) * scale);
  store<f64>(face, (ay + (uy + vy) / 3 - centreY) * scale, 8);
  store<f64>(face, (az + (uz + vz) / 3 - centreZ) * scale, 16);
  store<f64>(face, x, 24);
  store<f64>(face, y, 32);
  store<f64>(face, z, 40);
  area = Math.sqrt(x * x + y * y + z * z);
}

/** The least, or the greatest, coordinate of a node's box, about the middle. */
function low(node: i32, k: usize): f64 {
  return (<f64>load<f32>(bounds + <usize>node * 24 + (k << 2)) - middle(k)) * scale;
}
function high(node: i32, k: usize): f64 {
  return (<f64>load<f32>(bounds + <usize>node * 24 + (k << 2), 12) - middle(k)) * scale;
}
function middle(k: usize): f64 {
  return k === 0 ? centreX : k === 1 ? centreY : centreZ;
}

/** The centre of a node from the sum of areas times middles. */
function centre(to: usize, node: i32): void {
  const whole = load<f64>(to);
  for (let k: usize = 0; k < 3; k++) {
    const at = to + (k << 3);
    store<f64>(at, whole > 0 ? load<f64>(at, 8) / whole : (low(node, k) + high(node, k)) / 2, 8);
  }
}

/** Add the moment of an area vector at a place about the centre. */
function addMoment(to: usize, place: usize, vector: usize): void {
  for (let k: usize = 0; k < 24; k += 8) {
    const off = load<f64>(place + k) - load<f64>(to + k, 8);
    for (let j: usize = 0; j < 24; j += 8) {
      const at = to + 56 + 3 * k + j;
      store<f64>(at, load<f64>(at) + off * load<f64>(vector + j));
    }
  }
}

/** Write a node's sums as its parent's record has them. */
function putLane(lane: usize, from: usize, node: i32): void {
  let radius2: f64 = 0;
  for (let k: usize = 0; k < 3; k++) {
    const c = load<f64>(from + (k << 3), 8);
    const wide = max(c - low(node, k), high(node, k) - c);
    radius2 += wide * wide;
    store<f32>(lane + (k << 4), <f32>c);
    store<f32>(lane + (k << 4), <f32>load<f64>(from + (k << 3), 32), 64);
  }
  store<f32>(lane, <f32>(FAR * FAR * radius2), 48);
  const m = from + 56;
  store<f32>(lane, <f32>load<f64>(m), 112);
  store<f32>(lane, <f32>load<f64>(m, 32), 128);
  store<f32>(lane, <f32>load<f64>(m, 64), 144);
  store<f32>(lane, <f32>(load<f64>(m, 8) + load<f64>(m, 24)), 160);
  store<f32>(lane, <f32>(load<f64>(m, 16) + load<f64>(m, 48)), 176);
  store<f32>(lane, <f32>(load<f64>(m, 40) + load<f64>(m, 56)), 192);
  store<f32>(lane, <f32>(load<f64>(m) + load<f64>(m, 32) + load<f64>(m, 64)), 208);
}

/** Winding number at a place, as of winding.ts. Expected O(log n). */
export function winding(x: f64, y: f64, z: f64): f64 {
  const px = f32x4.splat(<f32>((x - centreX) * scale)),
    py = f32x4.splat(<f32>((y - centreY) * scale)),
    pz = f32x4.splat(<f32>((z - centreZ) * scale));
  let far = f32x4.splat(0);
  let near: f64 = 0;
  let top = waiting;
  store<i32>(top, 0);
  top += 4;
  while (top > waiting) {
    top -= 4;
    const record = records + <usize>load<i32>(top) * RECORD;
    const rx = f32x4.sub(v128.load(record), px),
      ry = f32x4.sub(v128.load(record, 16), py),
      rz = f32x4.sub(v128.load(record, 32), pz);
    const r2 = f32x4.add(f32x4.add(f32x4.mul(rx, rx), f32x4.mul(ry, ry)), f32x4.mul(rz, rz));
    const isFar = f32x4.gt(r2, v128.load(record, 48));
    const farLanes = i32x4.bitmask(isFar);
    if (farLanes !== 0) {
      const xs = f32x4.add(
        f32x4.add(f32x4.mul(rx, v128.load(record, 112)), f32x4.mul(ry, v128.load(record, 160))),
        f32x4.mul(rz, v128.load(record, 176)),
      );
      const ys = f32x4.add(f32x4.mul(ry, v128.load(record, 128)), f32x4.mul(rz, v128.load(record, 192)));
      const zs = f32x4.mul(rz, v128.load(record, 144));
      const along = f32x4.add(f32x4.add(f32x4.mul(rx, xs), f32x4.mul(ry, ys)), f32x4.mul(rz, zs));
      const across = f32x4.add(
        f32x4.add(f32x4.mul(rx, v128.load(record, 64)), f32x4.mul(ry, v128.load(record, 80))),
        f32x4.mul(rz, v128.load(record, 96)),
      );
      const term = f32x4.sub(
        f32x4.add(across, v128.load(record, 208)),
        f32x4.div(f32x4.mul(f32x4.splat(3), along), r2),
      );
      far = f32x4.add(far, v128.and(f32x4.div(term, f32x4.mul(r2, f32x4.sqrt(r2))), isFar));
    }
    for (let rest = ~farLanes & 15; rest !== 0; rest &= rest - 1) {
      const held = load<i32>(record + ((<usize>ctz(rest)) << 2), HELD);
      if (held === NONE) continue;
      if (held >= 0) {
        store<i32>(top, held);
        top += 4;
        continue;
      }
      const begin = corners + <usize>rightOf(~held) * CORNERS_BYTES,
        end = begin + <usize>countOf(~held) * CORNERS_BYTES;
      for (let c = begin; c < end; c += CORNERS_BYTES) near += solidAngle(c, x, y, z);
    }
  }
  const from = <f64>f32x4.extract_lane(far, 0) + <f64>f32x4.extract_lane(far, 1);
  return (near + from + <f64>f32x4.extract_lane(far, 2) + <f64>f32x4.extract_lane(far, 3)) / (4 * Math.PI);
}

/** Signed solid angle of a face. */
function solidAngle(c: usize, x: f64, y: f64, z: f64): f64 {
  const ax = load<f64>(c) - x,
    ay = load<f64>(c, 8) - y,
    az = load<f64>(c, 16) - z;
  const bx = load<f64>(c, 24) - x,
    by = load<f64>(c, 32) - y,
    bz = load<f64>(c, 40) - z;
  const cx = load<f64>(c, 48) - x,
    cy = load<f64>(c, 56) - y,
    cz = load<f64>(c, 64) - z;
  const a = Math.sqrt(ax * ax + ay * ay + az * az),
    b = Math.sqrt(bx * bx + by * by + bz * bz),
    d = Math.sqrt(cx * cx + cy * cy + cz * cz);
  const over = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
  const under =
    a * b * d +
    (ax * bx + ay * by + az * bz) * d +
    (bx * cx + by * cy + bz * cz) * a +
    (cx * ax + cy * ay + cz * az) * b;
  return 2 * Math.atan2(over, under);
}
