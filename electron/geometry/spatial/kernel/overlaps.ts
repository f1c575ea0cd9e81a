/**
 * Pairs of faces of one tree that may meet beyond what they share: all whose boxes touch, but those that plain double
 * precision shows not to meet. What it cannot decide is left to the host's exact tests (self-intersections.ts), which
 * this follows. The tree is the one of tree.ts.
 */
import { bounds, BOX, boxes, counts, faces, nodeCount, positions, rights, triangles } from './tree';
import { take, reach } from './memory';

/** Rounding of the determinant below, as a share of the sum of its products: 7 eps and more (Shewchuk 1997, section 4): 2^-49. */
const ROUNDING_SHARE = 1.7763568394002505e-15;
/** Pairs told at a time, and pairs of nodes that may wait: three for each step down. */
const MOST_TOLD = 1024;
const MOST_WAITING = 4096;
const MOST_PER_LEAVES = 16;

/** Where the host reads pairs of faces, and writes marks of faces. */
export let pairs: usize = 0;
export let marks: usize = 0;
let waiting: usize = 0;
let waitingCount = 0;
let holds: usize = 0;
let isMarked: bool = false;
/** Pairs of leaves looked at so far. */
export let looked = 0;
/** Whether all pairs have been looked at. */
export let isOver = false;

/** Take the room besides the tree's; false where memory does not suffice. */
export function reserveOverlaps(faceCount: i32): bool {
  looked = 0;
  pairs = take(MOST_TOLD, 8);
  waiting = take(MOST_WAITING, 8);
  marks = take(faceCount, 1);
  holds = take(2 * faceCount + 1, 1);
  return reach();
}

/** Begin with the whole; `onlyMarked`: pairs of which at least one face is marked. */
export function beginOverlaps(onlyMarked: bool): void {
  isMarked = onlyMarked;
  isOver = false;
  looked = 0;
  if (nodeCount === 0) isOver = true;
  if (isOver) return;
  for (let node = nodeCount - 1; node >= 0 && isMarked; node--) {
    const count = countOf(node),
      right = rightOf(node);
    let holding: u32 = 0;
    if (count === 0) holding = load<u8>(holds + <usize>(node + 1)) | load<u8>(holds + <usize>right);
    else for (let slot = right; slot < right + count; slot++) holding |= load<u8>(marks + <usize>faceOf(slot));
    store<u8>(holds + <usize>node, holding);
  }
  waitingCount = 0;
  wait(0, 0);
}

function rightOf(node: i32): i32 {
  return load<i32>(rights + ((<usize>node) << 2));
}
function countOf(node: i32): i32 {
  return <i32>load<u8>(counts + <usize>node);
}
function faceOf(slot: i32): i32 {
  return load<i32>(faces + ((<usize>slot) << 2));
}

function wait(a: i32, b: i32): void {
  const at = waiting + ((<usize>waitingCount) << 3);
  waitingCount++;
  store<i32>(at, a);
  store<i32>(at, b, 4);
}

function touch(a: usize, b: usize): bool {
  return i32x4.all_true(v128.and(f32x4.le(v128.load(a), v128.load(b, 16)), f32x4.le(v128.load(b), v128.load(a, 16))));
}

/** Go on until about so many pairs of leaves have been looked at or enough is found; how many pairs are told. */
export function nextOverlaps(most: i32): i32 {
  let told = 0;
  const until = looked + most;
  while (waitingCount > 0) {
    if (looked >= until || told + MOST_PER_LEAVES > MOST_TOLD) return told;
    waitingCount--;
    const at = waiting + ((<usize>waitingCount) << 3);
    const a = load<i32>(at),
      b = load<i32>(at, 4);
    if (isMarked && load<u8>(holds + <usize>a) + load<u8>(holds + <usize>b) === 0) continue;
    if (a !== b && !touch(bounds + <usize>a * BOX, bounds + <usize>b * BOX)) continue;
    const na = countOf(a),
      nb = countOf(b);
    if (na > 0 && nb > 0) {
      looked++;
      told = lookAt(a, na, b, nb, told);
    } else if (a === b) {
      wait(a + 1, a + 1);
      wait(rightOf(a), rightOf(a));
      wait(a + 1, rightOf(a));
    } else if (nb > 0 || (na === 0 && b > a)) {
      wait(a + 1, b);
      wait(rightOf(a), b);
    } else {
      wait(a, b + 1);
      wait(a, rightOf(b));
    }
  }
  isOver = true;
  return told;
}

/** The pairs of two leaves, or of one. */
function lookAt(a: i32, na: i32, b: i32, nb: i32, before: i32): i32 {
  let told = before;
  const firstA = rightOf(a),
    firstB = rightOf(b);
  for (let i = firstA; i < firstA + na; i++) {
    for (let j = a === b ? i + 1 : firstB; j < firstB + nb; j++) {
      if (!touch(boxes + <usize>i * BOX, boxes + <usize>j * BOX)) continue;
      const f = faceOf(i),
        g = faceOf(j);
      if (isMarked && load<u8>(marks + <usize>f) + load<u8>(marks + <usize>g) === 0) continue;
      if (!mayMeet(f, g)) continue;
      const to = pairs + ((<usize>told) << 3);
      store<i32>(to, f);
      store<i32>(to, g, 4);
      told++;
    }
  }
  return told;
}

