/** The bodies liners are measured on: closed, outward, each by a name and about so many faces, the same each time. */
import { inventHead } from '../../electron/invented/head.ts';
import { inventLimb } from '../../electron/invented/limb.ts';
import { roughen } from '../../electron/invented/phone-scan.ts';
import { TRIM_HEIGHT_MM } from '../../electron/invented/production.ts';
import { inventTorso } from '../../electron/invented/torso.ts';
import { knifeFor, openBy } from '../../electron/geometry/offset/openings.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { headOf } from './heads.ts';

/** What is asked of a liner of 8 mm at a tolerance of 0.1 mm, both ways; on every smooth body (issue 6). */
export const LINER_BARS = { maxMm: 0.15, p99Mm: 0.05, meanMm: 0.01, missingMaxMm: 0.15, faces: 60_000 } as const;

/** What is left of noise in a scan that was mended but not smoothed, mm. */
const NOISE_MM = 0.3;

/** The body with the noise of a phone's scan on it and nothing else amiss. */
function noisy(clean: Mesh): Mesh {
  const whole = { charts: 0, holes: [], cutBelowMm: -Infinity, debris: 0, chair: false, badFaces: false };
  return roughen(clean, { seed: 5, noiseMm: NOISE_MM, turned: false, movedMm: [0, 0, 0], ...whole }).mesh;
}

/** A head cut off level at the neck, as its form is. */
function trimmed(head: Mesh): Mesh {
  const plane = { point: [0, 0, TRIM_HEIGHT_MM], normal: [0, 0, 1] } as const;
  const knife = knifeFor({ kind: 'plane', plane }, new SignedField(head));
  const opened = knife === undefined ? 'nothing-left' : openBy(head, [knife], QUIET_RUN);
  if (typeof opened === 'string') throw new Error(opened);
  return opened.mesh;
}

export const BODIES = {
  head: headOf,
  'noisy-head': (faces: number) => noisy(headOf(faces)),
  'eared-head': (faces: number) => trimmed(inventHead({ seed: 7 }).mesh(faces)),
  'noisy-eared-head': (faces: number) => trimmed(noisy(inventHead({ seed: 7 }).mesh(faces))),
  'head-with-shoulders': (faces: number) => inventHead({ seed: 7 }).mesh(faces),
  'noisy-head-with-shoulders': (faces: number) => noisy(inventHead({ seed: 7 }).mesh(faces)),
  forearm: (faces: number) => inventLimb({ seed: 7 }).mesh(faces),
  torso: (faces: number) => inventTorso({ seed: 7 }).mesh(faces),
} as const satisfies Readonly<Record<string, (faces: number) => Mesh>>;
