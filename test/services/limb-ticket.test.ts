/** From a limb's or torso's ticket to its recipe. */
import { describe, expect, it } from 'vitest';
import { knownLengths } from '../../electron/services/studio/known-lengths.ts';
import { placedMeasures, recipeOf, upOf } from '../../electron/services/studio/recipe-of.ts';
import { planeThrough } from '../../electron/geometry/measure/girth.ts';
import { scanLimb } from '../../electron/invented/scanned-body.ts';
import { REGIONS, sidedName } from '../../shared-types/measures/index.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Reading } from '../../shared-types/records/reading.ts';
import { ticketMeasures, type TicketDraft } from '../../shared-types/records/ticket.ts';

const { body, scan, recipe } = scanLimb({ seed: 5 }, 2000, { unitsPerMm: 0.1 });
const draft: TicketDraft = {
  region: 'arm',
  side: 'right',
  keep: 'largest',
  trim: [],
  landmarks: Object.fromEntries(
    Object.entries(recipe.landmarks).map(([name, point]) => [name, { point, origin: 'hand' as const }]),
  ),
  measures: ticketMeasures('arm', 'right'),
  faces: 9500,
};
const sheet = [
  ...recipe.spans.map((one) => ({ ...one, kind: 'span' })),
  ...recipe.girths.map((one) => ({ ...one, kind: 'girth' })),
].map(
  ({ name, kind, measured }, at) =>
    ({ id: `${at}`, name: sidedName(name, 'right'), kind, valueMm: measured, withdrawn: false }) as unknown as Reading,
);

describe('the ticket of a right forearm', () => {
  const up = upOf(draft);
  const placed = placedMeasures(draft, knownLengths(sheet), up ?? { sideways: [0, 0, 1] });

  it('takes the readings of that side, and each girth square to the limb', () => {
    expect(up).toBeDefined();
    const [x, y, z] = [0, 1, 2].map((k) => scan.truth.formToScan[4 * k + 2] / 0.1);
    for (const { name, points, measured } of placed.filter(({ kind }) => kind === 'girth')) {
      if (name === 'upper arm circumference, right') continue;
      expect(measured, name).toBeGreaterThan(100);
      const [a, b, c] = points as unknown as [Vec3, Vec3, Vec3];
      const normal = planeThrough(a, b, c)?.normal ?? [0, 0, 0];
      // The invented limb's own axis, z of its frame: the tape's plane is square to it.
      const square = Math.abs(normal[0] * x + normal[1] * y + normal[2] * z) / Math.hypot(...normal);
      expect(square, name).toBeGreaterThan(0.9999);
    }
    const left = placedMeasures(
      { ...draft, measures: ticketMeasures('arm', 'left') },
      knownLengths(sheet),
      up as never,
    );
    expect(left.every(({ measured }) => measured === undefined)).toBe(true);
  });

  it('becomes a recipe that stands a limb up, and a head’s says nothing of a region', () => {
    expect(recipeOf(draft, placed)).toMatchObject({ region: 'limb', faces: 9500 });
    const { region: _arm, side: _side, ...head } = draft;
    expect(recipeOf(head, []).region).toBeUndefined();
    expect(upOf(head)).toBeUndefined();
    const { olecranon: _gone, 'epicondyle-outer': _too, ...some } = draft.landmarks;
    expect(upOf({ ...draft, landmarks: some })).toBeUndefined();
  });

  it('counts landmarks nobody has looked at as a few centimetres uncertain', () => {
    const guessed = Object.fromEntries(
      Object.entries(draft.landmarks).map(([name, { point }]) => [name, { point, origin: 'guess' as const }]),
    );
    const [first] = placedMeasures({ ...draft, landmarks: guessed }, knownLengths(sheet), up as never);
    // 20 mm of the places and the reading's own uncertainty, in quadrature.
    const reading = REGIONS.arm.measures.find(({ name }) => sidedName(name, 'right') === first.name);
    expect(first.u).toBeCloseTo(Math.hypot(20, reading?.uMm ?? 0), 6);
    expect(Object.keys(body.landmarks).length).toBeGreaterThan(10);
  });
});
