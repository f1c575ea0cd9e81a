/** Trouble with running work. */
export const jobFaults = {
  'job.cancelled': (f: { kept?: string }) =>
    `Stopped as you asked; ${f.kept === undefined ? 'nothing was changed' : `${f.kept} kept`}.`,
  'job.internal': (f: { reference: string }) =>
    `Something went wrong inside the program (reference ${f.reference}); nothing was changed. Please report the reference.`,
  'job.out-of-memory': (_f: Record<never, never>) =>
    'The work needs more memory than there is; nothing was changed. Close other programs, or start from a lighter mesh.',
  'job.connection': (_f: Record<never, never>) =>
    'The connection to the program was lost before the answer came; what was asked may or may not have been done. Look again once it is back.',
  'job.usage': (f: { reason: string }) => f.reason,
  'job.bad-json': (f: { column: number; reason: string }) =>
    `This is not JSON from column ${f.column} on (${f.reason}); correct the file there.`,
} as const;
