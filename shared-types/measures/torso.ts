/**
 * The torso, for breastplates, backs, gorgets and pauldrons: terms of ISO 7250-1 and ISO 8559-1 (from memory; the
 * standards were not read).
 */
import { judged, measured, pair, surveyed, type BodyRegion, type LandmarkKind, type MeasureKind } from './kinds.ts';

const TORSO_LANDMARKS: readonly LandmarkKind[] = [
  {
    name: 'suprasternale',
    title: 'Pit of the neck',
    where: 'The lowest point of the notch at the top of the breastbone.',
  },
  {
    name: 'cervicale',
    title: 'Cervicale',
    where: 'The tip of the seventh neck bone: the one that stands out at the nape when the head nods.',
  },
  {
    name: 'xiphion',
    title: 'End of the breastbone',
    where: 'On the middle line in front, where the breastbone ends between the ribs.',
  },
  {
    name: 'midback',
    title: 'Spine, level with that',
    where: 'On the middle line of the back, level with the end of the breastbone.',
  },
  ...pair('acromion', 'Acromion', 'The outermost point of the bony ridge on top of the shoulder.'),
  ...pair('deltoid', 'Shoulder, widest', 'The outermost point of the shoulder’s muscle, arm hanging.'),
  ...pair('neck-side', 'Side of the neck', 'Where the side of the neck meets the slope of the shoulder.'),
  ...pair('armpit-front', 'Armpit, front fold', 'The upper end of the front fold of the armpit, arm hanging.'),
  ...pair('armpit-back', 'Armpit, back fold', 'The upper end of the back fold of the armpit, arm hanging.'),
  { name: 'chest-front', title: 'Chest, front', where: 'On the middle line in front, level with the fullest chest.' },
  { name: 'chest-back', title: 'Chest, back', where: 'On the middle line of the back, level with the chest’s mark.' },
  ...pair('chest-side', 'Chest, side', 'The widest point of the ribs, level with the chest’s mark.'),
  { name: 'waist-front', title: 'Waist, front', where: 'On the middle line in front, at the height of the waist.' },
  { name: 'waist-back', title: 'Waist, back', where: 'On the middle line of the back, level with the waist in front.' },
];

const large = 'large calliper';

const armhole = (side: 'left' | 'right'): Omit<MeasureKind, 'uMm'> => ({
  name: `armhole circumference ${side}`,
  kind: 'girth',
  landmarks: [`acromion-${side}`, `armpit-front-${side}`, `armpit-back-${side}`],
  how: 'Tape from the top of the shoulder down in front, through the armpit and up the back, arm hanging.',
  instrument: 'tape',
  sure: 'torsoGirth',
  range: judged(300, 650),
});

const TORSO_MEASURES = measured([
  {
    name: 'biacromial breadth',
    kind: 'span',
    landmarks: ['acromion-left', 'acromion-right'],
    how: 'From bone to bone across the tops of the shoulders, standing straight, shoulders down.',
    instrument: large,
    sure: 'torsoSpan',
    range: surveyed('biacromial breadth'),
  },
  {
    name: 'bideltoid breadth',
    kind: 'span',
    landmarks: ['deltoid-left', 'deltoid-right'],
    how: 'The greatest breadth over both shoulders’ muscles, arms hanging.',
    instrument: large,
    sure: 'torsoSpan',
    range: surveyed('bideltoid breadth'),
  },
  {
    name: 'chest breadth',
    kind: 'span',
    landmarks: ['chest-side-left', 'chest-side-right'],
    how: 'Across the ribs at the height of the fullest chest, at the end of a quiet breath out, without the arms.',
    instrument: large,
    sure: 'torsoSpan',
    range: surveyed('chest breadth'),
  },
  {
    name: 'chest depth',
    kind: 'span',
    landmarks: ['chest-front', 'chest-back'],
    how: 'Front to back on the middle line at that height, at the end of a quiet breath out.',
    instrument: large,
    sure: 'torsoSpan',
    range: surveyed('chest depth'),
  },
  {
    name: 'chest circumference',
    kind: 'girth',
    landmarks: ['chest-front', 'chest-back'],
    how: 'Tape level round the fullest chest, under the arms, at the end of a quiet breath out.',
    instrument: 'tape',
    sure: 'torsoGirth',
    range: surveyed('chest circumference'),
  },
  {
    name: 'waist circumference',
    kind: 'girth',
    landmarks: ['waist-front', 'waist-back'],
    how: 'Tape level round the waist, at the end of a quiet breath out, not drawn in.',
    instrument: 'tape',
    sure: 'torsoGirth',
    range: surveyed('waist circumference'),
  },
  {
    name: 'neck base circumference',
    kind: 'girth',
    landmarks: ['suprasternale', 'cervicale'],
    how: 'Tape round the foot of the neck, from the pit in front over the bone at the nape.',
    instrument: 'tape',
    sure: 'limbGirth',
    range: surveyed('neck circumference, base'),
  },
  {
    name: 'breastbone length',
    kind: 'span',
    landmarks: ['suprasternale', 'xiphion'],
    how: 'Straight from the pit of the neck to the end of the breastbone.',
    instrument: 'sliding calliper',
    sure: 'limbSpan',
    range: judged(130, 270),
  },
  {
    name: 'front waist length',
    kind: 'arc',
    landmarks: ['suprasternale', 'waist-front'],
    how: 'Tape down the middle line in front, from the pit of the neck to the waist, lying on the body.',
    instrument: 'tape',
    sure: 'torsoArc',
    range: judged(250, 520),
  },
  {
    name: 'back waist length',
    kind: 'arc',
    landmarks: ['cervicale', 'waist-back'],
    how: 'Tape down the middle of the back, from the bone at the nape to the waist.',
    instrument: 'tape',
    sure: 'torsoArc',
    range: judged(310, 560),
  },
  {
    name: 'shoulder length',
    kind: 'arc',
    landmarks: ['neck-side-left', 'acromion-left'],
    how: 'Tape along the left shoulder, from the side of the neck to the bone at its end.',
    instrument: 'tape',
    sure: 'torsoArc',
    range: judged(80, 210),
  },
  armhole('left'),
  armhole('right'),
]);

export const TORSO: BodyRegion = {
  name: 'torso',
  title: 'Torso',
  standing: 'torso',
  isPaired: false,
  frame: ['suprasternale', 'cervicale', 'xiphion', 'midback'],
  axis: { lower: ['xiphion', 'midback'], upper: ['suprasternale', 'cervicale'] },
  landmarks: TORSO_LANDMARKS,
  measures: TORSO_MEASURES,
};
