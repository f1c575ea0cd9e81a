/** Trouble with forms made from readings alone. */
export const blockFaults = {
  'block.no-readings': (f: { known: string }) =>
    `No reading of a head was given, so there is nothing to make the form to; give at least one of: ${f.known}.`,
  'block.not-a-head': (f: { name: string; measuredMm: number; usualMm: number }) =>
    `"${f.name}" is given as ${f.measuredMm} mm, but ${f.usualMm} mm is usual and no head is so far from it; look whether another unit or another measure was meant.`,
  'block.cannot': (f: { names: string }) =>
    `No head shape meets these readings together (${f.names}); take them again, or leave out the one you trust least.`,
  'block.not-sound': (f: { crossings: number }) =>
    `Bent to these readings the form would cut itself in ${f.crossings} places; take the readings again, or leave out the most unusual one.`,
  'block.no-replay': (f: { form: string }) =>
    `The form "${f.form}" was made from readings alone, so it has no points to carry over to a scan; make a form from the scan on a ticket of its own.`,
} as const;
