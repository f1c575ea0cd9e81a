/** How-to pictures of measures and landmarks, as lines for screen and paper alike. */
import { landmarkKind, measureKind, splitSide } from './index.ts';
import { pointsOf, VIEWS, type Line, type Point, type View } from './outlines.ts';

/** Lines in a box of 100 by 100, y downward; each line is x, y pairs. */
export interface MeasurePicture {
  readonly outline: readonly (readonly number[])[];
  /** The tape or calliper, or a landmark's cross. */
  readonly mark: readonly (readonly number[])[];
}

/** Where landmarks lie in the view that shows them best. A head's front is seen as one faces it: its left is on the right. */
const PLACES: Readonly<Record<string, readonly [View, number, number]>> = {
  'tragion-left': ['head front', 85, 51],
  'tragion-right': ['head front', 15, 51],
  'orbitale-left': ['head front', 65, 52],
  'orbitale-right': ['head front', 35, 52],
  glabella: ['head side', 18, 38],
  brow: ['head side', 19, 33],
  opisthocranion: ['head side', 92, 43],
  vertex: ['head side', 54, 7],
  'euryon-left': ['head front', 83, 32],
  'euryon-right': ['head front', 17, 32],
  'zygion-left': ['head front', 82, 57],
  'zygion-right': ['head front', 18, 57],
  sellion: ['head side', 20, 45],
  pronasale: ['head side', 9, 56],
  pogonion: ['head side', 14, 75],
  menton: ['head side', 26, 82],
  submandibular: ['head side', 40, 81],
  'pupil-left': ['head front', 65, 48],
  'pupil-right': ['head front', 35, 48],
  'neck-front': ['head side', 42, 92],
  'neck-back': ['head side', 64, 90],
  'stylion-radiale': ['arm', 42, 66],
  'stylion-ulnare': ['arm', 56, 66],
  'epicondyle-outer': ['arm', 37, 23],
  'epicondyle-inner': ['arm', 62, 23],
  olecranon: ['arm bent', 92, 70],
  'forearm-front': ['arm', 50, 34],
  'forearm-back': ['arm bent', 70, 76],
  'upperarm-front': ['arm', 50, 9],
  'upperarm-back': ['arm bent', 91, 22],
  'wrist-crease': ['hand', 50, 86],
  dactylion: ['hand', 45, 7],
  'knuckle-index': ['hand', 29, 47],
  'knuckle-little': ['hand', 70, 50],
  suprasternale: ['torso front', 50, 20],
  cervicale: ['torso back', 50, 14],
  xiphion: ['torso front', 50, 58],
  midback: ['torso back', 50, 58],
  'acromion-left': ['torso front', 84, 26],
  'acromion-right': ['torso front', 16, 26],
  'deltoid-left': ['torso front', 94, 46],
  'deltoid-right': ['torso front', 6, 46],
  'neck-side-left': ['torso front', 63, 17],
  'neck-side-right': ['torso front', 37, 17],
  'armpit-front-left': ['torso front', 78, 42],
  'armpit-front-right': ['torso front', 22, 42],
  'armpit-back-left': ['torso back', 22, 42],
  'armpit-back-right': ['torso back', 78, 42],
  'chest-front': ['torso side', 19, 46],
  'chest-back': ['torso side', 77, 46],
  'chest-side-left': ['torso front', 76, 49],
  'chest-side-right': ['torso front', 24, 49],
  'waist-front': ['torso side', 28, 74],
  'waist-back': ['torso side', 67, 74],
  'malleolus-outer': ['leg front', 41, 85],
  'malleolus-inner': ['leg front', 58, 84],
  'knee-outer': ['leg front', 35, 32],
  'knee-inner': ['leg front', 64, 32],
  patella: ['leg side', 31, 31],
  'knee-back': ['leg side', 61, 33],
  'calf-front': ['leg side', 37, 49],
  'calf-back': ['leg side', 66, 49],
  'ankle-front': ['leg side', 43, 77],
  'ankle-back': ['leg side', 57, 77],
  'thigh-front': ['leg side', 32, 10],
  'thigh-back': ['leg side', 67, 10],
  heel: ['foot top', 47, 99],
  'heel-under': ['foot side', 89, 84],
  'instep-fold': ['foot side', 48, 43],
  'toe-tip': ['foot top', 41, 7],
  'ball-inner': ['foot top', 30, 32],
  'ball-outer': ['foot top', 73, 40],
  'ball-top': ['foot side', 20, 67],
};

/** Measures whose landmarks no one view shows: where the calliper or tape is seen. Of a girth, its two edges. */
const SEEN: Readonly<Record<string, readonly [View, string]>> = {
  'tragion to vertex': ['head side', '52,51 54,7'],
  'bitragion coronal arc': ['head front', '15,51 16,34 22,19 34,9 50,6 66,9 78,19 84,34 85,51'],
  'bitragion chin arc': ['head front', '15,51 20,63 28,73 39,80 50,82 61,80 72,73 80,63 85,51'],
  'bitragion submandibular arc': ['head side', '52,51 50,62 46,73 40,81'],
  'wrist breadth': ['hand', '37,88 62,88'],
  'wrist circumference': ['hand', '37,89 62,89'],
  'forearm circumference': ['arm', '34,34 65,34'],
  'upper arm circumference': ['arm', '34,9 65,9'],
  'elbow to wrist length': ['arm bent', '92,70 27,71'],
  'neck base circumference': ['torso side', '34,20 63,15'],
  'front waist length': ['torso side', '34,20 27,30 20,42 20,50 25,60 28,74'],
  'back waist length': ['torso back', '50,14 50,44 50,74'],
  'armhole circumference left': ['torso front', '80,23 78,43'],
  'armhole circumference right': ['torso front', '20,23 22,43'],
  'breastbone length': ['torso front', '50,20 50,58'],
  'shin length': ['leg front', '64,32 58,84'],
  'ball of foot circumference': ['foot top', '30,32 73,40'],
};

