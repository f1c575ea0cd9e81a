/**
 * The three small numbers, kept apart.
 *
 * - epsilon: what rounding alone can do; follows from the size of the numbers.
 * - tolerance: how far an operation may move a surface; a parameter, in mm.
 * - uncertainty: what a measurement is worth; a standard uncertainty, in mm.
 */

/** Half a step of single precision, relative. A 300 mm coordinate is held to 1.8e-5 mm. */
export const SINGLE_EPSILON = 2 ** -24;

/** Relative rounding of double precision. */
export const DOUBLE_EPSILON = 2 ** -53;

/** How far a liner may lie from its nominal thickness, mm (design.md section 4). */
export const LINER_TOLERANCE_MM = 0.1;

/**
 * A wall thinner by more than so many tolerances, and what of a surface is missing by more, is told: either side of a wall
 * may miss by one and a half.
 */
export const TOLD_TOLERANCES = 3;

/** Solid modellers choke above about this many faces (common practice, no source). */
export const SOLID_CAD_FACES = 10_000;

/**
 * Standard uncertainties for a home user's readings, mm; own judgement, editable
 * (reference-values.md section 3.9: the person, not the instrument, sets them).
 */
export const READING_UNCERTAINTY_MM = {
  headSpan: 1.5,
  headGirth: 3,
  headArc: 3,
  handSpan: 1.5,
  footSpan: 2,
  limbSpan: 3,
  limbGirth: 4,
  torsoSpan: 5,
  torsoGirth: 10,
  torsoArc: 5,
} as const;

/** Readings of one thing that differ by more than this many of their uncertainties do not belong together; our own judgement. */
export const READING_SPREAD_LIMIT = 4;
