/**
 * Frames a mesh or point can be in. `scan` is the file's own frame and unit. `form` is millimetres,
 * origin midway between the tragions, x forward, y to the wearer's left, z up, Frankfurt plane level
 * (ISO 7250-1); a limb has its origin in the middle of its lower
 * joint, z toward the trunk, x toward thumb or kneecap; a torso its origin at the foot of the neck, x forward, z up. `part` is a part's own frame, mm.
 */
export type Frame = 'scan' | 'form' | 'part' | 'bed' | 'sheet';
