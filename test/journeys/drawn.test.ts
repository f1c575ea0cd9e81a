/** Pads, seams and cuts drawn on the body in a real browser, kept over a reload, and made as they were shown. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { writeMesh } from '../../electron/formats/index.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { inventHelmet } from '../../electron/invented/helmet.ts';
import { fitOperation } from '../../electron/operations/fit.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { openLibrary } from '../../electron/store/connection.ts';
import * as things from '../../electron/store/making-records.ts';
import * as records from '../../electron/store/records.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { browserPath, openStudio, type StudioPage } from '../support/browser.ts';
import { clickPoint } from '../support/in-view.ts';

const HELMET = inventHelmet({ columns: 64, rows: 32, browMm: 46, chinMm: -45, wallMm: 3.5, mmPerUnit: 1 });

/** As long as a busy machine may take, ms. */
const SOON = { timeout: 15_000 };

let folder: string;
let studio: StudioPage;
let served: StudioPage['served'];
let page: Page;
let fittingId: string;
let revisionId: string;

const got = <T>(outcome: Outcome<T>): T => {
  if (!outcome.ok) throw new Error(`${outcome.fault.code} ${JSON.stringify(outcome.fault.facts)}`);
  return outcome.value;
};

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-drawn-'));
  await readyScreens(SCREENS_FOLDER);
  const path = join(folder, 'library.wearwright');
  const library = got(openLibrary(path, { create: true }));
  const wearerId = got(records.addWearer(library, { name: 'The captain (invented)' })).id;
  const scan = { wearerId, fileName: 'captain.obj', bytes: Buffer.from('v 0 0 0') };
  const scanId = got(records.addScan(library, scan)).id;
  const mesh = inventHead({ seed: 11, lengthMm: 198, breadthMm: 151, heightMm: 130 }).mesh(8000);
  const made = { name: 'Head', wearerId, scanId, recipe: {}, steps: [], programVersion: '0', mesh };
  const { form, revision } = got(records.addFormRevision(library, made));
  revisionId = revision.id;
  const bytes = got(writeMesh(HELMET.mesh, 'tin-hat.stl')).bytes;
  const part = got(records.addPart(library, { name: 'tin-hat', fileName: 'tin-hat.stl', bytes }));
  got(things.finishPart(library, part.id, { recipe: { unit: 'mm' }, figures: {}, mesh: HELMET.mesh }));
  const fitting = {
    formId: form.id,
    partId: part.id,
    name: 'tin-hat on the captain',
    draft: { placement: [...IDENTITY] },
  };
  fittingId = got(things.addFitting(library, fitting)).id;
  const foam = { material: 'EVA (invented stock)', nominalMm: 6, measuredMm: 5.8, compression: 0.2 };
  got(things.addStock(library, foam));
  got(things.addStock(library, { material: 'PU (invented stock)', nominalMm: 15, compression: 0.5 }));
  library.close();
  studio = await openStudio(path, SCREENS_FOLDER);
  ({ served, page } = studio);
}, 300_000);

afterAll(async () => {
  await studio?.close();
  rmSync(folder, { recursive: true, force: true });
});

const dialog = () => page.getByRole('dialog', { name: 'Cut and print' });

/** The desk of making, opened anew from a page fetched anew. */
async function open(hash: string, kind?: string): Promise<void> {
  await studio.goTo(`${hash}`);
  await page.getByRole('button', { name: 'Make something from it…' }).click();
  if (kind !== undefined) await dialog().getByRole('radio', { name: kind }).check({ force: true });
  await dialog().getByText('The view shows what would be made.').waitFor();
}

async function makeIt() {
  const before = new Set((await served.ask('making.list', {})).made.map(({ making }) => making.id));
  const newest = async () =>
    (await served.ask('making.list', {})).made.find(({ making }) => !before.has(making.id))?.making;
  await dialog().getByRole('button', { name: 'Make it' }).click();
  await dialog().waitFor({ state: 'detached' });
  await expect.poll(newest, { timeout: 90_000 }).toBeDefined();
  const made = await newest();
  if (made === undefined) throw new Error('nothing was made');
  return made;
}

