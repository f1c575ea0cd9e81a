/**
 * Building a tree over the faces of a mesh, in steps, so that the host can look up for a stop between them; the result is
 * described in bvh.ts. Many faces are halved where the leading bit of their place along a Z curve changes (Lauterbach et al.
 * 2009, "Fast BVH construction on GPUs"; the curve: Morton 1966), few by binned surface-area heuristic (Wald 2007, "On
 * fast construction of SAH-based bounding volume hierarchies").
 */
import { clear, reach, take } from './memory';

const LEAF_FACES = 4;
const BINS = 8;
/** Up to this many faces are cut at the middle of their centres. */
const FEW = 8;
/** More faces than this are cut along the Z curve. */
const MANY = 64;
/** Past this depth faces are halved by count: bounds every stack even on adversarial meshes. */
const DEEP = 60;
/** Bits of a place along the curve, per axis. */
const CURVE_BITS = 10;
const STEPS = 1 << CURVE_BITS;
/** Keeps the last centre inside the last bin or step. */
const INSIDE = 0.999999;
/** Single precision: the gap above 1, and the least number. */
const GAP: f64 = 1.1920928955078125e-7;
const LEAST: f64 = 1.401298464324817e-45;
/** A box: least x, y, z and nothing, greatest x, y, z and nothing. */
export const BOX: usize = 32;
/** Of the boxes the host reads: six numbers. */
const SHORT_BOX: usize = 24;
const CORNERS: usize = 72;
/** Begin, end, depth, and the node it is the right child of, or -1. */
const WAITING: usize = 16;
const MOST_WAITING = 256;

/** What the host writes: double precision, and three corners a face. */
export let positions: usize = 0;
export let triangles: usize = 0;
/** What it reads, as bvh.ts has it; boxes and bounds of six numbers each. */
export let rights: usize = 0;
export let counts: usize = 0;
export let faces: usize = 0;
export let corners: usize = 0;
export let shortBounds: usize = 0;
export let shortBoxes: usize = 0;
export let nodeCount: i32 = 0;
/** Boxes of the nodes and of the slots. */
export let bounds: usize = 0;
export let boxes: usize = 0;

let faceCount = 0;
let unsorted: usize = 0;
let codes: usize = 0;
let nextCodes: usize = 0;
let order: usize = 0;
let nextOrder: usize = 0;
let begins: usize = 0;
let waiting: usize = 0;
let waitingCount = 0;
let binBoxes: usize = 0;
let binCounts: usize = 0;
let leftAreas: usize = 0;

/** Take the room for a tree; false where memory does not suffice. */
export function reserveTree(vertices: i32, ofFaces: i32): bool {
  clear();
  faceCount = ofFaces;
  const nodes = max(1, 2 * faceCount);
  positions = take(vertices, 24);
  triangles = take(faceCount, 12);
  rights = take(nodes, 4);
  counts = take(nodes, 1);
  faces = take(faceCount, 4);
  bounds = take(nodes, BOX);
  boxes = take(faceCount, BOX);
  corners = take(faceCount, CORNERS);
  shortBounds = take(nodes, SHORT_BOX);
  shortBoxes = take(faceCount, SHORT_BOX);
  unsorted = take(faceCount, BOX);
  codes = take(faceCount, 4);
  nextCodes = take(faceCount, 4);
  order = take(faceCount, 4);
  nextOrder = take(faceCount, 4);
  begins = take(STEPS, 4);
  waiting = take(MOST_WAITING, WAITING);
  binBoxes = take(BINS, BOX);
  binCounts = take(BINS, 4);
  leftAreas = take(BINS, 8);
  return reach();
}

function boxOf(slot: i32): usize {
  return boxes + <usize>slot * BOX;
}

function singleDown(x: f64): f32 {
  const y = <f32>x;
  return <f64>y <= x ? y : <f32>(<f64>y - Math.abs(<f64>y) * GAP - LEAST);
}
function singleUp(x: f64): f32 {
  const y = <f32>x;
  return <f64>y >= x ? y : <f32>(<f64>y + Math.abs(<f64>y) * GAP + LEAST);
}

