/** The measures of a bent head, each with how it changes when the skin moves: what the bending is solved by. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { arcThrough } from '../measure/arc.ts';
import { planeThrough, tapeGirth } from '../measure/girth.ts';
import { SignedField } from '../offset/signed-field.ts';
import { findNearest, nearestSlot } from '../spatial/bvh.ts';
import type { Pulls } from './bend.ts';
import { placeOn, pointOf, type FoundPlaces, type Place } from './head-places.ts';

/** How a measure of the head is taken, between or through landmarks. */
export interface HeadMeasure {
  readonly name: string;
  readonly kind: 'span' | 'girth' | 'arc' | 'breadth' | 'height';
  readonly landmarks: readonly string[];
}

/** Breadths are square to the mirror plane, heights square to the level plane, spans straight. */
export const HEAD_FIGURE_MEASURES: readonly HeadMeasure[] = [
  { name: 'head length', kind: 'span', landmarks: ['glabella', 'opisthocranion'] },
  { name: 'head breadth', kind: 'breadth', landmarks: ['euryon-left', 'euryon-right'] },
  { name: 'head circumference', kind: 'girth', landmarks: ['brow', 'opisthocranion'] },
  { name: 'bizygomatic breadth', kind: 'breadth', landmarks: ['zygion-left', 'zygion-right'] },
  { name: 'bitragion breadth', kind: 'breadth', landmarks: ['tragion-left', 'tragion-right'] },
  { name: 'tragion to top of head', kind: 'height', landmarks: ['tragion-left', 'top'] },
  { name: 'tragion to vertex', kind: 'span', landmarks: ['tragion-left', 'vertex'] },
  { name: 'face length', kind: 'span', landmarks: ['sellion', 'menton'] },
  { name: 'bitragion coronal arc', kind: 'arc', landmarks: ['tragion-left', 'vertex', 'tragion-right'] },
  { name: 'bitragion chin arc', kind: 'arc', landmarks: ['tragion-left', 'pogonion', 'tragion-right'] },
  { name: 'bitragion submandibular arc', kind: 'arc', landmarks: ['tragion-left', 'submandibular', 'tragion-right'] },
  { name: 'neck circumference', kind: 'girth', landmarks: ['neck-front', 'neck-back'] },
  { name: 'interpupillary breadth', kind: 'breadth', landmarks: ['pupil-left', 'pupil-right'] },
];

export interface Taken {
  readonly lengthMm: number;
  /** Change of the length for a displacement of the skin, at points of the neutral head. */
  readonly pulls: Pulls;
  /** What the bending so far has added to it, to first order: the pulls times the displacement there is. */
  readonly bentMm: number;
  /** The tape or calliper line on the bent head, xyz triples; a girth closes. */
  readonly line: Float64Array;
}

/** Points of a tape nearer than this to the one before are taken together, mm: the bending is far smoother. */
const TOGETHER_MM = 8;

/** Of a body only part of which follows the bending: 1 for the vertices that do, and where it has brought them. */
export interface PartlyBent {
  readonly follows: Uint8Array;
  readonly bent: Float64Array;
}

/** Takes measures on one bent head, making what several need only once. */
export class HeadTape {
  readonly mesh: Mesh;
  readonly places: Readonly<Record<string, Place>>;
  readonly #softly: Readonly<Record<string, Place>>;
  readonly #neutral: Float64Array;
  readonly #part: PartlyBent | undefined;
  readonly #tick: (() => void) | undefined;
  #body: SignedField | undefined;

  /** `neutral`: a mesh whose vertices are where those of the bent head, `positions`, lie on the neutral head. */
  constructor(neutral: Mesh, found: FoundPlaces, positions: Float64Array, tick?: () => void, part?: PartlyBent) {
    this.#neutral = neutral.positions;
    this.#part = part;
    this.#tick = tick;
    this.#softly = found.softly;
    this.mesh = { positions, triangles: neutral.triangles };
    this.places = found.places;
  }

  point(landmark: string): Vec3 {
    return pointOf(this.mesh.positions, this.places[landmark]);
  }

  /** Undefined where the tape cannot be laid. A taut arc costs a tenth of a second or two, the rest next to nothing. */
  take({ kind, landmarks }: HeadMeasure): Taken | undefined {
    if (kind === 'girth') return this.#girth(landmarks);
    if (kind === 'arc') return this.#arc(landmarks);
    const [a, b] = landmarks.map((name) => this.point(name));
    const way = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
    if (kind !== 'span') for (let k = 0; k < 3; k++) if (k !== (kind === 'breadth' ? 1 : 2)) way[k] = 0;
    const lengthMm = Math.hypot(...way);
    if (!(lengthMm > 0)) return undefined;
    const pull = way.map((x) => x / lengthMm);
    const pulled = this.#pulled([
      [this.#moves(landmarks[0]), pull.map((x) => -x)],
      [this.#moves(landmarks[1]), pull],
    ]);
    return { lengthMm, ...pulled, line: Float64Array.from([...a, ...b]) };
  }

