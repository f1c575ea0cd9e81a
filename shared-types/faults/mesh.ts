/** Trouble with a surface itself. */
export const meshFaults = {
  'mesh.no-faces': (_f: Record<never, never>) =>
    'This mesh has no faces with an area, so there is no surface to work on; export the scan as a mesh rather than as points or lines.',
  'mesh.not-closed': (f: { openEdges: number; verb: string }) =>
    `The surface is open (${f.openEdges} open edges), and ${f.verb} needs a closed one; mend it first.`,
  'mesh.not-sound': (f: { reason: string; verb: string }) =>
    `The surface is not sound (${f.reason}), and ${f.verb} needs a sound one; mend it first.`,
  'mesh.too-large': (f: { across: string; verb: string }) =>
    `The surface is ${f.across} mm across, and ${f.verb} takes its numbers as millimetres; bring it to its true size first.`,
  'mesh.beyond-mending': (f: { reason: string }) =>
    `The scan is too broken to mend (${f.reason}); cut away the worst part first, or scan again with more overlap between the pictures.`,
  'mesh.all-trimmed': (f: { plane: number }) =>
    `Plane ${f.plane} cuts the whole surface away; turn its normal round, it must point to the side that is kept.`,
} as const;
