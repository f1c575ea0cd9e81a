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
/** Typographic points of PDF (ISO 32000-1, 8.3.2.3): 1/72 inch. */
export const PT_PER_MM = 72 / 25.4;