/** Points between two given ones. */
const SMOOTHNESS = 6;

/** Catmull-Rom through the points. */
function smooth({ points, isClosed = false }: Line): number[] {
  const n = points.length;
  const at = (i: number): Point => points[isClosed ? (i + n) % n : Math.min(n - 1, Math.max(0, i))];
  const flat: number[] = [];
  const last = isClosed ? n : n - 1;
  for (let i = 0; i < last; i++) {
    const [a, b, c, d] = [at(i - 1), at(i), at(i + 1), at(i + 2)];
    for (let step = 0; step < SMOOTHNESS; step++) {
      const t = step / SMOOTHNESS;
      for (const k of [0, 1] as const) {
        const slope = (c[k] - a[k]) / 2;
        const next = (d[k] - b[k]) / 2;
        const x =
          (2 * t ** 3 - 3 * t * t + 1) * b[k] +
          (t ** 3 - 2 * t * t + t) * slope +
          (3 * t * t - 2 * t ** 3) * c[k] +
          (t ** 3 - t * t) * next;
        flat.push(Math.round(x * 10) / 10);
      }
    }
  }
  flat.push(...at(last));
  return flat;
}

const outlineOf = (view: View): number[][] => VIEWS[view].map(smooth);

/** Half length of a calliper's jaw, and of a landmark's cross. */
const JAW = 5;
const CROSS = 6;
const DOT = 2;

/** A straight line with a jaw at each end. */
function calliper(a: Point, b: Point): number[][] {
  const far = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const [ux, uy] = [(b[0] - a[0]) / far, (b[1] - a[1]) / far];
  const jaw = ([x, y]: Point): number[] => [x - JAW * uy, y + JAW * ux, x + JAW * uy, y - JAW * ux];
  return [[...a, ...b], jaw(a), jaw(b)];
}

/** How round a tape looks, seen a little from above; and the dashes of the half that lies behind. */
const BOW = 0.13;
const HALF_POINTS = 16;

/** A tape round the body between its two edges: the near half whole, the far half in dashes. */
function round(a: Point, b: Point): number[][] {
  const [mx, my] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const [hx, hy] = [(b[0] - a[0]) / 2, (b[1] - a[1]) / 2];
  // Downward across the line, or to the left of an upright one.
  const side = hx < 0 ? -1 : 1;
  const at = (turn: number): Point => [
    mx - hx * Math.cos(turn) - side * 2 * BOW * hy * Math.sin(turn),
    my - hy * Math.cos(turn) + side * 2 * BOW * hx * Math.sin(turn),
  ];
  const turn = (i: number): number => (Math.PI * i) / HALF_POINTS;
  const near = Array.from({ length: HALF_POINTS + 1 }, (_, i) => at(turn(i))).flat();
  const far = Array.from({ length: HALF_POINTS / 2 }, (_, i) => [...at(-turn(2 * i + 0.5)), ...at(-turn(2 * i + 1.5))]);
  return [near, ...far];
}

function dot([x, y]: Point): number[] {
  return [x - DOT, y, x, y - DOT, x + DOT, y, x, y + DOT, x - DOT, y];
}

/** Where a measure is seen: by the table, or by its landmarks where one view shows them all. */
function seenOf(name: string): readonly [View, readonly Point[]] | undefined {
  const seen = SEEN[name];
  if (seen !== undefined) return [seen[0], pointsOf(seen[1])];
  const places = (measureKind(name)?.landmarks ?? []).map((landmark) => PLACES[landmark]);
  const [first] = places;
  if (first === undefined || places.some((place) => place?.[0] !== first[0])) return undefined;
  return [first[0], places.map(([, x, y]): Point => [x, y])];
}

/** How a measure is taken; undefined for one of the maker's own naming. */
export function measurePicture(name: string): MeasurePicture | undefined {
  const plain = splitSide(name).name;
  const seen = seenOf(plain);
  const kind = measureKind(plain)?.kind;
  if (seen === undefined || kind === undefined) return undefined;
  const [view, points] = seen;
  const [a, b] = [points[0], points[points.length - 1]];
  const mark = kind === 'span' ? calliper(a, b) : kind === 'girth' ? round(a, b) : [smooth({ points }), dot(a), dot(b)];
  return { outline: outlineOf(view), mark };
}

/** Where a landmark lies; undefined for one of the maker's own naming. */
export function landmarkPicture(name: string): MeasurePicture | undefined {
  const place = PLACES[name];
  if (place === undefined || landmarkKind(name) === undefined) return undefined;
  const [view, x, y] = place;
  return {
    outline: outlineOf(view),
    mark: [dot([x, y]), [x - CROSS, y, x + CROSS, y], [x, y - CROSS, x, y + CROSS]],
  };
}
