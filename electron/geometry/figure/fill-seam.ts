/**
 * A patch of a form taken out, and a patch of a model surface that runs through its rim set in: what is seen keeps its
 * faces and coordinates, the model's faces inside come as they are, and the narrow ring between the two rims is closed by
 * faces of least area (ring-between.ts).
 *
 * Which part of the model lies inside is told by feet: a point beyond the rim has its nearest point of the seen surface
 * on the rim itself, one that faces the seen surface has it within.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { tickingRun } from '../../../shared-types/progress.ts';
import { fillHoles } from '../mend/fill-holes.ts';
import { findHoleLoops } from '../mend/hole-loops.ts';
import { findPieces } from '../mesh/pieces.ts';
import { findTwins, nextHalfedge, OPEN } from '../mesh/twins.ts';
import { ringBetween } from '../offset/ring-between.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';

/** A piece of less than this share of the seen faces, cut off by the patch, is taken for part of it. */
const CRUMB_SHARE = 0.02;
const TICK_VERTICES = 256;
/** Fewer faces of the model than this are no patch; the hole is then closed by its rim alone. */
const LEAST_MODEL_FACES = 8;

export interface SeenPart {
  /** Vertices and faces in their old order. */
  readonly mesh: Mesh;
  /** The vertex of the form. */
  readonly ofForm: Uint32Array;
  readonly twin: Int32Array;
  /** 1 on the rim. */
  readonly isRim: Uint8Array;
  /** Mean edge of the rim, mm. */
  readonly rimEdgeMm: number;
  readonly tree: Bvh;
  /** 1 for each vertex of the form that is not kept. */
  readonly isGone: Uint8Array;
}

/** Open edges at each vertex; more than two make a rim that touches itself. */
function openAt(triangles: Uint32Array, twin: Int32Array, count: number): Uint8Array {
  const open = new Uint8Array(count);
  twin.forEach((other, h) => {
    if (other !== OPEN) return;
    open[triangles[h]]++;
    open[triangles[nextHalfedge(h)]]++;
  });
  return open;
}

/** Faces with no corner out, grown narrower until their rims are plain loops and no crumbs are left. */
function plainFaces(
  triangles: Uint32Array,
  count: number,
  isOut: Uint8Array,
  crumb: (faces: number) => number,
  tick: () => void,
) {
  for (;;) {
    tick();
    const kept: number[] = [];
    for (let f = 0; f < triangles.length; f += 3) {
      if (isOut[triangles[f]] || isOut[triangles[f + 1]] || isOut[triangles[f + 2]]) continue;
      kept.push(triangles[f], triangles[f + 1], triangles[f + 2]);
    }
    const faces = Uint32Array.from(kept);
    const { twin } = findTwins(faces, count);
    tick();
    let isPlain = true;
    const openEdges = openAt(faces, twin, count);
    openEdges.forEach((open, v) => {
      if (open <= 2) return;
      isOut[v] = 1;
      isPlain = false;
    });
    const { pieceOfFace, count: pieces } = findPieces(faces, count);
    const sizes = new Uint32Array(pieces);
    // A closed piece was there before: only what the patch has cut off can be a crumb.
    const isCut = new Uint8Array(pieces);
    pieceOfFace.forEach((piece, f) => {
      sizes[piece]++;
      for (let k = 0; k < 3; k++) if (openEdges[faces[f * 3 + k]] > 0) isCut[piece] = 1;
    });
    const least = crumb(pieceOfFace.length);
    pieceOfFace.forEach((piece, f) => {
      if (isCut[piece] === 0 || sizes[piece] >= least) return;
      for (let k = 0; k < 3; k++) isOut[faces[f * 3 + k]] = 1;
      isPlain = false;
    });
    if (isPlain) return { faces, twin };
  }
}

function compact(positions: Float64Array, faces: Uint32Array) {
  const used = [...new Set(faces)].sort((a, b) => a - b);
  const at = new Map(used.map((v, i) => [v, i]));
  const kept = Float64Array.from(used.flatMap((v) => [positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]]));
  return { mesh: { positions: kept, triangles: faces.map((v) => at.get(v) ?? 0) }, used: Uint32Array.from(used) };
}

/**
 * The form without the faces at `isPatch` vertices; undefined when nothing is left. The form must be closed and
 * manifold. O(faces).
 */
export function seenPart(form: Mesh, isPatch: Uint8Array, tick: () => void): SeenPart | undefined {
  const count = form.positions.length / 3;
  const { faces, twin } = plainFaces(form.triangles, count, isPatch.slice(), (all) => CRUMB_SHARE * all, tick);
  if (faces.length === 0) return undefined;
  const { mesh, used } = compact(form.positions, faces);
  const isRim = Uint8Array.from(openAt(mesh.triangles, twin, used.length), (open) => (open > 0 ? 1 : 0));
  let [sum, edges] = [0, 0];
  twin.forEach((other, h) => {
    if (other !== OPEN) return;
    sum += apart(mesh.positions, mesh.triangles[h], mesh.positions, mesh.triangles[nextHalfedge(h)]);
    edges++;
  });
  const isGone = new Uint8Array(count).fill(1);
  for (const v of used) isGone[v] = 0;
  return { mesh, ofForm: used, twin, isRim, rimEdgeMm: sum / Math.max(1, edges), tree: buildBvh(mesh, tick), isGone };
}

