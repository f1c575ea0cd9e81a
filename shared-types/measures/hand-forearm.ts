/**
 * Hand, forearm and elbow, for gauntlets, bracers and vambraces: terms of ISO 7250-1 and ISO 8559-1 (from memory; the
 * standards were not read). One limb at a time: the names carry no side, the sheet and the ticket add it.
 */
import { judged, measured, surveyed, type BodyRegion, type LandmarkKind } from './kinds.ts';

const ARM_LANDMARKS: readonly LandmarkKind[] = [
  {
    name: 'stylion-radiale',
    title: 'Wrist, thumb side',
    where: 'The tip of the bone on the thumb’s side of the wrist.',
  },
  {
    name: 'stylion-ulnare',
    title: 'Wrist, little finger’s side',
    where: 'The knob of the bone on the little finger’s side of the wrist.',
  },
  {
    name: 'epicondyle-outer',
    title: 'Elbow, outer knob',
    where: 'The bony knob on the outer side of the elbow, on the thumb’s side when the palm looks forward.',
  },
  {
    name: 'epicondyle-inner',
    title: 'Elbow, inner knob',
    where: 'The bony knob on the inner side of the elbow, next to the body when the palm looks forward.',
  },
  { name: 'olecranon', title: 'Point of the elbow', where: 'The hindmost bony point of the bent elbow.' },
  {
    name: 'forearm-front',
    title: 'Forearm, thickest, palm side',
    where: 'On the palm’s side, where the forearm is thickest; the tape of its girth lies there.',
  },
  {
    name: 'forearm-back',
    title: 'Forearm, thickest, back',
    where: 'Opposite that mark, on the side of the hand’s back, square to the forearm.',
  },
  { name: 'upperarm-front', title: 'Upper arm, front', where: 'On the fullest part of the muscle at the front.' },
  { name: 'upperarm-back', title: 'Upper arm, back', where: 'Opposite that mark, square to the arm.' },
  {
    name: 'wrist-crease',
    title: 'Wrist crease',
    where: 'The middle of the crease between palm and forearm, hand straight.',
  },
  { name: 'dactylion', title: 'Tip of the middle finger', where: 'The end of the middle finger, not of the nail.' },
  { name: 'knuckle-index', title: 'Knuckle, index side', where: 'The outermost point at the index finger’s knuckle.' },
  {
    name: 'knuckle-little',
    title: 'Knuckle, little finger’s side',
    where: 'The outermost point at the little finger’s knuckle.',
  },
];

const sliding = 'sliding calliper';

const ARM_MEASURES = measured([
  {
    name: 'hand length',
    kind: 'span',
    landmarks: ['wrist-crease', 'dactylion'],
    how: 'From the middle of the wrist crease to the tip of the middle finger, hand flat and straight.',
    instrument: sliding,
    sure: 'handSpan',
    range: surveyed('hand length'),
  },
  {
    name: 'hand breadth',
    kind: 'span',
    landmarks: ['knuckle-index', 'knuckle-little'],
    how: 'Across the knuckles of the four fingers, thumb away, fingers together.',
    instrument: sliding,
    sure: 'handSpan',
    range: surveyed('hand breadth'),
  },
  {
    name: 'hand circumference',
    kind: 'girth',
    landmarks: ['knuckle-index', 'knuckle-little'],
    how: 'Tape round the knuckles of the four fingers, thumb left out, hand flat.',
    instrument: 'tape',
    sure: 'limbGirth',
    range: surveyed('hand circumference'),
  },
  {
    name: 'wrist breadth',
    kind: 'span',
    landmarks: ['stylion-radiale', 'stylion-ulnare'],
    how: 'Across both knobs of the wrist, touching the bone lightly.',
    instrument: sliding,
    sure: 'handSpan',
    range: judged(40, 85),
  },
  {
    name: 'wrist circumference',
    kind: 'girth',
    landmarks: ['stylion-radiale', 'stylion-ulnare'],
    how: 'Tape round the wrist over both knobs, hand straight.',
    instrument: 'tape',
    sure: 'limbGirth',
    range: surveyed('wrist circumference'),
  },
  {
    name: 'forearm circumference',
    kind: 'girth',
    landmarks: ['forearm-front', 'forearm-back'],
    how: 'Tape round the thickest part, square to the forearm, arm hanging and the fist open.',
    instrument: 'tape',
    sure: 'limbGirth',
    // The survey took it with the arm bent and the muscle hard: a relaxed one is a little less, well inside the range.
    range: surveyed('forearm circumference, flexed'),
    stretch: { most: 'thickest', between: ['stylion-radiale', 'epicondyle-outer'] },
  },
  {
    name: 'elbow circumference',
    kind: 'girth',
    landmarks: ['epicondyle-outer', 'epicondyle-inner'],
    how: 'Tape round both knobs of the elbow, arm straight.',
    instrument: 'tape',
    sure: 'limbGirth',
    range: judged(180, 420),
  },
  {
    name: 'forearm length',
    kind: 'span',
    landmarks: ['epicondyle-outer', 'stylion-radiale'],
    how: 'Straight from the outer knob of the elbow to the tip of bone on the thumb’s side of the wrist.',
    instrument: 'large calliper, or a stiff rule',
    sure: 'limbSpan',
    range: judged(180, 350),
  },
  {
    name: 'elbow to wrist length',
    kind: 'span',
    landmarks: ['olecranon', 'stylion-ulnare'],
    how: 'Elbow bent square: from its point to the knob on the little finger’s side of the wrist.',
    instrument: 'large calliper, or a stiff rule',
    sure: 'limbSpan',
    range: judged(180, 350),
  },
  {
    name: 'upper arm circumference',
    kind: 'girth',
    landmarks: ['upperarm-front', 'upperarm-back'],
    how: 'Tape round the fullest part of the upper arm, arm hanging loose.',
    instrument: 'tape',
    sure: 'limbGirth',
    // As for the forearm: the survey's arm was bent and hard.
    range: surveyed('biceps circumference, flexed'),
  },
]);

export const HAND_FOREARM: BodyRegion = {
  name: 'arm',
  title: 'Hand and forearm',
  standing: 'limb',
  isPaired: true,
  frame: ['stylion-radiale', 'stylion-ulnare', 'epicondyle-outer', 'epicondyle-inner'],
  axis: { lower: ['stylion-radiale', 'stylion-ulnare'], upper: ['epicondyle-outer', 'epicondyle-inner'] },
  landmarks: ARM_LANDMARKS,
  measures: ARM_MEASURES,
};
