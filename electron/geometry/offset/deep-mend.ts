/**
 * What no single change of local-mend.ts helps: one change is made though it misses by more, then others about it lessen
 * that; the whole is kept where it comes out better than it was. Tried on a copy of the faces round the place.
 */
import { buildBvh, visitBox, type Bvh } from '../spatial/bvh.ts';
import { overPositions } from '../spatial/self-intersections.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { LocalMend, missInPart, missingFirst, type Missed, type Part } from './local-mend.ts';
import type { SignedField } from './signed-field.ts';

/** Faces so many lengths of the face about it are copied, no more than so many of them. */
const LENGTHS = 2;
const MOST_FACES = 1000;
/** First changes tried, the best by themselves, and rounds after each. */
const FIRSTS = 6;
const ROUNDS = 6;
const ROOM = 64;
/** Faces between two looks for a stop, less one (a mask). */
const STRIDE = 31;
/** The sum of squares of what is missed over the allowed must become less by this factor. */
const GAIN = 0.85;

/**
 * Try two and more changes in turn about each of these faces (their numbers), in so many places that do not touch. Rewrites the
 * part and marks the vertices about what changed in `open`; gives in how many places it helped. `tree`: over the part.
 */
export function deepMend(
  part: Part,
  tree: Bvh,
  faces: readonly number[],
  open: Uint8Array,
  allowedMm: number,
  field: SignedField,
  offset: number,
  tick: () => void,
): number {
  const taken = new Uint8Array(part.triangles.length / 3);
  const put: number[] = [];
  const missed: number[] = [];
  let helped = 0;
  for (const face of faces) {
    tick();
    const near = facesAbout(part, tree, face);
    if (near.length > MOST_FACES || near.some((f) => taken[f] === 1)) continue;
    const copy = copied(part, near);
    const better = bettered(copy.part, near.indexOf(face), allowedMm, field, offset, tick);
    if (better === undefined) continue;
    const made = better.vertexCount - copy.vertexOf.length;
    if ((part.vertexCount + made) * 3 > part.positions.length) break;
    const vertexOf = [...copy.vertexOf];
    for (let v = vertexOf.length; v < better.vertexCount; v++) {
      part.positions.set(better.positions.subarray(v * 3, v * 3 + 3), part.vertexCount * 3);
      vertexOf.push(part.vertexCount++);
    }
    for (const f of near) taken[f] = 1;
    for (const v of better.triangles) put.push(vertexOf[v]);
    missed.push(...better.missed);
    for (let v = 0; v < better.vertexCount; v++)
      if (better.changed[v] === 1) part.changed[vertexOf[v]] = open[vertexOf[v]] = 1;
    helped++;
  }
  if (helped === 0) return 0;
  const rest = part.triangles.filter((_, h) => taken[(h / 3) | 0] === 0);
  const all = new Uint32Array(rest.length + put.length);
  all.set(rest);
  all.set(put, rest.length);
  part.triangles = all;
  const restMissed = part.missed.filter((_, f) => taken[f] === 0);
  part.missed = new Float64Array(all.length / 3);
  part.missed.set(restMissed);
  part.missed.set(missed, restMissed.length);
  return helped;
}

