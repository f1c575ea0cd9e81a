/** Trouble with trimming, lightening, liners and parts. */
export const fittingFaults = {
  'allow.meets-itself': (f: { count: number }) =>
    `With these allowances the surface would meet itself in ${f.count} places, as in a fold grown shut; allow less there, or keep the zone off it.`,
  'carry.other-body': (f: { rmsMm: number }) =>
    `The form does not lie on this scan in any turn and size: ${f.rmsMm.toFixed(0)} mm apart at best; check that it is a scan of the same person's same part.`,
  'fit.bad-placement': (f: { reason: string }) =>
    `The placement ${f.reason}; give 16 numbers, row by row, that only turn, shift and scale evenly.`,
  'fit.bad-pairs': (_f: Record<never, never>) =>
    'The pairs of points do not say how the part is turned: they lie in one line or on one another; give three that are apart.',
  'fit.out-of-scale': (f: { partMm: number; formMm: number }) =>
    `The part would be ${f.partMm < 1 ? f.partMm.toPrecision(2) : f.partMm.toFixed(0)} mm across and the form is ${f.formMm.toFixed(0)} mm: no wearer has such a part; check its unit, its known dimension or its placement.`,
  'fit.empty-patch': (_f: Record<never, never>) =>
    'Nothing of the part lies in the patch; give points on the part with a wider radius, a larger box, or a region of the form that the part covers.',
  'fit.bad-known': (f: { name: string }) =>
    `Both ends of "${f.name}" are the same point of the part file, so it gives no size; pick its two ends again.`,
  'lighten.too-few': (f: { wanted: number; reached: number }) =>
    `${f.wanted} faces are too few to keep this surface's shape and openings: it goes down to ${f.reached}; ask for that many or more.`,
  'line.nothing-left': (f: { planes: number; what: string }) =>
    `The ${f.planes === 1 ? 'opening cuts' : 'openings cut'} the whole ${f.what} away; turn the normal round, it must point to the side that is kept.`,
  'line.not-parted': (f: { what: string }) =>
    `An opening curve does not part the ${f.what} in two; draw it round without crossing itself, away from folds, and close it.`,
  'line.short-curve': (_f: Record<string, never>) =>
    'An opening curve has fewer than three different points; draw it with more.',
  'line.covered': (_f: Record<string, never>) =>
    'The volumes to be left free cover the whole form, so there is nowhere a liner could touch it; make them smaller or move them.',
  'line.not-sound': (f: { crossings: number; edges: number; what: string }) =>
    `The ${f.what} did not come out sound (${f.crossings} pairs of faces cut one another, ${f.edges} edges are not closed); move its openings a little, away from folds, or try another tolerance.`,
  'shell.void': (_f: Record<string, never>) =>
    'The solid encloses a hollow already, which would not get a wall of its own; mend it first, keeping the largest piece only.',
  'shell.solid': (f: { wallMm: number }) =>
    `A wall of ${f.wallMm} mm leaves no room inside: the solid is nowhere thicker than two such walls; make it thinner.`,
  'pattern.empty': (f: { patch: string }) =>
    `There is no surface in patch "${f.patch}"; check its points, and that they are in the file's own coordinates.`,
  'pattern.no-head': (f: { patch: string }) =>
    `"${f.patch}" is a place of an upright head form with its origin between the ears, and this is none; stand it up first, or draw the patch.`,
  'pattern.no-face': (f: { face: number; faces: number }) =>
    `There is no face ${f.face}: this mesh has faces 0 to ${f.faces - 1}; paint the patch on this very mesh.`,
  'pattern.lost-line': (f: { patch: string; line: string }) =>
    `In patch "${f.patch}", ${f.line} cannot be drawn on the surface: it does not meet it, does not close, or crosses itself; give more points along it.`,
  'pattern.parts': (f: { patch: string; parts: number }) =>
    `Patch "${f.patch}" falls into ${f.parts} parts that do not hang together; mend the surface first.`,
  'pattern.no-disc': (f: { patch: string }) =>
    `Patch "${f.patch}" cannot be opened flat: it is closed or has a handle; add a seam that cuts it open.`,
  'pad.no-room': (f: { leastMm: number; mostMm: number }) =>
    `Nowhere do form and part leave between ${f.leastMm} and ${f.mostMm} mm for a pad; check that the part is placed on the form and both are in true size.`,
} as const;
