/**
 * First places for the landmarks of a limb or a torso that nobody has marked: by a guess of how it stands, by where it is
 * thinnest, thickest and ends, and for the rest by proportion (own rough proportions, no source). A person has to look
 * at each: on invented bodies they lie within a few centimetres (test/geometry/register/propose-body.test.ts), which
 * is enough to begin from, and far from enough to measure by.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { invert, transformMesh, transformPoint } from '../mesh/transform.ts';
import { buildBvh, castRay, type Bvh, type RayHit } from '../spatial/bvh.ts';
import type { FoundLandmark } from './find-landmarks.ts';
import { guessLimb, guessTorso } from './stand-body.ts';

export type ProposedRegion = 'arm' | 'leg' | 'torso';

/** Level slices of a body that stands. */
const SLICES = 60;
const TICK_VERTICES = 20_000;

interface Slice {
  readonly z: number;
  readonly centre: Vec3;
  /** Extents. */
  readonly low: Vec3;
  readonly high: Vec3;
}

/** A body standing by a guess, with its slices and a way to reach its skin from inside. */
class Body {
  readonly slices: readonly Slice[];
  readonly bottom: number;
  readonly top: number;
  readonly #tree: Bvh;
  readonly #hit: RayHit = { face: -1, t: 0 };

  constructor(mesh: Mesh, tick?: () => void) {
    const { positions: p } = mesh;
    this.#tree = buildBvh(mesh, tick);
    let [bottom, top] = [Infinity, -Infinity];
    for (let i = 2; i < p.length; i += 3) {
      bottom = Math.min(bottom, p[i]);
      top = Math.max(top, p[i]);
    }
    [this.bottom, this.top] = [bottom, top];
    const low = Array.from({ length: SLICES }, () => [Infinity, Infinity, Infinity]);
    const high = Array.from({ length: SLICES }, () => [-Infinity, -Infinity, -Infinity]);
    for (let i = 0; i < p.length; i += 3) {
      if (i % TICK_VERTICES === 0) tick?.();
      const at = Math.min(SLICES - 1, Math.floor((SLICES * (p[i + 2] - bottom)) / (top - bottom)));
      for (let k = 0; k < 3; k++) {
        low[at][k] = Math.min(low[at][k], p[i + k]);
        high[at][k] = Math.max(high[at][k], p[i + k]);
      }
    }
    this.slices = low.flatMap((least, at) => {
      if (!(high[at][0] > least[0])) return [];
      const middle = [0, 1].map((k) => (least[k] + high[at][k]) / 2);
      const z = bottom + ((at + 0.5) * (top - bottom)) / SLICES;
      return [{ z, centre: [middle[0], middle[1], z], low: least, high: high[at] } as unknown as Slice];
    });
  }

  between(from: number, to: number): readonly Slice[] {
    return this.slices.filter(({ z }) => z >= from && z <= to);
  }

