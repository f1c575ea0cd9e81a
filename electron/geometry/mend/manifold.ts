/**
 * Making a heap of faces into oriented surfaces with borders: crowded edges are parted, faces turned to agree,
 * vertices where surfaces only touch are split (Gueziec et al. 2001, "Cutting and stitching").
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { Sets } from '../mesh/pieces.ts';
import { findTwins, NON_MANIFOLD, nextHalfedge, OPEN, previousHalfedge } from '../mesh/twins.ts';

export interface Oriented {
  readonly mesh: Mesh;
  /** Partner of each half-edge, or OPEN; partners run opposite ways. */
  readonly twin: Int32Array;
  /** Surface each face belongs to, joined over edges. */
  readonly pieceOfFace: Uint32Array;
  readonly pieces: number;
  readonly partedEdges: number;
  readonly turnedFaces: number;
  readonly splitVertices: number;
}

/**
 * Part crowded edges (the two faces that continue each other best stay joined), turn faces so that neighbours
 * agree (cutting where that is impossible, as on a Moebius strip), and give each fan of faces at a vertex a vertex
 * of its own. No face is lost; only indices change. Which way is outside is not decided here. O(faces). `tick` is
 * called between passes over all.
 */
export function makeManifold(mesh: Mesh, tick?: () => void): Oriented {
  const triangles = mesh.triangles.slice();
  const vertexCount = mesh.positions.length / 3;
  const found = findTwins(triangles, vertexCount);
  const twin = found.twin;
  tick?.();
  const partedEdges = found.nonManifoldEdges > 0 ? partCrowdedEdges(mesh.positions, triangles, twin) : 0;
  const { pieceOfFace, pieces, turned } = agree(triangles, twin, tick);
  if (turned.count > 0) turnFaces(triangles, twin, turned.face);
  tick?.();
  const split = splitFans(mesh, triangles, twin);
  return {
    mesh: split.mesh,
    twin,
    pieceOfFace,
    pieces,
    partedEdges,
    turnedFaces: turned.count,
    splitVertices: split.added,
  };
}

function partCrowdedEdges(p: Float64Array, t: Uint32Array, twin: Int32Array): number {
  const groups = new Map<string, number[]>();
  for (let h = 0; h < twin.length; h++) {
    if (twin[h] !== NON_MANIFOLD) continue;
    twin[h] = OPEN;
    const a = t[h],
      b = t[nextHalfedge(h)];
    const key = a < b ? `${a},${b}` : `${b},${a}`;
    const list = groups.get(key);
    if (list === undefined) groups.set(key, [h]);
    else list.push(h);
  }
  for (const list of groups.values()) {
    // Directions away from the edge in each face; opposite ones continue each other.
    const away = list.map((h) => awayFromEdge(p, t, h));
    const free = new Set(list.keys());
    // Faces that agree about outside first: two balls joined along an edge must not turn one another inside out.
    for (let mustAgree = true; ; ) {
      let best: [number, number] | undefined;
      let bestDot = 0.5; // a fold sharper than 60 degrees is no continuation
      for (const i of free) {
        for (const j of free) {
          if (j <= i || (mustAgree && t[list[i]] === t[list[j]])) continue;
          const dot = away[i][0] * away[j][0] + away[i][1] * away[j][1] + away[i][2] * away[j][2];
          if (dot < bestDot) {
            bestDot = dot;
            best = [i, j];
          }
        }
      }
      if (best === undefined) {
        if (!mustAgree) break;
        mustAgree = false;
        continue;
      }
      twin[list[best[0]]] = list[best[1]];
      twin[list[best[1]]] = list[best[0]];
      free.delete(best[0]);
      free.delete(best[1]);
    }
  }
  return groups.size;
}

function awayFromEdge(p: Float64Array, t: Uint32Array, h: number): number[] {
  const a = t[h] * 3,
    b = t[nextHalfedge(h)] * 3,
    c = t[previousHalfedge(h)] * 3;
  const e = [0, 1, 2].map((k) => p[b + k] - p[a + k]);
  const w = [0, 1, 2].map((k) => p[c + k] - p[a + k]);
  const along = (e[0] * w[0] + e[1] * w[1] + e[2] * w[2]) / (e[0] * e[0] + e[1] * e[1] + e[2] * e[2]);
  const d = w.map((x, k) => x - along * e[k]);
  const length = Math.hypot(d[0], d[1], d[2]);
  return length > 0 ? d.map((x) => x / length) : [0, 0, 0];
}

/**
 * Decide which faces to turn. Faces joined by edges they agree on form sheets, and a sheet turns as a whole; sheets
 * that disagree are put right in the order of how many edges say so, and an edge that contradicts the outcome (one
 * wrong weld, a Moebius strip) is opened. So a few bad edges never turn half a body over.
 */
function agree(
  t: Uint32Array,
  twin: Int32Array,
  tick?: () => void,
): { pieceOfFace: Uint32Array; pieces: number; turned: { face: Uint8Array; count: number } } {
  const faceCount = t.length / 3;
  const sheets = new Sets(faceCount);
  const disagreeing: number[] = [];
  for (let h = 0; h < twin.length; h++) {
    const g = twin[h];
    if (g < h) continue;
    if (t[h] === t[g]) disagreeing.push(h);
    else sheets.join((h / 3) | 0, (g / 3) | 0);
  }
  tick?.();
  const size = new Uint32Array(faceCount);
  for (let face = 0; face < faceCount; face++) size[sheets.find(face)]++;
  const turnSheet = relateSheets(twin, disagreeing, sheets, size);
  const state = new Uint8Array(faceCount);
  let count = 0;
  for (let face = 0; face < faceCount; face++) {
    state[face] = turnSheet.get(sheets.find(face)) === true ? 2 : 1;
    if (state[face] === 2) count++;
  }
  tick?.();
  const bodies = new Sets(faceCount);
  for (let h = 0; h < twin.length; h++) {
    const g = twin[h];
    if (g < h) continue;
    const f = (h / 3) | 0,
      e = (g / 3) | 0;
    if ((t[h] === t[g]) === (state[f] === state[e])) {
      twin[h] = OPEN;
      twin[g] = OPEN;
    } else {
      bodies.join(f, e);
    }
  }
  tick?.();
  const numberOf = new Int32Array(faceCount).fill(-1);
  const pieceOfFace = new Uint32Array(faceCount);
  let pieces = 0;
  for (let face = 0; face < faceCount; face++) {
    const root = bodies.find(face);
    if (numberOf[root] < 0) numberOf[root] = pieces++;
    pieceOfFace[face] = numberOf[root];
  }
  return { pieceOfFace, pieces, turned: { face: state, count } };
}

