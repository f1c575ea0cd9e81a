import { expect, test } from 'vitest';
import { cutOffered, CUTS_OFFERED } from '../../renderer/screens/ticket/trim-offers.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { inventLeg } from '../../electron/invented/leg.ts';
import { inventLimb } from '../../electron/invented/limb.ts';
import { inventTorso } from '../../electron/invented/torso.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';

const BODIES = {
  head: inventHead({ seed: 7 }),
  torso: inventTorso({ seed: 11 }),
  arm: inventLimb({ seed: 6 }),
  leg: inventLeg({ seed: 3 }),
};
/** Landmarks between which a frame or a length lies that every form of the body needs (names of ISO 7250-1 and ISO 8559-1). */
const NEEDED: Readonly<Record<keyof typeof BODIES, readonly string[]>> = {
  head: ['tragion-left', 'tragion-right', 'orbitale-left', 'menton', 'vertex'],
  torso: ['suprasternale', 'cervicale', 'xiphion', 'midback', 'acromion-left', 'acromion-right'],
  arm: ['olecranon'],
  leg: ['knee-inner', 'knee-outer', 'toe-tip'],
};

test.each(Object.keys(BODIES) as (keyof typeof BODIES)[])(
  'cuts offered for a scan of a %s keep the landmarks it needs, and each takes the end it is named for',
  (region) => {
    const body = BODIES[region];
    const bounds = boundsOf(body.mesh(1500).positions);
    const landmarks: Readonly<Record<string, Vec3>> = body.landmarks;
    for (const offer of CUTS_OFFERED[region].cuts) {
      const [px, py, pz, nx, ny, nz] = cutOffered(offer, bounds);
      const keptMm = ([x, y, z]: readonly number[]): number => (x - px) * nx + (y - py) * ny + (z - pz) * nz;
      for (const name of NEEDED[region])
        expect([offer.label, name, keptMm(landmarks[name]) > 0]).toEqual([offer.label, name, true]);
      // The cut lies within the scan: something goes.
      const ends = [bounds.min, bounds.max].map((end) => keptMm([0, ny === 0 ? 0 : end[1], nz === 0 ? 0 : end[2]]));
      expect(Math.min(...ends)).toBeLessThan(0);
      if (offer.label.includes('left')) expect(keptMm(bounds.max)).toBeLessThan(0);
      if (offer.label.includes('right')) expect(keptMm(bounds.min)).toBeLessThan(0);
      if (/neck|upper arm|above the knee/.test(offer.label) && region !== 'head')
        expect(keptMm(bounds.max)).toBeLessThan(0);
      if (/hips|sole/.test(offer.label)) expect(keptMm(bounds.min)).toBeLessThan(0);
    }
  },
);
