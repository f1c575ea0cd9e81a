/** Trouble with trimming, lightening, liners and parts. */
export const fittingFaults = {
  'allow.meets-itself': (f: { count: number }) =>
    `With these allowances the surface would meet itself in ${f.count} places, as in a fold grown shut; allow less there, or keep the zone off it.`,
  'carry.other-body': (f: { rmsMm: number }) =>
    `The form does not lie on this scan in any turn and size: ${f.rmsMm.toFixed(0)} mm apart at best; check that it is a scan of the same person's same part.`,
  'lighten.too-few': (f: { wanted: number; reached: number }) =>
    `${f.wanted} faces are too few to keep this surface's shape and openings: it goes down to ${f.reached}; ask for that many or more.`,
  'line.nothing-left': (f: { planes: number }) =>
    `The ${f.planes === 1 ? 'opening cuts' : 'openings cut'} the whole liner away; turn the normal round, it must point to the side that is kept.`,
  'line.not-sound': (f: { crossings: number; edges: number }) =>
    `The liner did not come out sound (${f.crossings} pairs of faces cut one another, ${f.edges} edges are not closed); try another --tolerance or move the opening a little.`,
} as const;
