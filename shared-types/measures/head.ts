/**
 * The head: landmarks after ISO 7250-1, spans and tapes for helmets, masks and hats. Left and right are the wearer's own.
 */
import { measured, pair, surveyed, type BodyRegion, type LandmarkKind } from './kinds.ts';

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
  { name: 'pogonion', title: 'Pogonion', where: 'The most forward point of the chin, on the middle line.' },
  { name: 'menton', title: 'Menton', where: 'The lowest point of the chin, on the middle line.' },
  {
    name: 'submandibular',
    title: 'Under the jaw',
    where: 'On the middle line, where the underside of the chin meets the neck.',
  },
  ...pair('pupil', 'Pupil', 'The middle of the pupil, looking straight into the distance.'),
  {
    name: 'neck-front',
    title: 'Neck, front',
    where: 'On the middle line just below the larynx, where the tape of the neck lies.',
  },
  { name: 'neck-back', title: 'Neck, back', where: 'On the middle line of the nape, level with the mark in front.' },
];

const spreading = 'spreading calliper';

export const HEAD_MEASURES = measured([
  {
    name: 'head length',
    kind: 'span',
    landmarks: ['glabella', 'opisthocranion'],
    how: 'One tip between the brows, the other wherever the back of the head is farthest, both on the middle line.',
    instrument: spreading,
    sure: 'headSpan',
    range: surveyed('head length'),
  },
  {
    name: 'head breadth',
    kind: 'span',
    landmarks: ['euryon-left', 'euryon-right'],
    how: 'Square to the middle line, where the head is widest above the ears.',
    instrument: spreading,
    sure: 'headSpan',
    range: surveyed('head breadth'),
  },
  {
    name: 'bitragion breadth',
    kind: 'span',
    landmarks: ['tragion-left', 'tragion-right'],
    how: 'From notch to notch in front of the ears, touching without pressing.',
    instrument: spreading,
    sure: 'headSpan',
  },
  {
    name: 'bizygomatic breadth',
    kind: 'span',
    landmarks: ['zygion-left', 'zygion-right'],
    how: 'The greatest breadth across the cheek arches.',
    instrument: spreading,
    sure: 'headSpan',
    range: surveyed('bizygomatic breadth'),
  },
  {
    name: 'face length',
    kind: 'span',
    landmarks: ['sellion', 'menton'],
    how: 'From the deepest point of the root of the nose to under the chin, mouth closed.',
    instrument: 'sliding calliper',
    sure: 'headSpan',
    range: surveyed('face length'),
  },
  {
    name: 'tragion to vertex',
    kind: 'span',
    landmarks: ['tragion-left', 'vertex'],
    how: 'Straight from the notch of the left ear to the highest point of the head.',
    instrument: spreading,
    sure: 'headSpan',
  },
  {
    name: 'head circumference',
    kind: 'girth',
    landmarks: ['brow', 'opisthocranion'],
    how: 'Tape just above the brow ridges and round the farthest point at the back, snug, clear of the ears.',
    instrument: 'tape',
    sure: 'headGirth',
    range: surveyed('head circumference'),
  },
  {
    name: 'bitragion coronal arc',
    kind: 'arc',
    landmarks: ['tragion-left', 'vertex', 'tragion-right'],
    how: 'Tape from the notch of one ear over the highest point of the head to the other notch.',
    instrument: 'tape',
    sure: 'headArc',
  },
  {
    name: 'bitragion chin arc',
    kind: 'arc',
    landmarks: ['tragion-left', 'pogonion', 'tragion-right'],
    how: 'Tape from the notch of one ear over the foremost point of the chin to the other notch, mouth closed.',
    instrument: 'tape',
    sure: 'headArc',
    range: surveyed('bitragion chin arc'),
  },
  {
    name: 'bitragion submandibular arc',
    kind: 'arc',
    landmarks: ['tragion-left', 'submandibular', 'tragion-right'],
    how: 'Tape from the notch of one ear under the jaw, where it meets the neck, to the other notch.',
    instrument: 'tape',
    sure: 'headArc',
    range: surveyed('bitragion submandibular arc'),
  },
  {
    name: 'interpupillary breadth',
    kind: 'span',
    landmarks: ['pupil-left', 'pupil-right'],
    how: 'From pupil to pupil, the wearer looking past you into the distance; hold the rule before the eyes, touch nothing.',
    instrument: 'rule',
    sure: 'headSpan',
    range: surveyed('interpupillary breadth'),
  },
  {
    name: 'neck circumference',
    kind: 'girth',
    landmarks: ['neck-front', 'neck-back'],
    how: 'Tape just below the larynx, square to the neck, touching without pressing, looking straight ahead.',
    instrument: 'tape',
    sure: 'limbGirth',
    range: surveyed('neck circumference'),
  },
]);

export const HEAD: BodyRegion = {
  name: 'head',
  title: 'Head',
  standing: 'head',
  isPaired: false,
  frame: ['tragion-left', 'tragion-right', 'orbitale-left'],
  landmarks: HEAD_LANDMARKS,
  measures: HEAD_MEASURES,
};