/** The boxes of faces [from, to). */
export function putBoxes(from: i32, to: i32): void {
  for (let f = from; f < to; f++) {
    const t = triangles + <usize>f * 12;
    const i = positions + <usize>load<u32>(t) * 24,
      j = positions + <usize>load<u32>(t, 4) * 24,
      l = positions + <usize>load<u32>(t, 8) * 24;
    const box = unsorted + <usize>f * BOX;
    for (let k: usize = 0; k < 3; k++) {
      const a = load<f64>(i + (k << 3)),
        b = load<f64>(j + (k << 3)),
        c = load<f64>(l + (k << 3));
      const low = a < b ? (a < c ? a : c) : b < c ? b : c;
      const high = a > b ? (a > c ? a : c) : b > c ? b : c;
      store<f32>(box + (k << 2), singleDown(low));
      store<f32>(box + (k << 2), singleUp(high), 16);
    }
    store<f32>(box, 0, 12);
    store<f32>(box, 0, 28);
  }
}

/** Lowest ten bits of each lane, two apart. */
function spread3(lanes: v128): v128 {
  let bits = lanes;
  bits = v128.and(v128.or(bits, i32x4.shl(bits, 16)), i32x4.splat(0x030000ff));
  bits = v128.and(v128.or(bits, i32x4.shl(bits, 8)), i32x4.splat(0x0300f00f));
  bits = v128.and(v128.or(bits, i32x4.shl(bits, 4)), i32x4.splat(0x030c30c3));
  return v128.and(v128.or(bits, i32x4.shl(bits, 2)), i32x4.splat(0x09249249));
}

/** Begin with the faces in the order of their numbers; where they are many, find their places along the Z curve. */
export function beginSort(): void {
  for (let f = 0; f < faceCount; f++) store<i32>(order + ((<usize>f) << 2), f);
  if (faceCount > MANY) findPlaces();
}

/** Sort by a digit of the places, the lowest first; false where there is no such digit, or too few faces for it. */
export function sortBy(digit: i32): bool {
  const shift = digit * CURVE_BITS;
  if (digit >= 3 || faceCount <= MANY) return false;
  memory.fill(begins, 0, STEPS * 4);
  for (let i = 0; i < faceCount; i++) {
    const at = begins + ((<usize>((load<u32>(codes + ((<usize>i) << 2)) >> shift) & (STEPS - 1))) << 2);
    store<i32>(at, load<i32>(at) + 1);
  }
  let sum = 0;
  for (let d = 0; d < STEPS; d++) {
    const at = begins + ((<usize>d) << 2);
    const here = load<i32>(at);
    store<i32>(at, sum);
    sum += here;
  }
  for (let i = 0; i < faceCount; i++) {
    const code = load<u32>(codes + ((<usize>i) << 2));
    const at = begins + ((<usize>((code >> shift) & (STEPS - 1))) << 2);
    const to = load<i32>(at);
    store<i32>(at, to + 1);
    store<u32>(nextCodes + ((<usize>to) << 2), code);
    store<i32>(nextOrder + ((<usize>to) << 2), load<i32>(order + ((<usize>i) << 2)));
  }
  const c = codes,
    o = order;
  codes = nextCodes;
  nextCodes = c;
  order = nextOrder;
  nextOrder = o;
  return true;
}

/** Put the boxes in the order found, and begin with the whole as a node to be made. */
export function beginGrowth(): void {
  for (let slot = 0; slot < faceCount; slot++) {
    const f = load<i32>(order + ((<usize>slot) << 2));
    const from = unsorted + <usize>f * BOX;
    store<i32>(faces + ((<usize>slot) << 2), f);
    v128.store(boxOf(slot), v128.load(from));
    v128.store(boxOf(slot), v128.load(from, 16), 16);
  }
  nodeCount = 0;
  waitingCount = 0;
  if (faceCount > 0) wait(0, faceCount, 0, -1);
}

