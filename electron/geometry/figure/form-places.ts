/**
 * Where the landmarks lie on any upright head form, told by where its surface corresponds to the neutral head: the same
 * windows and extremes as in head-places.ts, but on a mesh of any faces that need be neither symmetric nor the neutral
 * head's. What lies on the middle line is sought where the form crosses its middle plane, y = 0.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { castRay, type Bvh, type RayHit } from '../spatial/bvh.ts';
import {
  BROW_ABOVE_MM,
  EXTREMES,
  FAR_MM,
  LEVEL_SHARE,
  LEVEL_SOFT_MM,
  placeOn,
  pointOf,
  softPlace,
  SPREAD_SOFT_MM,
  type Extreme,
  type FoundPlaces,
  type Levels,
  type Place,
} from './head-places.ts';

/** A piece of the middle line: where a face is cut by y = 0. */
type Piece = readonly [Place, Place];

/** The same point told by a share of each of two places. */
const between = (a: Place, b: Place, share: number): Place => ({
  vertices: [...a.vertices, ...b.vertices],
  shares: [...a.shares.map((one) => one * (1 - share)), ...b.shares.map((one) => one * share)],
});

function middlePieces({ positions: p, triangles: t }: Mesh): Piece[] {
  const pieces: Piece[] = [];
  for (let f = 0; f < t.length; f += 3) {
    const ends: Place[] = [];
    for (let k = 0; k < 3; k++) {
      const [a, b] = [t[f + k], t[f + ((k + 1) % 3)]];
      const [ya, yb] = [p[a * 3 + 1], p[b * 3 + 1]];
      if (ya >= 0 === yb >= 0) continue;
      const share = ya / (ya - yb);
      ends.push({ vertices: [a, b], shares: [1 - share, share] });
    }
    if (ends.length === 2) pieces.push([ends[0], ends[1]]);
  }
  return pieces;
}

/** The outermost point of the middle line on a line square to `axis` at `level`, looked for from `way` along the other. */
function outermost(p: Float64Array, pieces: readonly Piece[], axis: 0 | 2, level: number, way: 1 | -1) {
  let best: Place | undefined;
  let most = -Infinity;
  for (const [a, b] of pieces) {
    const [pa, pb] = [pointOf(p, a), pointOf(p, b)];
    if (pa[axis] > level === pb[axis] > level) continue;
    const place = between(a, b, (level - pa[axis]) / (pb[axis] - pa[axis]));
    const out = way * pointOf(p, place)[2 - axis];
    if (out > most) [most, best] = [out, place];
  }
  return best;
}

/**
 * The landmarks of the usual measures on an upright form. `neutral`: where each vertex lies on the neutral head. Levels
 * of broad extremes go only part of the way from where they were `before`. A landmark whose window holds nothing is
 * left out: the measures that need it cannot be taken. O(faces).
 */
export function placesOnForm(
  mesh: Mesh,
  neutral: Float64Array,
  tree: Bvh,
  before: Levels | undefined,
  tick: () => void,
): FoundPlaces {
  const p = mesh.positions;
  const vertices = Array.from({ length: p.length / 3 }, (_, v) => vertexPlace(v));
  const ofSide = (side: 1 | -1): Place[] => vertices.filter((_, v) => side * neutral[v * 3 + 1] > 0);
  const sides = [
    { side: 1, places: ofSide(1) },
    { side: -1, places: ofSide(-1) },
  ] as const;
  const pieces = middlePieces(mesh);
  const middle = pieces.map(([a]) => a);
  const places: Record<string, Place> = {};
  const softly: Record<string, Place> = {};
  const levels: Record<string, number> = {};
  let glabella: Vec3 = [0, 0, 0];
  const seek = (name: string, { window, score }: Extreme, candidates: readonly Place[], side: 1 | -1): void => {
    tick();
    const [x0, x1, z0, z1] = window;
    const within = candidates.filter((place) => {
      const [x, , z] = pointOf(neutral, place);
      return x >= x0 && x <= x1 && z >= z0 && z <= z1;
    });
    if (within.length === 0) return;
    const scores = within.map((place) => {
      const [x, y, z] = pointOf(p, place);
      return score([x, side * y, z], glabella);
    });
    let best = 0;
    scores.forEach((one, i) => {
      if (one > scores[best]) best = i;
    });
    places[name] = within[best];
    softly[name] = flattened(within, softPlace([...within.keys()], scores, SPREAD_SOFT_MM));
  };
  for (const [name, extreme] of Object.entries(EXTREMES)) {
    if (!extreme.isMiddle) {
      for (const { side, places: own } of sides) {
        seek(side === 1 ? name : name.replace('-left', '-right'), extreme, own, side);
      }
      continue;
    }
    // The highest point of a head (ISO 7250-1) may lie beside its middle.
    seek(name, extreme, name === 'top' ? vertices : middle, 1);
    const { metFrom } = extreme;
    if (metFrom !== undefined && places[name] !== undefined) {
      const axis = metFrom === 'above' ? 0 : 2;
      const found = levelOf(p, neutral, middle, extreme, glabella, axis);
      const level = before?.[name] === undefined ? found : before[name] + LEVEL_SHARE * (found - before[name]);
      levels[name] = level;
      const place = outermost(p, pieces, axis, level, metFrom === 'back' ? -1 : 1);
      if (place !== undefined) softly[name] = places[name] = place;
    }
    if (name === 'glabella' && places[name] !== undefined) glabella = pointOf(p, places[name]);
  }
  const brow = outermost(p, pieces, 2, glabella[2] + BROW_ABOVE_MM, 1);
  if (brow !== undefined && places['glabella'] !== undefined) places['brow'] = brow;
  // By the form's frame the tragions lie at x = 0, z = 0.
  const hit: RayHit = { face: -1, t: 0 };
  for (const [name, side] of [['tragion-left', 1] as const, ['tragion-right', -1] as const]) {
    if (!castRay(tree, 0, side * FAR_MM, 0, 0, -side, 0, hit)) continue;
    places[name] = placeOn(p, mesh.triangles, hit.face, [0, side * (FAR_MM - hit.t), 0]);
  }
  return { places, softly, levels };
}

const vertexPlace = (v: number): Place => ({ vertices: [v], shares: [1] });

/** Many places, each with its share, as one of vertices. */
const flattened = (of: readonly Place[], { vertices, shares }: Place): Place => ({
  vertices: vertices.flatMap((i) => [...of[i].vertices]),
  shares: vertices.flatMap((i, k) => of[i].shares.map((one) => one * shares[k])),
});

/** Where along `axis` an extreme lies, those nearly as extreme counting almost as much. */
function levelOf(
  p: Float64Array,
  neutral: Float64Array,
  middle: readonly Place[],
  { window: [x0, x1, z0, z1], score }: Extreme,
  glabella: Vec3,
  axis: 0 | 2,
): number {
  const within = middle.filter((place) => {
    const [x, , z] = pointOf(neutral, place);
    return x >= x0 && x <= x1 && z >= z0 && z <= z1;
  });
  const scores = within.map((place) => score(pointOf(p, place), glabella));
  const { shares } = softPlace([...within.keys()], scores, LEVEL_SOFT_MM);
  return within.reduce((sum, place, i) => sum + shares[i] * pointOf(p, place)[axis], 0);
}
