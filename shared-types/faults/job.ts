/** Trouble with running work. */
export const jobFaults = {
  'job.cancelled': (_f: Record<never, never>) => 'Stopped as you asked; nothing was changed.',
  'job.internal': (f: { reference: string }) =>
    `Something went wrong inside the program (reference ${f.reference}); nothing was changed. Please report the reference.`,
  'job.usage': (f: { reason: string }) => f.reason,
} as const;