const apart = (p: Float64Array, a: number, q: Float64Array, b: number): number =>
  Math.hypot(p[a * 3] - q[b * 3], p[a * 3 + 1] - q[b * 3 + 1], p[a * 3 + 2] - q[b * 3 + 2]);

/** Model vertices beyond the rim by at least `marginMm`. */
function beyondRim({ mesh, twin, isRim, tree }: SeenPart, model: Mesh, marginMm: number, tick: () => void): Uint8Array {
  const slot = nearestSlot();
  const isIn = new Uint8Array(model.positions.length / 3);
  for (let v = 0; v < isIn.length; v++) {
    if (v % TICK_VERTICES === 0) tick();
    const [x, y, z] = model.positions.subarray(v * 3, v * 3 + 3);
    findNearest(tree, x, y, z, slot);
    const { feature, face, distance } = slot;
    if (distance < marginMm || feature === 0) continue;
    const corner = (feature - 1) % 3;
    const isOnRim =
      feature > 3 ? isRim[mesh.triangles[face * 3 + corner]] === 1 : twin[face * 3 + ((corner + 1) % 3)] === OPEN;
    if (isOnRim) isIn[v] = 1;
  }
  return isIn;
}

export interface Joined {
  readonly mesh: Mesh;
  /** For each vertex that of the model it is, -1 for the seen ones and for what closes a hole without the model. */
  readonly ofModel: Int32Array;
}

/**
 * The seen part with the model's patches set in. Seen vertices come first, in their order. `marginShare`: how wide the
 * ring is left between the rims, in edges of the rim. The model must be closed and run through the rim. The result is
 * closed; whether it cuts itself the caller must look. O(n log n), and the square of the rims' vertices.
 */
export function joinFilled(seen: SeenPart, model: Mesh, marginShare: number, tick: () => void): Joined {
  const isIn = beyondRim(seen, model, marginShare * seen.rimEdgeMm, tick);
  const outside = isIn.map((one) => 1 - one);
  const inside = plainFaces(model.triangles, isIn.length, outside, () => LEAST_MODEL_FACES, tick);
  const { mesh: patch, used } = compact(model.positions, inside.faces);
  const base = seen.mesh.positions.length / 3;
  const positions = new Float64Array(seen.mesh.positions.length + patch.positions.length);
  positions.set(seen.mesh.positions);
  positions.set(patch.positions, seen.mesh.positions.length);
  const triangles = [...seen.mesh.triangles, ...patch.triangles.map((v) => v + base)];
  const rims = findHoleLoops(seen.mesh.triangles, seen.twin, base);
  const edges = findHoleLoops(patch.triangles, inside.twin, used.length).map((loop) => loop.map((v) => v + base));
  tick();
  for (const [rim, edge] of pairs(positions, rims, edges)) {
    for (const v of ringBetween(positions, [...rim], [...edge], tick)) triangles.push(v);
  }
  const open = { positions, triangles: Uint32Array.from(triangles) };
  tick();
  const { twin } = findTwins(open.triangles, positions.length / 3);
  tick();
  const { mesh } = fillHoles(open, twin, { fair: true }, tickingRun(tick));
  tick();
  const ofModel = new Int32Array(mesh.positions.length / 3).fill(-1);
  used.forEach((v, i) => {
    ofModel[base + i] = v;
  });
  return { mesh, ofModel };
}

/** Each rim with the edge of the model's patch that runs nearest along it, if any. */
function pairs(p: Float64Array, rims: readonly Uint32Array[], edges: readonly Uint32Array[]) {
  const found: { rim: Uint32Array; edge: Uint32Array; mm: number }[] = [];
  for (const rim of rims) {
    for (const edge of edges) {
      let sum = 0;
      for (const v of edge) {
        let least = Infinity;
        for (const w of rim) least = Math.min(least, apart(p, v, p, w));
        sum += least;
      }
      found.push({ rim, edge, mm: sum / edge.length });
    }
  }
  found.sort((a, b) => a.mm - b.mm);
  const taken = new Set<Uint32Array>();
  const chosen: (readonly [Uint32Array, Uint32Array])[] = [];
  for (const { rim, edge } of found) {
    if (taken.has(rim) || taken.has(edge)) continue;
    taken.add(rim).add(edge);
    chosen.push([rim, edge]);
  }
  return chosen;
}
