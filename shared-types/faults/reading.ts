/** Trouble with landmarks, spans, girths and recipes. */
export const readingFaults = {
  'reading.none': (_f: Record<never, never>) =>
    'No span or girth was given, so the scan has no size; measure at least one distance on the person and add it to the file.',
} as const;