  /** The skin first met from the middle of the body at this height; undefined where there is none. */
  skin(z: number, way: Vec3, from?: Vec3): Vec3 | undefined {
    const nearest = this.slices.reduce((best, slice) => (Math.abs(slice.z - z) < Math.abs(best.z - z) ? slice : best));
    const [x, y, h] = from ?? [nearest.centre[0], nearest.centre[1], z];
    if (!castRay(this.#tree, x, y, h, ...way, this.#hit)) return undefined;
    const { t } = this.#hit;
    return [x + t * way[0], y + t * way[1], h + t * way[2]];
  }
}

const FRONT: Vec3 = [1, 0, 0];
const BACK: Vec3 = [-1, 0, 0];
const LEFT: Vec3 = [0, 1, 0];
const RIGHT: Vec3 = [0, -1, 0];
const DOWN: Vec3 = [0, 0, -1];

const girthOf = ({ low, high }: Slice): number => high[0] - low[0] + high[1] - low[1];
const mostBy = (slices: readonly Slice[], score: (slice: Slice) => number): Slice | undefined =>
  slices.reduce<Slice | undefined>(
    (best, slice) => (best === undefined || score(slice) > score(best) ? slice : best),
    undefined,
  );

type Places = Record<string, Vec3 | undefined>;

/** Of the hand's length: where its knuckles lie, and how much longer a forearm is (own rough proportions). */
const KNUCKLES = 0.58;
const FOREARM = 1.3;

/** Thumb ahead, so that the palm of a right hand looks to the left. */
function armPlaces(body: Body, side: 'left' | 'right'): Places {
  const [palm, back] = side === 'right' ? [LEFT, RIGHT] : [RIGHT, LEFT];
  const hand = -body.bottom;
  const elbow = FOREARM * hand;
  const thickest = mostBy(body.between(0.4 * elbow, 0.85 * elbow), girthOf);
  const hasElbow = elbow < body.top - 0.02 * (body.top - body.bottom);
  const tip = body.slices[0];
  return {
    'stylion-radiale': body.skin(0, FRONT),
    'stylion-ulnare': body.skin(0, BACK),
    'wrist-crease': body.skin(0, palm),
    dactylion: body.skin(tip.z, DOWN),
    'knuckle-index': body.skin(-KNUCKLES * hand, FRONT),
    'knuckle-little': body.skin(-KNUCKLES * hand, BACK),
    ...(thickest === undefined
      ? {}
      : { 'forearm-front': body.skin(thickest.z, palm), 'forearm-back': body.skin(thickest.z, back) }),
    ...(hasElbow
      ? {
          'epicondyle-outer': body.skin(elbow, FRONT),
          'epicondyle-inner': body.skin(elbow, BACK),
          olecranon: body.skin(elbow, back),
        }
      : {}),
  };
}

/** Shares of the foot's height (ground to thinnest ankle) at the ankle bones; of the foot's length up to the knee. */
const ANKLE_BONES = 0.55;
const KNEE = 1.85;

/** Toes ahead; the outer side of a right leg looks to the right. */
function legPlaces(body: Body, side: 'left' | 'right'): Places {
  const [outer, inner] = side === 'right' ? [RIGHT, LEFT] : [LEFT, RIGHT];
  const foot = body.between(body.bottom, body.bottom * 0.4);
  const toes = mostBy(foot, ({ high }) => high[0]);
  const heel = mostBy(foot, ({ low }) => -low[0]);
  if (toes === undefined || heel === undefined) return {};
  const knee = body.bottom + KNEE * (toes.high[0] - heel.low[0]);
  const calf = mostBy(body.between(0.3 * knee, 0.9 * knee), girthOf);
  const bones = body.bottom * (1 - ANKLE_BONES);
  // From over the ankle, not from the middle of the foot.
  const over = (z: number): Vec3 => [0, 0, z];
  return {
    'toe-tip': body.skin(toes.z, FRONT),
    heel: body.skin(heel.z, BACK),
    'ankle-front': body.skin(0, FRONT),
    'ankle-back': body.skin(0, BACK),
    'malleolus-outer': body.skin(bones, outer, over(bones)),
    'malleolus-inner': body.skin(bones, inner, over(bones)),
    ...(calf === undefined ? {} : { 'calf-front': body.skin(calf.z, FRONT), 'calf-back': body.skin(calf.z, BACK) }),
    ...(knee < body.top
      ? {
          patella: body.skin(knee, FRONT),
          'knee-back': body.skin(knee, BACK),
          'knee-outer': body.skin(knee, outer),
          'knee-inner': body.skin(knee, inner),
        }
      : {}),
  };
}

/** A torso is this much broader than its neck where the shoulders begin. */
const SHOULDERS = 1.35;
/** Shares of the height from the neck's foot to the lowest slice. */
const PIT = 0.07;
const CHEST_FROM = 0.25;
const CHEST_TO = 0.55;
/** Lower, a filled cut rounds off. */
const WAIST_TO = 0.93;
/** The breastbone ends this share of the way from the fullest chest to the waist. */
const BREASTBONE_END = 0.25;
/** Of the half breadth over the shoulders: where their bones lie. */
const SHOULDER_BONE = 0.8;

function torsoPlaces(body: Body): Places {
  const fromTop = body.slices.toReversed();
  const neck = fromTop[Math.floor(SLICES / 20)];
  if (neck === undefined) return {};
  const breadth = ({ low, high }: Slice): number => high[1] - low[1];
  const foot = fromTop.find((slice) => breadth(slice) > SHOULDERS * breadth(neck))?.z ?? body.top;
  const trunk = foot - body.bottom;
  const level = (share: number): number => foot - share * trunk;
  const chest = mostBy(body.between(level(CHEST_TO), level(CHEST_FROM)), ({ low, high }) => high[0] - low[0]);
  if (chest === undefined) return {};
  const waist = mostBy(body.between(level(WAIST_TO), chest.z), (slice) => -breadth(slice));
  const shoulders = mostBy(body.between(chest.z, foot), breadth);
  if (waist === undefined || shoulders === undefined) return {};
  const end = chest.z + BREASTBONE_END * (waist.z - chest.z);
  const sides = (name: string, place: (way: 1 | -1) => Vec3 | undefined): Places => ({
    [`${name}-left`]: place(1),
    [`${name}-right`]: place(-1),
  });
  const shoulderBone = (way: 1 | -1): Vec3 => {
    const [x, y] = shoulders.centre;
    return [x, y + (way * SHOULDER_BONE * breadth(shoulders)) / 2, body.top + trunk];
  };
  return {
    suprasternale: body.skin(level(PIT), FRONT),
    cervicale: body.skin(foot, BACK),
    xiphion: body.skin(end, FRONT),
    midback: body.skin(end, BACK),
    'chest-front': body.skin(chest.z, FRONT),
    'chest-back': body.skin(chest.z, BACK),
    'waist-front': body.skin(waist.z, FRONT),
    'waist-back': body.skin(waist.z, BACK),
    ...sides('chest-side', (way) => body.skin(chest.z, way > 0 ? LEFT : RIGHT)),
    ...sides('neck-side', (way) => body.skin(foot, way > 0 ? LEFT : RIGHT)),
    ...sides('acromion', (way) => body.skin(0, DOWN, shoulderBone(way))),
    ...sides('deltoid', (way) => body.skin(shoulders.z, way > 0 ? LEFT : RIGHT)),
  };
}

/** A limb's facing is told by thumb or toes, a torso's by the lean of its neck alone. */
const CONFIDENCE: Readonly<Record<ProposedRegion, number>> = { arm: 0.35, leg: 0.35, torso: 0.3 };

/**
 * Places for the landmarks of a region, on the surface and in the mesh's own coordinates; none where the body cannot
 * be made out. `side` is the limb's own. `tick` is called every few milliseconds. O(faces log faces).
 */
export function proposeBody(
  mesh: Mesh,
  region: ProposedRegion,
  side: 'left' | 'right',
  tick?: () => void,
): FoundLandmark[] {
  const stood = region === 'torso' ? guessTorso(mesh, tick) : guessLimb(mesh, tick);
  if (stood === undefined) return [];
  const body = new Body(transformMesh(stood.matrix, mesh), tick);
  if (!(body.top > body.bottom)) return [];
  const places =
    region === 'arm' ? armPlaces(body, side) : region === 'leg' ? legPlaces(body, side) : torsoPlaces(body);
  const back = invert(stood.matrix);
  return Object.entries(places).flatMap(([name, place]) =>
    place === undefined ? [] : [{ name, point: transformPoint(back, place), confidence: CONFIDENCE[region] }],
  );
}
