/** Trouble with landmarks, spans, girths and recipes. */
export const readingFaults = {
  'reading.none': (_f: Record<never, never>) =>
    'No span or girth was given, so the scan has no size; measure at least one distance on the person and add it to the file.',
  'reading.no-length': (f: { name: string }) =>
    `The two points of "${f.name}" are the same, so it has no length on the scan; pick them again.`,
  'reading.misses': (f: { name: string }) =>
    `The plane of the girth "${f.name}" does not meet the surface; pick its three points again, on the skin and not in one line.`,
  'reading.level-misses': (f: { name: string }) =>
    `The level girth "${f.name}" does not meet the surface; check the landmarks that tell it and how far above them it lies.`,
  'reading.no-way': (f: { name: string }) =>
    `No way along the surface joins the points of the arc "${f.name}"; mend the scan first, or pick them again on one piece.`,
  'reading.no-landmark': (f: { name: string; landmark: string }) =>
    `The girth "${f.name}" is told by the landmark "${f.landmark}", which is not placed; give its point under "landmarks".`,
  'reading.all-hair': (f: { name: string; hairMm: number }) =>
    `A tape ${f.hairMm} mm off the skin would read more than "${f.name}" does, so nothing would be left of the body; correct the reading or its hairMm.`,
  'reading.not-positive': (f: { name: string; value: number }) =>
    `"${f.name}" is given as ${f.value} mm, and a measurement must be more than 0; correct it.`,
  'reading.all-held': (_f: Record<never, never>) =>
    'Every reading is held back as a check, so none is left to give the size; release at least one.',
  'measure.nothing-there': (f: { name: string }) =>
    `Nothing of the surface lies where "${f.name}" is to be taken; check its planes and that they are in this file's own coordinates.`,
  'landmark.missing': (f: { names: string }) =>
    `The landmarks ${f.names} are needed to stand the head up (or any three others that are not in one line); pick them.`,
  'landmark.frame': (f: { what: string; names: string }) =>
    `A ${f.what} is stood up by landmarks of its own, and these are missing: ${f.names}; pick them.`,
  'landmark.far-off': (f: { name: string; away: number; across: number }) =>
    `The landmark "${f.name}" lies ${f.away} units of the file away from a scan that is ${f.across} across; landmarks are given in the scan file's own coordinates and unit, so pick it again or check whose recipe this is.`,
  'landmark.in-line': (_f: Record<never, never>) =>
    'The landmarks given lie in one line, so the body could still turn about it; pick one more, off that line.',
  'landmark.mirrored': (f: { name: string }) =>
    `With these landmarks the wearer's ${f.name} lies on the wrong side: left and right seem to be exchanged; left is the wearer's own left.`,
} as const;
