import type { SplitOptions } from '../../../electron/geometry/pieces/split-solid.ts';

/** A bed of so many millimetres each way, pins of filament, nothing cut by hand. */
export const splitOptions = (bedMm: number): SplitOptions => ({
  bed: [bedMm, bedMm, bedMm],
  planes: [],
  joint: 'dowel',
  pinMm: 1.75,
  pinDepthMm: 6,
  clearanceMm: 0.2,
  pinWallMm: 0.5,
  spacingMm: 30,
  markMm: 6,
});