/** Sign of the side of d against plane abc, 0 where it is in doubt; addresses of coordinates. */
function side(a: usize, b: usize, c: usize, d: usize): i32 {
  const dx = load<f64>(d),
    dy = load<f64>(d, 8),
    dz = load<f64>(d, 16);
  const ax = load<f64>(a) - dx,
    ay = load<f64>(a, 8) - dy,
    az = load<f64>(a, 16) - dz;
  const bx = load<f64>(b) - dx,
    by = load<f64>(b, 8) - dy,
    bz = load<f64>(b, 16) - dz;
  const cx = load<f64>(c) - dx,
    cy = load<f64>(c, 8) - dy,
    cz = load<f64>(c, 16) - dz;
  const bc = bx * cy,
    cb = cx * by,
    ca = cx * ay,
    ac = ax * cy,
    ab = ax * by,
    ba = bx * ay;
  const det = az * (bc - cb) + bz * (ca - ac) + cz * (ab - ba);
  const sum =
    (Math.abs(bc) + Math.abs(cb)) * Math.abs(az) +
    (Math.abs(ca) + Math.abs(ac)) * Math.abs(bz) +
    (Math.abs(ab) + Math.abs(ba)) * Math.abs(cz);
  return Math.abs(det) > ROUNDING_SHARE * sum ? (det > 0 ? 1 : -1) : 0;
}

/** False where the segment se is shown not to meet the triangle abc, given the sides of its ends. */
function segmentMay(s: usize, e: usize, sideS: i32, sideE: i32, a: usize, b: usize, c: usize): bool {
  if (sideS * sideE > 0) return false;
  // In its plane, or the triangle has no area.
  if (sideS === 0 && sideE === 0) return true;
  const x = side(s, e, a, b),
    y = side(s, e, b, c),
    z = side(s, e, c, a);
  return !((x > 0 || y > 0 || z > 0) && (x < 0 || y < 0 || z < 0));
}

function mayMeet(f: i32, g: i32): bool {
  const t = triangles + <usize>f * 12,
    s = triangles + <usize>g * 12;
  const a = positions + <usize>load<u32>(t) * 24,
    b = positions + <usize>load<u32>(t, 4) * 24,
    c = positions + <usize>load<u32>(t, 8) * 24;
  const d = positions + <usize>load<u32>(s) * 24,
    e = positions + <usize>load<u32>(s, 4) * 24,
    h = positions + <usize>load<u32>(s, 8) * 24;
  const ia = a === d ? 1 : a === e ? 2 : a === h ? 4 : 0,
    ib = b === d ? 1 : b === e ? 2 : b === h ? 4 : 0,
    ic = c === d ? 1 : c === e ? 2 : c === h ? 4 : 0;
  const shared = (ia > 0 ? 1 : 0) + (ib > 0 ? 1 : 0) + (ic > 0 ? 1 : 0);
  if (shared === 0) return strangersMay(a, b, c, d, e, h);
  if (shared === 3) return true;
  const mask = ia | ib | ic;
  if (shared === 1) {
    const v = ia > 0 ? a : ib > 0 ? b : c;
    const f1 = ia > 0 ? b : ib > 0 ? c : a,
      f2 = ia > 0 ? c : ib > 0 ? a : b;
    const g1 = mask === 1 ? e : mask === 2 ? h : d,
      g2 = mask === 1 ? h : mask === 2 ? d : e;
    return neighboursMay(v, f1, f2, g1, g2);
  }
  const u = ia > 0 ? a : b,
    v = ic > 0 ? c : b;
  const f1 = ia === 0 ? a : ib === 0 ? b : c;
  const g1 = (mask & 1) === 0 ? d : (mask & 2) === 0 ? e : h;
  return side(u, v, f1, g1) === 0;
}

/** Faces without a common vertex. */
function strangersMay(a: usize, b: usize, c: usize, d: usize, e: usize, f: usize): bool {
  const sd = side(a, b, c, d),
    se = side(a, b, c, e),
    sf = side(a, b, c, f);
  if ((sd > 0 && se > 0 && sf > 0) || (sd < 0 && se < 0 && sf < 0)) return false;
  const sa = side(d, e, f, a),
    sb = side(d, e, f, b),
    sc = side(d, e, f, c);
  if ((sa > 0 && sb > 0 && sc > 0) || (sa < 0 && sb < 0 && sc < 0)) return false;
  return (
    segmentMay(d, e, sd, se, a, b, c) ||
    segmentMay(e, f, se, sf, a, b, c) ||
    segmentMay(f, d, sf, sd, a, b, c) ||
    segmentMay(a, b, sa, sb, d, e, f) ||
    segmentMay(b, c, sb, sc, d, e, f) ||
    segmentMay(c, a, sc, sa, d, e, f)
  );
}

/** Faces vab and vcd that share only v. */
function neighboursMay(v: usize, a: usize, b: usize, c: usize, d: usize): bool {
  const sc = side(v, a, b, c),
    sd = side(v, a, b, d);
  if (sc * sd > 0) return false;
  const sa = side(v, c, d, a),
    sb = side(v, c, d, b);
  if (sa * sb > 0) return false;
  return segmentMay(c, d, sc, sd, v, a, b) || segmentMay(a, b, sa, sb, v, c, d);
}
