/**
 * A patch of a surface laid flat as pieces to cut from a sheet: cut along the lines given, opened where it is no disc,
 * each piece strained as little as it can be, and darts or further seams put where that is more than the sheet allows.
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { areaOf } from '../mesh/quantities.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { borderLoops, eulerNumber, openAlong } from './disc.ts';
import { flatFrame, measureStrain, type Strain } from './flat-frame.ts';
import { Knife } from './knife.ts';
import { evenStrain, leastStrain, type Spring } from './least-strain.ts';
import { crossesItself } from './outline.ts';
import { proposeDarts } from './propose-darts.ts';
import { startFlat } from './start-flat.ts';

export type Relief = 'darts' | 'seams' | 'none';

/** A line along which the patch is cut: drawn through points or where a plane cuts it. */
export type SeamGiven =
  | { readonly name: string; readonly points: readonly Vec3[] }
  | { readonly name: string; readonly plane: Plane };

export interface LayFlatOptions {
  readonly seams: readonly SeamGiven[];
  /** What the sheet may give, as a share of its flat length, in all but one hundredth of a piece's area. */
  readonly allowedGive: number;
  readonly relief: Relief;
}

export interface PatternLine {
  readonly name: string;
  /** 'given' by the user, 'dart' and 'seam' proposed, 'opening' where the patch was no disc. */
  readonly kind: 'given' | 'dart' | 'seam' | 'opening';
  /** xyz triples along it. */
  readonly points: Float64Array;
  readonly lengthMm: number;
}

export interface FlatPiece {
  /** The piece on the body (sheet's middle), opened along its cuts. */
  readonly mesh: Mesh;
  /** uv pairs, mm, of its vertices; seen from outside. */
  readonly flat: Float64Array;
  readonly strain: Strain;
  /** Border vertices in order, counter-clockwise in the flat. */
  readonly loop: readonly number[];
  /** Line of each border edge, from a place in the loop to the next; -1 where the border is free. */
  readonly label: Int32Array;
  readonly darts: number;
  /** The flat border crosses itself: the piece cannot be cut as it is. */
  readonly overlaps: boolean;
  readonly withinAllowed: boolean;
}

export interface LaidFlat {
  readonly pieces: readonly FlatPiece[];
  readonly lines: readonly PatternLine[];
}

/** What went wrong: the line that cannot be followed, a piece with a handle, or far too many parts. */
export type LayFlatTrouble = { readonly lost: string } | { readonly handles: true } | { readonly parts: number };

/** A patch in more parts than this is no surface to cover but faces that were never joined. */
const MOST_PARTS = 200;

/** Numbers of darts tried on a piece, and further seams of a patch at most. */
const DART_COUNTS = [1, 2, 3, 4, 6, 8];
const MOST_SEAMS = 12;
/** What two darts must take off the strain that is too much, as a share, for more to be tried. */
const HELPS_SHARE = 1 / 8;
/** Pieces are not halved below this: foam smaller than a thumb is no piece (common practice, no source). */
const LEAST_PIECE_MM2 = 1500;
/** A further seam leaves each side at least this share of the border. */
const LEAST_PART = 1 / 4;
/** Evening out lowers the worst strain by a third at most: what is further off is cut first. */
const HOPE = 1.6;
/** Beyond so many times what is allowed a piece is halved at once: eight darts do not take that. */
const DARTS_HOPE = 5;
/** Strain within this share of what is allowed need not be lower. */
const ENOUGH = 1 / 2;
/** The end of a drawn line this near to the rim is meant to reach it, mm: a hand draws no better (common practice, no source). */
const RIM_MM = 5;
/** Springs that hold seam lengths, against the strain of the piece's area; see `leastStrain`. */
const SPRING_WEIGHT = 30;

/**
 * `patch`: open surface in mm, where the sheet's middle lies (`liftSurface`); made of any number of parts. Lines already
 * on its border may be named by `seams` too. A patch of no faces gives no pieces.
 * O(pieces · darts · cost of `leastStrain`).
 */
export function layFlat(patch: Mesh, options: LayFlatOptions, tick: () => void): LaidFlat | LayFlatTrouble {
  const lines: PatternLine[] = [];
  const parts = findPieces(patch.triangles, patch.positions.length / 3).count;
  if (parts > MOST_PARTS) return { parts };
  const whole = new Knife(patch);
  for (const seam of options.seams) {
    const chains = cutGiven(whole, seam, lines, tick);
    if (chains === undefined) return { lost: seam.name };
  }
  const waiting = splitPieces(whole);
  const pieces: FlatPiece[] = [];
  let seams = 0;
  while (waiting.length > 0) {
    const knife = waiting.shift() as Knife;
    const opened = openedMesh(knife);
    const loops = borderLoops(opened.mesh.triangles, opened.mesh.positions.length / 3);
    if (loops.length !== 1) {
      if (loops.length === 0 || !joinLoops(knife, opened, loops, lines, tick)) return { handles: true };
      waiting.unshift(...splitPieces(knife));
      continue;
    }
    if (eulerNumber(opened.mesh.triangles, opened.mesh.positions.length / 3) !== 1) return { handles: true };
    const piece = flatten(knife, 0, opened, loops[0], options, options.relief !== 'none', tick);
    if (piece.withinAllowed || options.relief === 'none') {
      pieces.push(piece);
      continue;
    }
    const darts = options.relief === 'darts' && piece.strain.p99 < DARTS_HOPE * options.allowedGive;
    const darted = darts ? withDarts(knife, opened, piece, lines, options, tick) : undefined;
    if (darted !== undefined) {
      pieces.push(darted);
      continue;
    }
    const large = areaOf(piece.mesh) > 2 * LEAST_PIECE_MM2;
    const halves = seams < MOST_SEAMS && large ? halve(knife, opened, piece, lines, tick) : [];
    if (halves.length > 1) {
      seams++;
      waiting.unshift(...halves);
    } else {
      // It stays as it is, so the best is made of it.
      pieces.push(flatten(knife, 0, opened, loops[0], options, false, tick));
    }
  }
  return { pieces, lines };
}

