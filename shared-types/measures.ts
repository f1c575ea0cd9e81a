/**
 * The landmarks and measures a maker takes, as data: names after ISO 7250-1 and ISO 8559-1, words of our own.
 * Each measure runs between or through landmarks, so that placing the landmarks once finds every measure on the scan.
 */
import { READING_UNCERTAINTY_MM } from './tolerances.ts';

export interface LandmarkKind {
  readonly name: string;
  /** For people. */
  readonly title: string;
  /** Where it lies on a body, in plain words. */
  readonly where: string;
  /** The other side's landmark, if it has one. */
  readonly mirror?: string;
}

export interface MeasureKind {
  readonly name: string;
  readonly kind: 'span' | 'girth' | 'arc';
  /** From and to; or what the tape passes. A girth through two runs level between them, left and right. */
  readonly landmarks: readonly string[];
  /** How it is taken. */
  readonly how: string;
  readonly instrument: string;
  /** Standard uncertainty of one careful reading, mm. */
  readonly uMm: number;
  /** Least and largest of the 2012 survey (NATICK/TR-15/007), men and women together, mm: outside it, look again. */
  readonly seenMm?: readonly [number, number];
}

const pair = (name: string, title: string, where: string): LandmarkKind[] => [
  { name: `${name}-left`, title: `${title}, left`, where, mirror: `${name}-right` },
  { name: `${name}-right`, title: `${title}, right`, where, mirror: `${name}-left` },
];

/** Left and right are the wearer's own. */
export const HEAD_LANDMARKS: readonly LandmarkKind[] = [
  ...pair('tragion', 'Tragion', 'The notch just above the small flap in front of the ear opening.'),
  ...pair('orbitale', 'Orbitale', 'The lowest point of the lower rim of the eye socket; feel for the bone.'),
  { name: 'glabella', title: 'Glabella', where: 'The most forward point between the brow ridges, on the middle line.' },
  {
    name: 'brow',
    title: 'Tape mark on the brow',
    where: 'On the middle line just above the brow ridges, where the tape of the head girth lies.',
  },
  {
    name: 'opisthocranion',
    title: 'Opisthocranion',
    where: 'The point of the back of the head farthest from the glabella, on the middle line.',
  },
  { name: 'vertex', title: 'Vertex', where: 'The highest point of the upright head.' },
  ...pair('euryon', 'Euryon', 'The widest point of the side of the head, above and behind the ear.'),
  ...pair('zygion', 'Zygion', 'The widest point of the cheek arch, in front of the ear.'),
  { name: 'sellion', title: 'Sellion', where: 'The deepest point of the root of the nose.' },
  { name: 'pronasale', title: 'Tip of the nose', where: 'The most forward point of the nose.' },
  { name: 'menton', title: 'Menton', where: 'The lowest point of the chin, on the middle line.' },
];

/** The three that fix the form frame. */
export const FRAME_LANDMARKS = ['tragion-left', 'tragion-right', 'orbitale-left'] as const;

const spreading = 'spreading calliper';
const span = READING_UNCERTAINTY_MM.headSpan;

export const HEAD_MEASURES: readonly MeasureKind[] = [
  {
    name: 'head length',
    kind: 'span',
    landmarks: ['glabella', 'opisthocranion'],
    how: 'One tip between the brows, the other wherever the back of the head is farthest, both on the middle line.',
    instrument: spreading,
    uMm: span,
    seenMm: [168, 225],
  },
  {
    name: 'head breadth',
    kind: 'span',
    landmarks: ['euryon-left', 'euryon-right'],
    how: 'Square to the middle line, where the head is widest above the ears.',
    instrument: spreading,
    uMm: span,
    seenMm: [131, 180],
  },
  {
    name: 'bitragion breadth',
    kind: 'span',
    landmarks: ['tragion-left', 'tragion-right'],
    how: 'From notch to notch in front of the ears, touching without pressing.',
    instrument: spreading,
    uMm: span,
  },
  {
    name: 'bizygomatic breadth',
    kind: 'span',
    landmarks: ['zygion-left', 'zygion-right'],
    how: 'The greatest breadth across the cheek arches.',
    instrument: spreading,
    uMm: span,
  },
  {
    name: 'face length',
    kind: 'span',
    landmarks: ['sellion', 'menton'],
    how: 'From the deepest point of the root of the nose to under the chin, mouth closed.',
    instrument: 'sliding calliper',
    uMm: span,
  },
  {
    name: 'tragion to vertex',
    kind: 'span',
    landmarks: ['tragion-left', 'vertex'],
    how: 'Straight from the notch of the left ear to the highest point of the head.',
    instrument: spreading,
    uMm: span,
  },
  {
    name: 'head circumference',
    kind: 'girth',
    landmarks: ['brow', 'opisthocranion'],
    how: 'Tape just above the brow ridges and round the farthest point at the back, snug, clear of the ears.',
    instrument: 'tape',
    uMm: READING_UNCERTAINTY_MM.headGirth,
    seenMm: [500, 635],
  },
];

export const landmarkKind = (name: string): LandmarkKind | undefined => HEAD_LANDMARKS.find((one) => one.name === name);
export const measureKind = (name: string): MeasureKind | undefined => HEAD_MEASURES.find((one) => one.name === name);
