/** Trouble with trimming, lightening, liners and parts. */
export const fittingFaults = {} as const;