/** Which sheets (by root face) to turn, most evident relations first; in each related group the fewer faces turn. */
function relateSheets(
  twin: Int32Array,
  disagreeing: readonly number[],
  sheets: Sets,
  size: Uint32Array,
): Map<number, boolean> {
  const votes = new Map<string, { a: number; b: number; edges: number }>();
  for (const h of disagreeing) {
    const a = sheets.find((h / 3) | 0),
      b = sheets.find((twin[h] / 3) | 0);
    if (a === b) continue;
    const key = a < b ? `${a},${b}` : `${b},${a}`;
    const vote = votes.get(key);
    if (vote === undefined) votes.set(key, { a, b, edges: 1 });
    else vote.edges++;
  }
  const groupOf = new Map<number, number>();
  const members = new Map<number, number[]>();
  const turned = new Map<number, boolean>();
  const enter = (sheet: number): number => {
    const known = groupOf.get(sheet);
    if (known !== undefined) return known;
    groupOf.set(sheet, sheet);
    members.set(sheet, [sheet]);
    turned.set(sheet, false);
    return sheet;
  };
  for (const { a, b } of [...votes.values()].sort((x, y) => y.edges - x.edges || x.a - y.a || x.b - y.b)) {
    const ga = enter(a),
      gb = enter(b);
    if (ga === gb) continue;
    const flip = turned.get(a) === turned.get(b);
    const joined = members.get(gb) as number[];
    for (const sheet of joined) {
      groupOf.set(sheet, ga);
      if (flip) turned.set(sheet, turned.get(sheet) !== true);
    }
    (members.get(ga) as number[]).push(...joined);
    members.delete(gb);
  }
  for (const list of members.values()) {
    let faces = 0;
    let turnedFaces = 0;
    for (const sheet of list) {
      faces += size[sheet];
      if (turned.get(sheet) === true) turnedFaces += size[sheet];
    }
    if (turnedFaces * 2 > faces) for (const sheet of list) turned.set(sheet, turned.get(sheet) !== true);
  }
  return turned;
}

/** Turn the marked faces (state 2); their half-edges change places, and twins follow. */
function turnFaces(t: Uint32Array, twin: Int32Array, state: Uint8Array): void {
  // Turning (a b c) into (a c b): half-edge 0 (ab) becomes 2 (ba), 1 (bc) becomes 1 (cb), 2 (ca) becomes 0 (ac).
  const moved = (h: number): number => (state[(h / 3) | 0] === 2 ? h - (h % 3) + 2 - (h % 3) : h);
  const old = twin.slice();
  for (let h = 0; h < old.length; h++) twin[moved(h)] = old[h] < 0 ? old[h] : moved(old[h]);
  for (let face = 0; face < state.length; face++) {
    if (state[face] !== 2) continue;
    const keep = t[face * 3 + 1];
    t[face * 3 + 1] = t[face * 3 + 2];
    t[face * 3 + 2] = keep;
  }
}

/** Give each fan of faces round a vertex its own copy of it. */
function splitFans(mesh: Mesh, t: Uint32Array, twin: Int32Array): { mesh: Mesh; added: number } {
  const vertexCount = mesh.positions.length / 3;
  const taken = new Uint8Array(vertexCount);
  const done = new Uint8Array(t.length);
  const copies: number[] = [];
  const result = t.slice();
  for (let corner = 0; corner < t.length; corner++) {
    if (done[corner]) continue;
    const vertex = t[corner];
    const name = taken[vertex] ? vertexCount + copies.push(vertex) - 1 : vertex;
    taken[vertex] = 1;
    // Back to the border of the fan, if it has one, then forward over all of it.
    let start = corner;
    for (;;) {
      const g = twin[start];
      if (g < 0) break;
      const back = nextHalfedge(g);
      if (back === corner) break;
      start = back;
    }
    let h = start;
    do {
      done[h] = 1;
      result[h] = name;
      h = twin[previousHalfedge(h)];
    } while (h >= 0 && h !== start);
  }
  if (copies.length === 0) return { mesh: { ...mesh, triangles: result }, added: 0 };
  const positions = new Float64Array(mesh.positions.length + copies.length * 3);
  positions.set(mesh.positions);
  const colours = mesh.colours === undefined ? undefined : new Uint8Array(positions.length);
  if (colours !== undefined) colours.set(mesh.colours as Uint8Array);
  copies.forEach((vertex, i) => {
    for (let k = 0; k < 3; k++) {
      positions[(vertexCount + i) * 3 + k] = mesh.positions[vertex * 3 + k];
      if (colours !== undefined) colours[(vertexCount + i) * 3 + k] = colours[vertex * 3 + k];
    }
  });
  const split: Mesh =
    colours === undefined ? { positions, triangles: result } : { positions, triangles: result, colours };
  return { mesh: split, added: copies.length };
}
