/**
 * Frames a mesh or point can be in. `scan` is the file's own frame and unit. `form` is millimetres,
 * origin midway between the tragions, x forward, y to the wearer's left, z up, Frankfurt plane level
 * (ISO 7250-1); limbs have z along the limb toward the trunk. `part` is a part's own frame, mm.
 */
export type Frame = 'scan' | 'form' | 'part' | 'bed' | 'sheet';
