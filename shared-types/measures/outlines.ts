/**
 * Half-drawn bodies of our own, for showing where a landmark lies and how a measure is taken: each view a few lines
 * through points in a box of 100 by 100, y downward, to be smoothed. Nobody's body.
 */

export type Point = readonly [number, number];

export interface Line {
  readonly points: readonly Point[];
  readonly isClosed?: boolean;
}

/** "x,y x,y ..." */
export const pointsOf = (text: string): Point[] =>
  text.split(' ').map((one): Point => {
    const [x, y] = one.split(',').map(Number);
    return [x, y];
  });
const line = (text: string): Line => ({ points: pointsOf(text) });
const ring = (text: string): Line => ({ points: pointsOf(text), isClosed: true });
/** It, and its mirror image. */
const both = (text: string): Line[] => [line(text), { points: pointsOf(text).map(([x, y]): Point => [100 - x, y]) }];
const oval = (x: number, y: number, halfX: number, halfY: number): Line => ({
  isClosed: true,
  points: Array.from({ length: 8 }, (_, i): Point => {
    const turn = (Math.PI * i) / 4;
    return [x + halfX * Math.cos(turn), y + halfY * Math.sin(turn)];
  }),
});

const HEAD_SIDE: readonly Line[] = [
  line(
    '40,99 43,87 40,80 28,82 17,79 14,73 15,69 13,67 15,64 15,60 10,59 9,56 14,50 20,46 19,41 18,37 21,29 ' +
      '28,18 40,10 54,7 70,10 83,19 91,32 92,45 88,58 80,68 70,78 64,88 62,99',
  ),
  line('51,52 52,46 57,44 61,48 59,56 55,62 52,60 52,54'),
  line('21,50 26,48 29,51'),
];

const HEAD_FRONT: readonly Line[] = [
  ...both('36,99 36,88 27,80 21,71 19,61 15,58 13,51 15,45 17,44 17,32 22,20 34,10 50,7'),
  oval(35, 48, 6.5, 3),
  oval(65, 48, 6.5, 3),
  line('50,49 48,57 46,62 52,63'),
  line('41,72 50,74 59,72'),
];

const HAND: readonly Line[] = [
  line(
    '38,99 37,88 33,79 24,70 13,58 9,50 12,46 18,49 27,58 30,52 29,38 28,21 31,14 35,16 37,24 39,40 41,36 ' +
      '41,15 44,7 48,9 50,17 51,38 53,36 54,18 57,12 60,14 61,22 60,42 63,42 66,28 69,25 71,28 71,36 70,52 ' +
      '68,66 64,79 62,88 62,99',
  ),
  line('39,84 50,86 62,84'),
];

const ARM: readonly Line[] = [
  line(
    '35,1 34,12 37,23 34,34 37,48 41,60 42,67 37,72 30,79 28,85 31,86 38,79 38,88 42,97 47,99 54,97 57,88 ' +
      '58,77 56,67 58,60 61,48 65,34 62,23 65,12 65,1',
  ),
  line('43,24 50,26 57,24'),
];

const ARM_BENT: readonly Line[] = [
  line(
    '70,2 68,20 69,34 66,44 58,49 42,54 28,58 15,57 4,60 3,66 10,70 27,71 44,74 66,76 84,76 92,71 92,62 ' +
      '89,44 91,22 89,2',
  ),
];

const TORSO_FRONT: readonly Line[] = [
  ...both('42,2 41,12 35,18 24,22 15,27 9,36 6,48 8,55 15,54 18,46 22,42'),
  ...both('22,42 24,52 26,64 27,74 25,86 21,99'),
  ...both('28,50 34,55 43,54 48,49'),
  line('43,17 50,20 57,17'),
];

const TORSO_BACK: readonly Line[] = [
  TORSO_FRONT[0],
  TORSO_FRONT[1],
  TORSO_FRONT[2],
  TORSO_FRONT[3],
  line('50,14 50,40 50,92'),
  ...both('36,30 41,38 38,46 33,44'),
];

const TORSO_SIDE: readonly Line[] = [
  line('38,2 37,12 34,20 27,30 20,42 20,50 25,60 28,74 25,86 24,99'),
  line('58,2 60,11 64,18 71,27 76,38 76,50 71,62 67,74 71,86 76,99'),
  line('40,44 38,34 43,24 51,21 59,25 62,36 59,48 50,53 42,49'),
];

const LEG_SIDE: readonly Line[] = [
  line(
    '32,1 32,16 32,26 31,32 35,39 37,50 41,66 43,79 39,86 27,90 14,94 11,97 17,99 40,97 60,99 64,96 63,90 ' +
      '58,84 57,77 62,64 66,50 64,42 61,34 64,22 69,1',
  ),
];

const LEG_FRONT: readonly Line[] = [
  line(
    '29,1 32,18 36,28 35,38 33,48 37,64 42,80 41,86 42,93 43,98 50,99 58,98 60,93 58,86 58,80 63,64 66,48 ' +
      '64,38 64,28 68,18 71,1',
  ),
  line('43,28 50,25 57,28 56,35 50,38 44,35 43,28'),
];

const FOOT_TOP: readonly Line[] = [
  ring(
    '38,96 33,87 34,72 37,58 33,42 30,31 32,17 37,8 44,8 47,15 50,13 55,13 58,18 62,18 65,24 69,26 71,33 ' +
      '73,40 71,54 65,70 63,86 57,96 47,99',
  ),
];

const FOOT_SIDE: readonly Line[] = [
  line(
    '52,4 52,24 50,40 40,52 24,64 10,72 4,78 8,84 22,86 40,82 58,82 72,86 86,86 92,80 91,68 85,52 82,36 ' +
      '83,20 86,4',
  ),
];

export const VIEWS = {
  'head side': HEAD_SIDE,
  'head front': HEAD_FRONT,
  hand: HAND,
  arm: ARM,
  'arm bent': ARM_BENT,
  'torso front': TORSO_FRONT,
  'torso back': TORSO_BACK,
  'torso side': TORSO_SIDE,
  'leg side': LEG_SIDE,
  'leg front': LEG_FRONT,
  'foot top': FOOT_TOP,
  'foot side': FOOT_SIDE,
} as const satisfies Readonly<Record<string, readonly Line[]>>;

export type View = keyof typeof VIEWS;