/** The faces' places along the curve. */
function findPlaces(): void {
  let low = f32x4.splat(Infinity),
    high = f32x4.splat(-Infinity);
  const last = unsorted + <usize>faceCount * BOX;
  for (let box = unsorted; box < last; box += BOX) {
    const middle = f32x4.add(v128.load(box), v128.load(box, 16));
    low = f32x4.pmin(low, middle);
    high = f32x4.pmax(high, middle);
  }
  const wide = f32x4.sub(high, low);
  // Axes without width have one step.
  const by = v128.and(f32x4.div(f32x4.splat(<f32>(<f64>STEPS * INSIDE)), wide), f32x4.gt(wide, f32x4.splat(0)));
  for (let f = 0; f < faceCount; f++) {
    const box = unsorted + <usize>f * BOX;
    const middle = f32x4.add(v128.load(box), v128.load(box, 16));
    const step = i32x4.trunc_sat_f32x4_s(f32x4.mul(f32x4.sub(middle, low), by));
    const bits = spread3(i32x4.max_s(i32x4.min_s(step, i32x4.splat(STEPS - 1)), i32x4.splat(0)));
    const code = i32x4.extract_lane(bits, 0) | (i32x4.extract_lane(bits, 1) << 1) | (i32x4.extract_lane(bits, 2) << 2);
    store<i32>(codes + ((<usize>f) << 2), code);
  }
}

function wait(begin: i32, end: i32, depth: i32, parent: i32): void {
  const at = waiting + <usize>waitingCount * WAITING;
  waitingCount++;
  store<i32>(at, begin);
  store<i32>(at, end, 4);
  store<i32>(at, depth, 8);
  store<i32>(at, parent, 12);
}

/** Make nodes, depth first, until about so many faces have been looked at; false once all are made. */
export function grow(most: i32): bool {
  let worked = 0;
  while (waitingCount > 0) {
    if (worked > most) return true;
    waitingCount--;
    const at = waiting + <usize>waitingCount * WAITING;
    const begin = load<i32>(at),
      end = load<i32>(at, 4),
      depth = load<i32>(at, 8),
      parent = load<i32>(at, 12);
    const node = nodeCount++;
    if (parent >= 0) store<i32>(rights + ((<usize>parent) << 2), node);
    store<u8>(counts + <usize>node, 0);
    let middle = 0;
    const first = load<u32>(codes + ((<usize>begin) << 2)),
      last = load<u32>(codes + ((<usize>(end - 1)) << 2));
    if (end - begin > MANY && first !== last) {
      middle = leadingChange(first, last, begin, end);
      worked += MANY;
    } else {
      worked += end - begin;
      middle = cut(node, begin, end, depth);
      if (middle < 0) {
        store<i32>(rights + ((<usize>node) << 2), begin);
        store<u8>(counts + <usize>node, end - begin);
        continue;
      }
    }
    wait(middle, end, depth + 1, node);
    wait(begin, middle, depth + 1, -1);
  }
  return false;
}

