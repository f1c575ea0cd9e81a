/** Millimetres in one of each unit that a mesh file may be written in. */
export const MM_PER_UNIT = {
  micron: 0.001,
  millimetre: 1,
  centimetre: 10,
  inch: 25.4,
  foot: 304.8,
  metre: 1000,
} as const;

export type LengthUnit = keyof typeof MM_PER_UNIT;

export const DEGREES_PER_RADIAN = 180 / Math.PI;
