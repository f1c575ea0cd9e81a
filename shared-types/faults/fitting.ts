/** Trouble with trimming, lightening, liners and parts. */
export const fittingFaults = {
  'lighten.too-few': (f: { wanted: number; reached: number }) =>
    `${f.wanted} faces are too few to keep this surface's shape and openings: it goes down to ${f.reached}; ask for that many or more.`,
} as const;