/** The first of [begin, end) that has the leading bit in which the places of the first and the last differ. */
function leadingChange(first: u32, last: u32, begin: i32, end: i32): i32 {
  const shift = 31 - clz(first ^ last);
  const head = last >> shift;
  let low = begin,
    high = end - 1;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (load<u32>(codes + ((<usize>middle) << 2)) >> shift < head) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Write the node's box; where its faces are to be cut in two, or -1 for a leaf. */
function cut(node: i32, begin: i32, end: i32, depth: i32): i32 {
  let low = f32x4.splat(Infinity),
    high = f32x4.splat(-Infinity),
    lowest = low,
    highest = high;
  const last = boxOf(end);
  for (let box = boxOf(begin); box < last; box += BOX) {
    const a = v128.load(box),
      b = v128.load(box, 16);
    const middle = f32x4.add(a, b);
    low = f32x4.pmin(low, a);
    high = f32x4.pmax(high, b);
    lowest = f32x4.pmin(lowest, middle);
    highest = f32x4.pmax(highest, middle);
  }
  const bound = bounds + <usize>node * BOX;
  v128.store(bound, low);
  v128.store(bound, high, 16);
  if (end - begin <= LEAF_FACES) return -1;
  const half = (begin + end) >>> 1;
  const wide = f32x4.sub(highest, lowest);
  const x = f32x4.extract_lane(wide, 0),
    y = f32x4.extract_lane(wide, 1),
    z = f32x4.extract_lane(wide, 2);
  if (depth > DEEP) return half;
  if (x >= y && x >= z) return split(begin, end, 0, f32x4.extract_lane(lowest, 0), x, half);
  if (y >= z) return split(begin, end, 4, f32x4.extract_lane(lowest, 1), y, half);
  return split(begin, end, 8, f32x4.extract_lane(lowest, 2), z, half);
}

/** The bin of a face whose box's coordinate on the axis is at `at`. */
function binAt(at: usize, low: f32, toBin: f32, lastBin: i32): i32 {
  const bin = <i32>((load<f32>(at) + load<f32>(at, 16) - low) * toBin);
  return bin > lastBin ? lastBin : bin;
}

/** Where [begin, end) is best cut, its faces reordered to suit; `axis` in bytes, low and extent of doubled centres on it. */
function split(begin: i32, end: i32, axis: usize, low: f32, extent: f32, half: i32): i32 {
  if (!(extent > 0 && extent < Infinity)) return half;
  if (end - begin <= FEW) {
    const at = partition(begin, end, axis, low, <f32>((2 * INSIDE) / <f64>extent), 1, 1);
    return at > begin && at < end ? at : half;
  }
  const toBin = <f32>((<f64>BINS * INSIDE) / <f64>extent);
  const nothing = f32x4.splat(Infinity),
    noEnd = f32x4.splat(-Infinity);
  for (let b = 0; b < BINS; b++) {
    const bin = binBoxes + <usize>b * BOX;
    v128.store(bin, nothing);
    v128.store(bin, noEnd, 16);
    store<i32>(binCounts + ((<usize>b) << 2), 0);
  }
  const last = boxOf(end);
  for (let box = boxOf(begin); box < last; box += BOX) {
    const b = <usize>binAt(box + axis, low, toBin, BINS - 1);
    const bin = binBoxes + b * BOX;
    store<i32>(binCounts + (b << 2), load<i32>(binCounts + (b << 2)) + 1);
    v128.store(bin, f32x4.pmin(v128.load(bin), v128.load(box)));
    v128.store(bin, f32x4.pmax(v128.load(bin, 16), v128.load(box, 16)), 16);
  }
  // Sweep from the left, then from the right, adding bins to a growing box.
  let min = nothing,
    max = noEnd;
  for (let b = 0; b < BINS - 1; b++) {
    const bin = binBoxes + <usize>b * BOX;
    min = f32x4.pmin(min, v128.load(bin));
    max = f32x4.pmax(max, v128.load(bin, 16));
    store<f64>(leftAreas + ((<usize>b) << 3), areaOf(min, max));
  }
  min = nothing;
  max = noEnd;
  let best = -1;
  let bestCost = Infinity;
  let right = 0;
  let left = end - begin;
  for (let b = BINS - 1; b > 0; b--) {
    const bin = binBoxes + <usize>b * BOX;
    min = f32x4.pmin(min, v128.load(bin));
    max = f32x4.pmax(max, v128.load(bin, 16));
    const count = load<i32>(binCounts + ((<usize>b) << 2));
    right += count;
    left -= count;
    if (right === 0 || left === 0) continue;
    const cost = areaOf(min, max) * <f64>right + load<f64>(leftAreas + ((<usize>(b - 1)) << 3)) * <f64>left;
    if (cost < bestCost) {
      bestCost = cost;
      best = b;
    }
  }
  return best < 0 ? half : partition(begin, end, axis, low, toBin, best, BINS - 1);
}

/** Half the surface of a box; of none, 0. */
function areaOf(low: v128, high: v128): f64 {
  const wide = f32x4.sub(high, low);
  const x = <f64>f32x4.extract_lane(wide, 0),
    y = <f64>f32x4.extract_lane(wide, 1),
    z = <f64>f32x4.extract_lane(wide, 2);
  return x < 0 ? 0 : x * y + y * z + z * x;
}

/** First slot in [begin, end) of what lies beyond the cut, after moving it behind the rest. */
function partition(begin: i32, end: i32, axis: usize, low: f32, toBin: f32, at: i32, lastBin: i32): i32 {
  let i = begin,
    j = end - 1;
  for (;;) {
    while (i <= j && binAt(boxOf(i) + axis, low, toBin, lastBin) < at) i++;
    while (i <= j && binAt(boxOf(j) + axis, low, toBin, lastBin) >= at) j--;
    if (i >= j) return i;
    const a = boxOf(i),
      b = boxOf(j);
    const low4 = v128.load(a),
      high4 = v128.load(a, 16);
    v128.store(a, v128.load(b));
    v128.store(a, v128.load(b, 16), 16);
    v128.store(b, low4);
    v128.store(b, high4, 16);
    const p = faces + ((<usize>i) << 2),
      q = faces + ((<usize>j) << 2);
    const face = load<i32>(p);
    store<i32>(p, load<i32>(q));
    store<i32>(q, face);
    i++;
    j--;
  }
  return i;
}

/** Finish the boxes of nodes cut along the curve, children before parents. */
export function finish(): void {
  for (let node = nodeCount - 1; node >= 0; node--) {
    const at = bounds + <usize>node * BOX;
    if (load<u8>(counts + <usize>node) === 0) {
      const a = at + BOX,
        b = bounds + <usize>load<i32>(rights + ((<usize>node) << 2)) * BOX;
      v128.store(at, f32x4.pmin(v128.load(a), v128.load(b)));
      v128.store(at, f32x4.pmax(v128.load(a, 16), v128.load(b, 16)), 16);
    }
  }
}

/** Write the boxes as the host reads them. */
export function putShort(): void {
  shorten(bounds, shortBounds, nodeCount);
  shorten(boxes, shortBoxes, faceCount);
}

/** The corners' coordinates of slots [from, to). */
export function putCorners(from: i32, to: i32): void {
  for (let slot = from; slot < to; slot++) {
    const t = triangles + <usize>load<i32>(faces + ((<usize>slot) << 2)) * 12;
    const at = corners + <usize>slot * CORNERS;
    for (let k: usize = 0; k < 3; k++) {
      const p = positions + <usize>load<u32>(t + (k << 2)) * 24;
      const to = at + k * 24;
      v128.store(to, v128.load(p));
      store<f64>(to, load<f64>(p, 16), 16);
    }
  }
}

function shorten(from: usize, to: usize, count: i32): void {
  for (let n: usize = 0; n < <usize>count; n++) {
    const a = from + n * BOX,
      b = to + n * SHORT_BOX;
    store<i64>(b, load<i64>(a));
    store<i32>(b, load<i32>(a, 8), 8);
    store<i32>(b, load<i32>(a, 16), 12);
    store<i64>(b, load<i64>(a, 20), 16);
  }
}

/** Take a tree the host has written as it reads it, so many nodes of it. */
export function takeTree(nodes: i32): void {
  nodeCount = nodes;
  lengthen(shortBounds, bounds, nodeCount);
  lengthen(shortBoxes, boxes, faceCount);
}

function lengthen(from: usize, to: usize, count: i32): void {
  for (let n: usize = 0; n < <usize>count; n++) {
    const a = from + n * SHORT_BOX,
      b = to + n * BOX;
    store<i64>(b, load<i64>(a));
    store<i32>(b, load<i32>(a, 8), 8);
    store<f32>(b, 0, 12);
    store<i32>(b, load<i32>(a, 12), 16);
    store<i64>(b, load<i64>(a, 16), 20);
    store<f32>(b, 0, 28);
  }
}