describe.skipIf(browserPath() === undefined)('drawn on the body', () => {
  it('a pad is where it was drawn and of the foam chosen, on both sides, beside the usual place that was left', async () => {
    await served.ask('fitting.try', { id: fittingId });
    const tried = async () => (await served.ask('fitting.show', { id: fittingId })).tried;
    await expect.poll(tried, { timeout: 60_000 }).toBeDefined();
    await open(`#/fitting/${fittingId}`);
    for (const zone of ['brow', 'temples', 'back of head', 'nape', 'cheeks']) {
      await dialog()
        .getByRole('button', { name: `Drop the pad at the ${zone}` })
        .click();
    }
    await dialog().getByRole('button', { name: 'Draw a pad' }).click();
    // Round a place over the left ear, 45 mm by 26 mm as seen from that side.
    for (const [x, z] of [
      [-40, 50],
      [-40, 76],
      [5, 76],
      [5, 50],
    ]) {
      await clickPoint(page, 'left', [x, 70, z], 'dialog');
    }
    await dialog().getByText('pad 1: 4 places, closed').waitFor();
    await dialog().getByRole('button', { name: 'The line is done' }).click();
    await dialog().getByLabel('Name of the pad').fill('ear guard');
    await dialog().getByLabel('Foam of ear guard').selectOption({ label: 'EVA (invented stock), 5.8 mm' });
    const kept = async () => {
      const { planned } = await served.ask('plan.show', { kind: 'pads', subject: { fittingId } });
      return planned?.kind === 'pads' ? planned.draft : undefined;
    };
    await expect.poll(async () => (await kept())?.drawn[0]?.foams.length, SOON).toBe(1);
    expect((await kept())?.usual.map(({ zone }) => zone)).toEqual(['crown']);

    await open(`#/fitting/${fittingId}`);
    await dialog().getByText('ear guard: 4 places, closed').waitFor();
    const { pads, pieces } = (await makeIt()).figures as unknown as {
      pads: { name: string; areaMm2: number; stack: { material: string }[]; pieces: number[] }[];
      pieces: { number: number; mirrored: number }[];
    };
    expect(pads.map(({ name }) => name)).toEqual(['ear guard', 'crown']);
    expect(pads[0].stack.map(({ material }) => material)).toEqual(pads[0].stack.map(() => 'EVA (invented stock)'));
    // The skin leans away from the side, so there is more of it than is seen.
    expect(pads[0].areaMm2).toBeGreaterThan(0.9 * 45 * 26);
    expect(pads[0].areaMm2).toBeLessThan(1.7 * 45 * 26);
    const ear = pieces.filter(({ number }) => pads[0].pieces.includes(number));
    expect(ear.map(({ mirrored }) => mirrored)).toEqual(pads[0].pieces.map(() => 1));
    expect(studio.errors).toEqual([]);
  }, 180_000);

  it('a seam parts the pattern, and the finished one gives what the desk had said', async () => {
    await open(`#/form/${revisionId}`);
    await dialog().getByRole('button', { name: 'Draw a seam' }).click();
    for (const x of [75, 0, -90]) await clickPoint(page, 'above', [x, 0, 110], 'dialog');
    await dialog().getByText('seam 1: 3 places').waitFor();
    await dialog()
      .getByText(/^Without your seams/)
      .waitFor();
    const formId = (await served.ask('form.show', { revisionId })).form.id;
    const kept = async () => {
      const { planned } = await served.ask('plan.show', { kind: 'pattern', subject: { formId } });
      return planned?.kind === 'pattern' ? planned.draft.seams[0]?.points.length : undefined;
    };
    await expect.poll(kept, SOON).toBe(3);
    await open(`#/form/${revisionId}`);
    await dialog().getByText('seam 1: 3 places').waitFor();
    const words = await dialog()
      .getByText(/^Without your seams/)
      .textContent();
    const [without = 0, , withThem = 0] = [...(words ?? '').matchAll(/\d+(\.\d+)?/g)].map(([number]) => Number(number));
    expect(withThem).toBeLessThan(without);
    const { lines, pieces } = (await makeIt()).figures as unknown as {
      lines: { name: string; kind: string; sides: unknown[] }[];
      pieces: { strainP99Percent: number }[];
    };
    expect(lines.filter(({ kind }) => kind === 'given')).toMatchObject([{ name: 'seam 1', sides: [{}, {}] }]);
    expect(pieces).toHaveLength(2);
    // Told to a tenth of a percent.
    const most = Math.max(...pieces.map(({ strainP99Percent }) => strainP99Percent));
    expect(Math.abs(most - withThem)).toBeLessThan(0.051);
    expect(studio.errors).toEqual([]);
  }, 180_000);

  it('a cut is put by its number, its pieces are held against the bed, and they are what is made', async () => {
    await open(`#/fitting/${fittingId}`, 'Pieces to print');
    await dialog().getByText('2 pieces, all of which fit the bed; cuts of your own: 0, the program’s: 1.').waitFor();
    await dialog().getByRole('button', { name: 'Left from right' }).click();
    await dialog().getByLabel('Left at').fill('25');
    await dialog().getByLabel('Left at').press('Tab');
    await dialog()
      .getByText(/cuts of your own: 1,/)
      .waitFor();
    // The round handle of the sheet, by the keyboard: 10 mm along its normal.
    await dialog()
      .getByRole('button', { name: 'Shift the trim plane along its normal; arrow keys by 1 mm' })
      .press('Shift+ArrowUp');
    await expect.poll(() => dialog().getByLabel('Left at').inputValue(), { timeout: 15_000 }).toBe('35');
    await dialog().getByText('The view shows what would be made.').waitFor();
    const { planes, pieces } = (await makeIt()).figures as unknown as {
      planes: number[][];
      pieces: { fits: boolean }[];
    };
    expect(planes[0][1]).toBeCloseTo(35, 3);
    expect(planes[0].slice(3).map(Math.abs)).toEqual([0, 1, 0]);
    expect(pieces.every(({ fits }) => fits)).toBe(true);
    expect(studio.errors).toEqual([]);
  }, 180_000);

  it('a patch painted on the part alone counts while its place is found, as for the verb', async () => {
    await studio.goTo(`#/fitting/${fittingId}`);
    await page.getByRole('button', { name: 'Count only this patch' }).click();
    await page.getByLabel('Width of the brush on the part').fill('40');
    // Over the brow of the helmet, by mouse and by the key.
    await clickPoint(page, 'front', [105, 30, 80]);
    await clickPoint(page, 'front', [105, -30, 80]);
    const draft = async () => (await served.ask('fitting.show', { id: fittingId })).draft;
    await expect.poll(async () => (await draft()).patch?.points.length, SOON).toBe(2);
    await page.getByRole('group', { name: /the part in place$/ }).focus();
    await page.getByRole('button', { name: 'Above', exact: true }).click();
    await page.getByRole('group', { name: /the part in place$/ }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(async () => (await draft()).patch?.points.length, SOON).toBe(3);
    await page.keyboard.press('Control+z');
    await expect.poll(async () => (await draft()).patch?.points.length, SOON).toBe(2);
    const { patch } = await draft();
    expect(patch?.radiusMm).toBe(40);
    await page.getByLabel('Shift at most').fill('15');
    await page.getByLabel('Shift at most').press('Enter');
    await expect.poll(async () => (await draft()).limitShiftMm, SOON).toBe(15);
    const { placement, leastMm, ...wishes } = await draft();
    await page.getByRole('button', { name: 'Find where it sits best' }).click();
    const solved = async () => (await served.ask('fitting.show', { id: fittingId })).tried?.fit?.solved ?? null;
    await expect.poll(solved, { timeout: 90_000 }).not.toBeNull();
    const found = (await served.ask('fitting.show', { id: fittingId })).tried?.fit;

    const { positions, triangles } = await served.ask('form.mesh', { revisionId });
    const inputs = [HELMET.mesh, { positions: Float64Array.from(positions), triangles }].map((mesh) => ({
      mesh,
      name: 'apart',
      unit: 'millimetre' as const,
      fromFile: IDENTITY,
    }));
    const parameters = { ...wishes, leastMm, place: { matrix: placement }, solve: 'place' };
    const apart = (given: object) => {
      const { figures } = got(runOperation(fitOperation as unknown as Operation, inputs, { ...parameters, ...given }));
      return figures as unknown as { placement: number[]; solved: { leastMm: number } };
    };
    // The form came in single precision, and places agree as far as that lets them.
    const verb = apart({});
    for (const [k, entry] of verb.placement.entries())
      expect(Math.abs(entry - (found?.placement[k] ?? NaN))).toBeLessThan(0.05);
    expect(found?.solved?.leastMm).toBeCloseTo(verb.solved.leastMm, 1);
    const whole = apart({ patch: undefined });
    const apartMm = Math.hypot(...[3, 7, 11].map((k) => whole.placement[k] - verb.placement[k]));
    expect(apartMm).toBeGreaterThan(1);
    expect(studio.errors).toEqual([]);
  }, 180_000);
});