interface Opened {
  readonly mesh: Mesh;
  /** Vertex of the knife each vertex came from. */
  readonly source: Uint32Array;
}

function openedMesh(knife: Knife): Opened {
  const { triangles, source } = openAlong(
    Uint32Array.from(knife.triangles),
    knife.positions.length / 3,
    (a, b) => knife.cutOf(a, b) >= 0,
  );
  const positions = new Float64Array(source.length * 3);
  for (let v = 0; v < source.length; v++) positions.set(knife.pointOf(source[v]), v * 3);
  return { mesh: { positions, triangles }, source };
}

/** Each piece that the cuts leave, opened along them, with a knife of its own that knows the lines on its border. */
function splitPieces(knife: Knife): Knife[] {
  const { mesh, source } = openedMesh(knife);
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  return Array.from({ length: count }, (_, piece) => {
    const keep = Uint8Array.from(pieceOfFace, (one) => (one === piece ? 1 : 0));
    const part = new Knife(keepFaces(mesh, keep));
    let face = -1;
    for (let own = 0; own < part.triangles.length; own += 3) {
      do face++;
      while (!keep[face]);
      for (let k = 0; k < 3; k++) {
        const a = source[mesh.triangles[face * 3 + k]],
          b = source[mesh.triangles[face * 3 + ((k + 1) % 3)]];
        const line = knife.cutOf(a, b);
        if (line >= 0) part.cutAlong([part.triangles[own + k], part.triangles[own + ((k + 1) % 3)]], line);
      }
    }
    return part;
  });
}

function addLine(
  knife: Knife,
  chain: readonly number[],
  name: string,
  kind: PatternLine['kind'],
  lines: PatternLine[],
): void {
  const points = Float64Array.from(chain.flatMap((v) => [...knife.pointOf(v)]));
  let lengthMm = 0;
  for (let i = 3; i < points.length; i += 3) {
    lengthMm += Math.hypot(points[i] - points[i - 3], points[i + 1] - points[i - 2], points[i + 2] - points[i - 1]);
  }
  lines.push({ name, kind, points, lengthMm });
}

function cutGiven(knife: Knife, seam: SeamGiven, lines: PatternLine[], tick: () => void): true | undefined {
  if ('plane' in seam) {
    const { point, normal } = seam.plane;
    const height = (q: Vec3): number =>
      (q[0] - point[0]) * normal[0] + (q[1] - point[1]) * normal[1] + (q[2] - point[2]) * normal[2];
    const chains = knife.cutWhere(height, lines.length);
    // Stretches of one plane are lines of their own, as each is joined by itself.
    for (const chain of chains) {
      knife.cutAlong(chain, lines.length);
      addLine(knife, chain, seam.name, 'given', lines);
    }
    return chains.length > 0 ? true : undefined;
  }
  const chain: number[] = [];
  for (const [i, point] of seam.points.entries()) {
    const isEnd = i === 0 || i === seam.points.length - 1;
    const drawn = knife.vertexAt(point);
    const v = (isEnd ? knife.rimNear(drawn, RIM_MM) : undefined) ?? drawn;
    if (i === 0) {
      chain.push(v);
      continue;
    }
    const from = chain[chain.length - 1];
    if (from === v) continue;
    const next = knife.cutBetween(from, v, lines.length, tick);
    if (next === undefined) return undefined;
    chain.push(...next.slice(1));
  }
  if (chain.length < 2) return undefined;
  addLine(knife, chain, seam.name, 'given', lines);
  return true;
}

/** Cut from the border's longest loop to another, where they come nearest. */
function joinLoops(
  knife: Knife,
  opened: Opened,
  loops: readonly (readonly number[])[],
  lines: PatternLine[],
  tick: () => void,
): boolean {
  const p = opened.mesh.positions;
  let best = Infinity;
  let ends: [number, number] | undefined;
  for (const a of loops[0]) {
    tick();
    for (const loop of loops.slice(1)) {
      for (const b of loop) {
        const far = Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);
        // Loops that touch are not joined where they do: there is nothing between them to cut.
        if (far > 0 && far < best) [best, ends] = [far, [opened.source[a], opened.source[b]]];
      }
    }
  }
  if (ends === undefined) return false;
  const chain = knife.cutBetween(ends[0], ends[1], lines.length, tick);
  if (chain === undefined) return false;
  addLine(knife, chain, 'opening', 'opening', lines);
  return true;
}

