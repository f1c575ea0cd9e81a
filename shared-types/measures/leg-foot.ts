/**
 * Lower leg, knee and foot, for greaves, knee cops and boots: terms of ISO 7250-1 and ISO 8559-1 (from memory; the
 * standards were not read). One limb at a time: the names carry no side, the sheet and the ticket add it.
 */
import { READING_UNCERTAINTY_MM } from '../tolerances.ts';
import { judged, surveyed, type BodyRegion, type LandmarkKind, type MeasureKind } from './kinds.ts';

const LEG_LANDMARKS: readonly LandmarkKind[] = [
  { name: 'malleolus-outer', title: 'Ankle, outer knob', where: 'The most outstanding point of the outer ankle bone.' },
  { name: 'malleolus-inner', title: 'Ankle, inner knob', where: 'The most outstanding point of the inner ankle bone.' },
  { name: 'knee-outer', title: 'Knee, outer side', where: 'The bony side of the knee, outside, at the joint.' },
  { name: 'knee-inner', title: 'Knee, inner side', where: 'The bony side of the knee, inside, at the joint.' },
  { name: 'patella', title: 'Kneecap', where: 'The middle of the kneecap, leg straight.' },
  { name: 'knee-back', title: 'Hollow of the knee', where: 'The middle of the crease behind the knee, level with it.' },
  { name: 'calf-front', title: 'Calf, front', where: 'On the shin, level with the thickest part of the calf.' },
  { name: 'calf-back', title: 'Calf, back', where: 'The hindmost point of the calf, where it is thickest.' },
  { name: 'ankle-front', title: 'Ankle, thinnest, front', where: 'On the shin, where the leg is thinnest.' },
  { name: 'ankle-back', title: 'Ankle, thinnest, back', where: 'On the heel tendon, level with that mark.' },
  { name: 'thigh-front', title: 'Thigh, front', where: 'On the front of the thigh, midway between hip and knee.' },
  { name: 'thigh-back', title: 'Thigh, back', where: 'Opposite that mark, level.' },
  { name: 'heel', title: 'Heel', where: 'The hindmost point of the heel.' },
  { name: 'heel-under', title: 'Heel, underside', where: 'The edge of the heel where it turns under the foot.' },
  { name: 'instep-fold', title: 'Bend of the ankle', where: 'The fold in front where foot and leg meet.' },
  { name: 'toe-tip', title: 'Longest toe', where: 'The tip of the longest toe, the foot bearing weight.' },
  { name: 'ball-inner', title: 'Ball, inner side', where: 'The most outstanding point at the root of the big toe.' },
  { name: 'ball-outer', title: 'Ball, outer side', where: 'The most outstanding point at the root of the little toe.' },
  { name: 'ball-top', title: 'Ball, top', where: 'On top of the foot, between those two points.' },
];

const { footSpan, limbSpan, limbGirth } = READING_UNCERTAINTY_MM;
const sliding = 'sliding calliper';

const LEG_MEASURES: readonly MeasureKind[] = [
  {
    name: 'foot length',
    kind: 'span',
    landmarks: ['heel', 'toe-tip'],
    how: 'From the back of the heel to the tip of the longest toe, along the foot, standing on it.',
    instrument: sliding,
    uMm: footSpan,
    range: judged(190, 350),
  },
  {
    name: 'foot breadth',
    kind: 'span',
    landmarks: ['ball-inner', 'ball-outer'],
    how: 'Across the ball of the foot, from the root of the big toe to that of the little toe, standing on it.',
    instrument: sliding,
    uMm: footSpan,
    range: judged(65, 140),
  },
  {
    name: 'ball of foot circumference',
    kind: 'girth',
    landmarks: ['ball-inner', 'ball-top', 'ball-outer'],
    how: 'Tape round the foot over both points of the ball, standing on it.',
    instrument: 'tape',
    uMm: limbGirth,
    range: judged(170, 330),
  },
  {
    name: 'heel circumference',
    kind: 'girth',
    landmarks: ['instep-fold', 'heel-under'],
    how: 'Tape round heel and bend of the ankle: what a boot or greave must let pass.',
    instrument: 'tape',
    uMm: limbGirth,
    range: judged(240, 430),
  },
  {
    name: 'ankle breadth',
    kind: 'span',
    landmarks: ['malleolus-outer', 'malleolus-inner'],
    how: 'Across both ankle bones, touching lightly.',
    instrument: sliding,
    uMm: footSpan,
    range: judged(48, 100),
  },
  {
    name: 'ankle circumference',
    kind: 'girth',
    landmarks: ['ankle-front', 'ankle-back'],
    how: 'Tape level round the thinnest part of the leg, above the ankle bones.',
    instrument: 'tape',
    uMm: limbGirth,
    range: surveyed('ankle circumference'),
    stretch: { most: 'thinnest', between: ['malleolus-inner', 'knee-inner'] },
  },
  {
    name: 'calf circumference',
    kind: 'girth',
    landmarks: ['calf-front', 'calf-back'],
    how: 'Tape level round the thickest part of the calf, weight on both feet.',
    instrument: 'tape',
    uMm: limbGirth,
    range: surveyed('calf circumference'),
    stretch: { most: 'thickest', between: ['malleolus-inner', 'knee-inner'] },
  },
  {
    name: 'shin length',
    kind: 'span',
    landmarks: ['knee-inner', 'malleolus-inner'],
    how: 'Straight from the joint at the inner side of the knee to the inner ankle bone.',
    instrument: 'large calliper, or a stiff rule',
    uMm: limbSpan,
    range: judged(280, 500),
  },
  {
    name: 'knee breadth',
    kind: 'span',
    landmarks: ['knee-outer', 'knee-inner'],
    how: 'Across the bony sides of the knee at the joint, leg straight.',
    instrument: sliding,
    uMm: footSpan,
    range: judged(70, 160),
  },
  {
    name: 'knee circumference',
    kind: 'girth',
    landmarks: ['patella', 'knee-back'],
    how: 'Tape level round the middle of the kneecap, leg straight.',
    instrument: 'tape',
    uMm: limbGirth,
    range: judged(280, 580),
  },
  {
    name: 'mid-thigh circumference',
    kind: 'girth',
    landmarks: ['thigh-front', 'thigh-back'],
    how: 'Tape level round the thigh midway between hip and knee, weight on both feet.',
    instrument: 'tape',
    uMm: limbGirth,
    range: judged(350, 900),
  },
];

export const LEG_FOOT: BodyRegion = {
  name: 'leg',
  title: 'Leg and foot',
  standing: 'limb',
  isPaired: true,
  frame: ['malleolus-outer', 'malleolus-inner', 'knee-outer', 'knee-inner', 'patella'],
  axis: { lower: ['malleolus-outer', 'malleolus-inner'], upper: ['knee-outer', 'knee-inner'] },
  landmarks: LEG_LANDMARKS,
  measures: LEG_MEASURES,
};