/** Numbers of the faces within some lengths of a face, that one among them. */
function facesAbout({ positions: p, triangles: t }: Part, tree: Bvh, face: number): number[] {
  const corners = [0, 1, 2].flatMap((k) => [...p.subarray(t[face * 3 + k] * 3, t[face * 3 + k] * 3 + 3)]);
  const { min, max } = boundsOf(Float64Array.from(corners));
  const wide = LENGTHS * Math.max(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
  const near: number[] = [];
  const low = [min[0] - wide, min[1] - wide, min[2] - wide] as const;
  const high = [max[0] + wide, max[1] + wide, max[2] + wide] as const;
  visitBox(tree, low, high, (f) => {
    near.push(f);
    return near.length <= MOST_FACES;
  });
  return near;
}

/** Some faces by themselves, vertices numbered anew; those with other faces are held. */
function copied(part: Part, faces: readonly number[]): { part: Part; vertexOf: readonly number[] } {
  const { positions: p, triangles: t, held } = part;
  const numbers = new Map<number, number>();
  const vertexOf: number[] = [];
  const triangles = new Uint32Array(faces.length * 3);
  for (const [n, f] of faces.entries()) {
    for (let k = 0; k < 3; k++) {
      const v = t[f * 3 + k];
      let number = numbers.get(v);
      if (number === undefined) {
        number = vertexOf.length;
        numbers.set(v, number);
        vertexOf.push(v);
      }
      triangles[n * 3 + k] = number;
    }
  }
  const room = vertexOf.length + ROOM;
  const positions = new Float64Array(room * 3);
  const kept = new Uint8Array(room);
  for (const [n, v] of vertexOf.entries()) {
    positions.set(p.subarray(v * 3, v * 3 + 3), n * 3);
    kept[n] = held[v];
  }
  // An edge with one face only is on the rim.
  const edges = new Set<number>();
  for (let h = 0; h < triangles.length; h++) edges.add(triangles[h] * room + triangles[h - (h % 3) + ((h + 1) % 3)]);
  for (const edge of edges) {
    const [a, b] = [Math.floor(edge / room), edge % room];
    if (!edges.has(b * room + a)) kept[a] = kept[b] = 1;
  }
  const own = {
    positions,
    vertexCount: vertexOf.length,
    triangles,
    missed: Float64Array.from(faces, (f) => part.missed[f]),
    held: kept,
    changed: new Uint8Array(room),
  };
  return { part: own, vertexOf };
}

/** The best of what comes of some first changes at a face of a copy; undefined where none is better than before. */
function bettered(
  part: Part,
  face: number,
  allowedMm: number,
  field: SignedField,
  offset: number,
  tick: () => void,
): Part | undefined {
  const before = missedBy(part, allowedMm, field, offset, tick);
  const firsts = overPositions(part.positions, () =>
    new LocalMend(part, buildBvh(part), field, offset).firsts(face, allowedMm, FIRSTS, tick),
  );
  let best: Part | undefined;
  let least = GAIN * before.excess;
  for (const first of firsts) {
    tick();
    const trial: Part = {
      ...part,
      positions: part.positions.slice(),
      changed: part.changed.slice(),
      missed: part.missed.slice(),
    };
    const mend = new LocalMend(trial, buildBvh(trial), field, offset);
    mend.make(first);
    mend.leave();
    for (let round = 0; round < ROUNDS; round++) {
      const made = lessened(trial, allowedMm, field, offset, tick);
      if (made === 0) break;
    }
    const after = missedBy(trial, allowedMm, field, offset, tick);
    if (after.most > before.most || after.excess >= least) continue;
    least = after.excess;
    best = trial;
  }
  return best;
}

/** One round of changes at whatever misses by more than is allowed; gives how many. */
function lessened(part: Part, allowedMm: number, field: SignedField, offset: number, tick: () => void): number {
  const faces = missingFirst(part, undefined, allowedMm, field, offset, tick);
  const mend = new LocalMend(part, buildBvh(part), field, offset);
  const made = overPositions(part.positions, () => mend.lessen(faces, allowedMm, tick));
  mend.leave();
  return made;
}

/** Of all faces; over is what is missed beyond the allowed itself. */
function missedBy(part: Part, allowedMm: number, field: SignedField, offset: number, tick: () => void): Missed {
  let most = 0,
    excess = 0;
  for (let face = 0; face < part.missed.length; face++) {
    if ((face & STRIDE) === 0) tick();
    const miss = missInPart(part, face, field, offset);
    const over = Math.max(0, miss - allowedMm);
    most = Math.max(most, miss);
    excess += over * over;
  }
  return { most, excess };
}
