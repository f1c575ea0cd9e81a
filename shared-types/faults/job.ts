/** Trouble with running work. */
/** What of the work is kept all the same, in words: "3 tried pairs are". */
type Kept = Partial<Record<'kept', string>>;
const left = (kept: string | undefined): string => (kept === undefined ? 'nothing was changed' : `${kept} kept`);

export const jobFaults = {
  'job.cancelled': ({ kept }: Kept) => `Stopped as you asked; ${left(kept)}.`,
  'job.internal': ({ reference, kept }: { reference: string } & Kept) =>
    `Something went wrong inside the program (reference ${reference}); ${left(kept)}. Please report the reference.`,
  'job.out-of-memory': ({ kept }: Kept) =>
    `The work needs more memory than there is; ${left(kept)}. Close other programs, or start from a lighter mesh.`,
  'job.connection': (_f: Record<never, never>) =>
    'The connection to the program was lost before the answer came; what was asked may or may not have been done. Look again once it is back.',
  'job.usage': (f: { reason: string }) => f.reason,
  'job.bad-json': (f: { column: number; reason: string }) =>
    `This is not JSON from column ${f.column} on (${f.reason}); correct the file there.`,
} as const;