/** `trial`: what is far from allowed is not evened out. */
function flatten(
  knife: Knife,
  darts: number,
  { mesh, source }: Opened,
  loop: readonly number[],
  options: LayFlatOptions,
  trial: boolean,
  tick: () => void,
): FlatPiece {
  const frame = flatFrame(mesh);
  const p = mesh.positions;
  const label = new Int32Array(loop.length);
  const springs: Spring[] = [];
  for (const [i, from] of loop.entries()) {
    const to = loop[(i + 1) % loop.length];
    label[i] = knife.cutOf(source[from], source[to]);
    if (label[i] < 0) continue;
    const lengthMm = Math.hypot(
      p[to * 3] - p[from * 3],
      p[to * 3 + 1] - p[from * 3 + 1],
      p[to * 3 + 2] - p[from * 3 + 2],
    );
    springs.push({ from, to, lengthMm });
  }
  const start = startFlat(frame, p, loop, tick);
  let flat = leastStrain(frame, start, springs, SPRING_WEIGHT, tick);
  let strain = measureStrain(frame, flat);
  const { allowedGive } = options;
  if (!trial || strain.p99 < HOPE * allowedGive) {
    flat = evenStrain(frame, flat, springs, SPRING_WEIGHT, ENOUGH * allowedGive, tick);
    strain = measureStrain(frame, flat);
  }
  const overlaps = strain.flipped > 0 || crossesItself(loop.flatMap((v) => [flat[v * 2], flat[v * 2 + 1]]));
  return {
    mesh,
    flat,
    strain,
    loop,
    label,
    darts,
    overlaps,
    withinAllowed: !overlaps && strain.p99 <= options.allowedGive,
  };
}

/** The piece with the fewest darts that bring it within what the sheet allows, if any do. */
function withDarts(
  whole: Knife,
  opened: Opened,
  piece: FlatPiece,
  lines: PatternLine[],
  options: LayFlatOptions,
  tick: () => void,
): FlatPiece | undefined {
  for (const count of DART_COUNTS) {
    const places = proposeDarts(piece, count, tick);
    if (places.length < count) return undefined;
    const knife = whole.copy();
    const chains: (readonly number[])[] = [];
    for (const { from, tip } of places) {
      const start = opened.source[from];
      const end = knife.vertexAt(tip);
      const chain = start === end ? undefined : knife.cutBetween(start, end, lines.length + chains.length, tick);
      if (chain !== undefined) chains.push(chain);
    }
    const cut = openedMesh(knife);
    const loops = borderLoops(cut.mesh.triangles, cut.mesh.positions.length / 3);
    if (chains.length < count || loops.length !== 1) continue;
    const tried = flatten(knife, count, cut, loops[0], options, true, tick);
    if (!tried.withinAllowed) {
      // Where two darts leave nearly everything as it was, as on a saddle, more will not help.
      const over = piece.strain.p99 - options.allowedGive;
      if (count >= 2 && tried.strain.p99 > piece.strain.p99 - over * HELPS_SHARE) return undefined;
      continue;
    }
    for (const chain of chains) {
      addLine(knife, chain, `dart ${lines.filter((line) => line.kind === 'dart').length + 1}`, 'dart', lines);
    }
    return tried;
  }
  return undefined;
}

/** The piece cut in two across its short way, through the middle. */
function halve(whole: Knife, opened: Opened, piece: FlatPiece, lines: PatternLine[], tick: () => void): Knife[] {
  const { flat, loop } = piece;
  let best = Infinity;
  let ends: [number, number] | undefined;
  // The chord that is short for how evenly it divides the border.
  const along = [0];
  for (let i = 1; i <= loop.length; i++) {
    const a = loop[i - 1],
      b = loop[i % loop.length];
    along.push(along[i - 1] + Math.hypot(flat[a * 2] - flat[b * 2], flat[a * 2 + 1] - flat[b * 2 + 1]));
  }
  const round = along[loop.length];
  for (let i = 0; i < loop.length; i++) {
    for (let j = i + 1; j < loop.length; j++) {
      const part = Math.min(along[j] - along[i], round - along[j] + along[i]) / round;
      if (part < LEAST_PART) continue;
      const chord =
        Math.hypot(flat[loop[i] * 2] - flat[loop[j] * 2], flat[loop[i] * 2 + 1] - flat[loop[j] * 2 + 1]) / part;
      if (chord < best) [best, ends] = [chord, [loop[i], loop[j]]];
    }
  }
  if (ends === undefined) return [];
  const knife = whole.copy();
  const chain = knife.cutBetween(opened.source[ends[0]], opened.source[ends[1]], lines.length, tick);
  if (chain === undefined) return [];
  const halves = splitPieces(knife);
  if (halves.length < 2) return [];
  addLine(knife, chain, `seam ${lines.filter((line) => line.kind === 'seam').length + 1}`, 'seam', lines);
  return halves;
}
