/** From a limb's or torso's ticket to its recipe. */
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { writeMesh } from '../../electron/formats/index.ts';
import { transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { createStudio } from '../../electron/services/dispatch.ts';
import { knownLengths } from '../../electron/services/studio/known-lengths.ts';
import { placedMeasures, recipeOf, upOf } from '../../electron/services/studio/recipe-of.ts';
import { planeThrough } from '../../electron/geometry/measure/girth.ts';
import { scanLimb } from '../../electron/invented/scanned-body.ts';
import type { CallInput, CallName, CallResult } from '../../shared-types/contract.ts';
import { REGIONS, sidedName } from '../../shared-types/measures/index.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Reading } from '../../shared-types/records/reading.ts';
import { ticketMeasures, type TicketDraft } from '../../shared-types/records/ticket.ts';
import { freshFolder, good } from '../store/support.ts';

const rough = scanLimb({ seed: 5 }, 6000, { unitsPerMm: 0.1 });
const { body, scan, recipe } = rough;
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
    ({
      id: `${at}`,
      name: sidedName(name, 'right'),
      kind,
      valueMm: measured,
      withdrawn: false,
      takenOn: '2026-11-29',
    }) as unknown as Reading,
);

it('goes from a scan brought in to a form, by the studio’s own calls', async () => {
  const studio = good(createStudio({ libraryPath: join(freshFolder(), 'shelf.wearwright'), threads: 1 }));
  const ask = async <N extends CallName>(name: N, input: CallInput<N>): Promise<CallResult<N>> =>
    good(await studio.call(name, input)) as CallResult<N>;
  const ended = async (jobId: string): Promise<void> =>
    expect
      .poll(async () => (await ask('job.list', {})).jobs.find(({ id }) => id === jobId)?.state, { timeout: 60_000 })
      .toBe('done');
  try {
    // What is written of the scan has a frame of its own.
    const { bytes, toFile } = good(writeMesh(rough.scan.mesh, 'arm.ply'));
    const { upload } = await ask('scan.receive', { fileName: 'arm.ply', bytes: new Uint8Array(bytes) });
    const kept = { upload, fileName: 'arm.ply', wearerName: 'Invented', region: 'arm', side: 'right' } as const;
    const { ticketId: id, wearerId } = await ask('scan.keep', kept);
    for (const { name, kind, valueMm } of sheet) await ask('reading.add', { wearerId, name, kind, valueMm });
    await ended((await ask('ticket.prepare', { id })).jobId);
    expect((await ask('ticket.stand', { id })).method).toBe('guess');
    const { landmarks } = await ask('ticket.propose', { id, region: 'arm', side: 'right' });
    expect(landmarks.map(({ name }) => name)).toContain('stylion-ulnare');
    const { ticket } = await ask('ticket.show', { id });
    const placed = Object.entries(rough.recipe.landmarks).map(([name, point]) => [
      name,
      { point: [...transformPoint(toFile, point)], origin: 'hand' as const },
    ]);
    const decided = { ...ticket.draft, faces: 3000, landmarks: Object.fromEntries(placed) };
    await ask('ticket.edit', { id, label: 'place the landmarks', draft: decided });
    expect((await ask('ticket.stand', { id })).method).toBe('limb');
    await ended((await ask('ticket.make', { id })).jobId);
    const { revision } = await ask('ticket.show', { id });
    const figuresOf = (verb: string) => revision?.steps.find((one) => one.verb === verb)?.figures;
    expect(figuresOf('stand')).toMatchObject({ method: 'limb', confidence: 1 });
    const { factor, standardUncertainty } = figuresOf('true') as { factor: number; standardUncertainty: number };
    // The scan is in centimetres: what the size has to find.
    expect(Math.abs(factor - rough.scan.truth.mmPerUnit)).toBeLessThan(2 * standardUncertainty);
  } finally {
    await studio.close();
  }
}, 90_000);

describe('the ticket of a right forearm', () => {
  const up = upOf(draft);
  const placed = placedMeasures(draft, knownLengths(sheet), up ?? { sideways: [0, 0, 1] });

  it('takes the readings of that side, and each girth square to the limb', () => {
    expect(up).toBeDefined();
    const [x, y, z] = [0, 1, 2].map((k) => scan.truth.formToScan[4 * k + 2] / 0.1);
    for (const { name, points, measured, level } of placed.filter(({ kind }) => kind === 'girth')) {
      if (name === 'upper arm circumference, right') continue;
      if (name === 'forearm circumference, right') {
        // Sought where the forearm is thickest, whatever marks lie on it.
        expect(level).toEqual({ most: 'thickest', between: ['stylion-radiale', 'epicondyle-outer'] });
        continue;
      }
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