  #moves(landmark: string): Place {
    return this.#softly[landmark] ?? this.places[landmark];
  }

  /** How far one coordinate of a landmark is from 0, as if it were a measure: holds the head in its frame. */
  coordinate(landmark: string, axis: 0 | 2): Taken {
    const place = this.places[landmark];
    const way = axis === 0 ? [1, 0, 0] : [0, 0, 1];
    return {
      lengthMm: this.point(landmark)[axis],
      ...this.#pulled([[place, way]]),
      line: new Float64Array(0),
    };
  }

  #girth([front, back]: readonly string[]): Taken | undefined {
    const [a, b] = [this.point(front), this.point(back)];
    const plane = planeThrough(a, [a[0], 1, a[2]], b);
    const girth = plane === undefined ? undefined : tapeGirth(this.mesh, plane, [a, b], this.#tick);
    if (girth === undefined) return undefined;
    return { lengthMm: girth.length, ...this.#pulledAlong(girth.tape, true), line: girth.tape };
  }

  #arc(landmarks: readonly string[]): Taken | undefined {
    const arc = arcThrough(
      this.mesh,
      landmarks.map((name) => this.point(name)),
      this.#bodyOf(),
      this.#tick,
    );
    if (arc === undefined) return undefined;
    return { lengthMm: arc.length, ...this.#pulledAlong(arc.points, false), line: arc.points };
  }

  #bodyOf(): SignedField {
    return (this.#body ??= new SignedField(this.mesh, this.#tick));
  }

  #pulled(gradients: readonly (readonly [Place, readonly number[]])[]): Pick<Taken, 'pulls' | 'bentMm'> {
    const pulls: number[] = [];
    let bentMm = 0;
    const bent = this.#part?.bent ?? this.mesh.positions;
    for (const [whole, fully] of gradients.flatMap(([place, gradient]) => apart(place, gradient))) {
      const [place, gradient] = this.#part === undefined ? [whole, fully] : following(this.#part, whole, fully);
      if (place.vertices.length === 0) continue;
      const from = pointOf(this.#neutral, place);
      const to = pointOf(bent, place);
      pulls.push(...from, ...gradient);
      for (let k = 0; k < 3; k++) bentMm += gradient[k] * (to[k] - from[k]);
    }
    return { pulls: Float64Array.from(pulls), bentMm };
  }

  /**
   * The gradient of a tape's length is, at each point, the unit vector from the one before plus that from the one
   * after; where the tape runs straight it is nothing, so that a taut tape pulls only where it touches.
   */
  #pulledAlong(tape: Float64Array, isClosed: boolean): Pick<Taken, 'pulls' | 'bentMm'> {
    const { positions, triangles } = this.mesh;
    const tree = this.#bodyOf().tree;
    const slot = nearestSlot();
    const count = tape.length / 3;
    const gradients: [Place, number[]][] = [];
    let sum = [0, 0, 0];
    let gathered = 0;
    for (let i = 0; i < count; i++) {
      for (const step of [-1, 1]) {
        const j = isClosed ? (i + step + count) % count : i + step;
        if (j < 0 || j >= count) continue;
        const way = [0, 1, 2].map((k) => tape[i * 3 + k] - tape[j * 3 + k]);
        const length = Math.hypot(...way);
        if (length > 0) sum = sum.map((x, k) => x + way[k] / length);
        if (step === 1) gathered += length;
      }
      if (gathered < TOGETHER_MM && i < count - 1 && i > 0) continue;
      const at = i * 3;
      findNearest(tree, tape[at], tape[at + 1], tape[at + 2], slot);
      gradients.push([placeOn(positions, triangles, slot.face, [slot.x, slot.y, slot.z]), sum]);
      sum = [0, 0, 0];
      gathered = 0;
    }
    return this.#pulled(gradients);
  }
}

/** The vertices of a place that follow, and the pull at them: the others stay whatever pulls. */
function following({ follows }: PartlyBent, { vertices, shares }: Place, gradient: readonly number[]) {
  const own = [...vertices.keys()].filter((i) => follows[vertices[i]] === 1);
  const share = own.reduce((sum, i) => sum + shares[i], 0);
  const place: Place =
    share > 0
      ? { vertices: own.map((i) => vertices[i]), shares: own.map((i) => shares[i] / share) }
      : { vertices: [], shares: [] };
  return [place, gradient.map((x) => x * share)] as const;
}

/** Of a face or an edge one pull will do; vertices that lie farther apart are pulled each by its share. */
function apart({ vertices, shares }: Place, gradient: readonly number[]): (readonly [Place, readonly number[]])[] {
  if (vertices.length <= 3) return [[{ vertices, shares }, gradient]];
  return vertices.flatMap((vertex, i) =>
    shares[i] < LEAST_SHARE ? [] : [[{ vertices: [vertex], shares: [1] }, gradient.map((x) => x * shares[i])] as const],
  );
}
const LEAST_SHARE = 0.01;
