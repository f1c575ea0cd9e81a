/** Hair over a crown, painted on the form's page, looked at, and filled: a second form beside the true one; in a real browser. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { openLibrary } from '../../electron/store/connection.ts';
import * as records from '../../electron/store/records.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { openBrowser, serveStudio, type ServedStudio } from '../support/browser.ts';

const HAIR_MM = 18;
/** Round the crown's middle, mm. */
const HAIR_REACH_MM = 45;

let folder: string;
let browser: Browser;
let served: ServedStudio;
let revisionId: string;
let topMm: number;

const got = <T>(outcome: Outcome<T>): T => {
  if (!outcome.ok) throw new Error(`${outcome.fault.code} ${JSON.stringify(outcome.fault.facts)}`);
  return outcome.value;
};

/** A head of which a tuft of hair was scanned for skin. */
function hairyHead() {
  const { positions, triangles } = inventHead({ seed: 71 }).mesh(4000);
  topMm = boundsOf(positions).max[2];
  const hairy = positions.slice();
  for (let v = 0; v < hairy.length; v += 3) {
    const inside = HAIR_REACH_MM - Math.hypot(positions[v], positions[v + 1], positions[v + 2] - topMm);
    if (inside > 0) hairy[v + 2] += HAIR_MM * Math.min(1, inside / 12);
  }
  return { positions: hairy.map(Math.fround), triangles };
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-fill-'));
  await readyScreens(SCREENS_FOLDER);
  const path = join(folder, 'library.wearwright');
  const library = got(openLibrary(path, { create: true }));
  const wearerId = got(records.addWearer(library, { name: 'The long-haired one (invented)' })).id;
  const mesh = hairyHead();
  const bytes = Buffer.from('v 0 0 0');
  const scanId = got(records.addScan(library, { wearerId, fileName: 'head.obj', bytes })).id;
  const height = { kind: 'span' as const, name: 'tragion to top of head', valueMm: topMm, uncertaintyMm: 1.5 };
  got(records.addReadings(library, wearerId, [height]));
  const made = { name: 'Head', wearerId, scanId, recipe: {}, steps: [], programVersion: '0' };
  revisionId = got(records.addFormRevision(library, { ...made, mesh })).revision.id;
  library.close();
  browser = await openBrowser();
  served = await serveStudio(path, SCREENS_FOLDER);
}, 240_000);

afterAll(async () => {
  await browser?.close();
  await served?.close();
  rmSync(folder, { recursive: true, force: true });
});

it('paints the hair, shows what would move and how sure that is, and makes the filled form', async () => {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  page.setDefaultTimeout(120_000);
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(error.message));
  const shot = async (name: string): Promise<void> => {
    const to = process.env['FILL_PICTURES'];
    if (to !== undefined) await page.screenshot({ path: join(to, `${name}.png`) });
  };
  await page.goto(served.address);
  await page.goto(`${served.address.split('?')[0]}#/form/${revisionId}`);
  await page.getByRole('heading', { name: 'What the scan missed' }).waitFor();
  expect(await page.getByRole('button', { name: 'Look at it' }).isDisabled()).toBe(true);
  await page.getByLabel('Brush', { exact: true }).fill('50');
  await page.getByRole('button', { name: 'Above', exact: true }).click();
  await page.getByRole('button', { name: 'Paint on the form' }).click();
  // Round the tuft: the mirror paints the other side.
  for (const [x, y] of [
    [0, 0],
    [24, 14],
    [-24, 14],
    [0, 26],
  ]) {
    const place = await page.locator('.fitting-host').evaluate(
      (element: unknown, at) => {
        const host = element as {
          getBoundingClientRect(): { left: number; top: number };
          fittingView: { placeOf(p: unknown): { x: number; y: number } };
        };
        const box = host.getBoundingClientRect();
        const found = host.fittingView.placeOf(at);
        return { x: box.left + found.x, y: box.top + found.y };
      },
      [x, y, topMm + HAIR_MM],
    );
    await page.mouse.move(place.x, place.y);
    await page.mouse.down();
    await page.mouse.up();
  }
  await shot('painted');
  // The place is kept, and there again after a reload.
  const { form } = await served.ask('form.show', { revisionId });
  const kept = async () => {
    const { planned } = await served.ask('plan.show', { kind: 'fill', subject: { formId: form.id } });
    return planned?.kind === 'fill' ? planned.draft : undefined;
  };
  await expect.poll(async () => (await kept())?.dabs.length, { timeout: 20_000 }).toBeGreaterThan(5);
  expect((await kept())?.brushMm).toBe(50);
  await page.reload();
  await page.getByRole('button', { name: 'Show the place on the form' }).click();
  await page.getByRole('button', { name: 'Look at it' }).click();
  await page.getByText(/^Look again: Guessed, not scanned: the painted place/).waitFor();
  await page.getByText('What was filled, against what it replaces').waitFor();
  await page
    .getByRole('rowheader', { name: /tragion to top of head/ })
    .first()
    .waitFor();
  await page.getByRole('button', { name: /right$/i }).click();
  await page.waitForTimeout(500);
  await shot('looked-at');
  await page.getByRole('button', { name: 'Make the filled form' }).click();
  const { wearer } = await served.ask('form.show', { revisionId });
  const formsOf = async () => (await served.ask('wearer.show', { id: wearer.id })).forms;
  await expect.poll(async () => (await formsOf()).length, { timeout: 180_000 }).toBe(2);
  const filled = (await formsOf()).find(({ form }) => form.name === 'Head, filled');
  const made = filled?.revisions.at(-1)?.id ?? '';
  const mesh = await served.ask('form.mesh', { revisionId: made });
  // As tall as was read on the person, within what that reading is worth; the hair stood 18 mm higher.
  let top = -Infinity;
  for (let v = 2; v < mesh.positions.length; v += 3) top = Math.max(top, mesh.positions[v]);
  expect(Math.abs(top - topMm)).toBeLessThan(1.5);
  await page.goto(`${served.address.split('?')[0]}#/form/${made}`);
  await page.getByText(/The painted place: guessed, not scanned/).waitFor();
  await page.getByRole('heading', { name: 'Filled where the scan missed' }).waitFor();
  await page.getByText(/Made from Head, making 1, which stays as it is/).waitFor();
  await page.waitForTimeout(500);
  await shot('made');
  expect(errors).toEqual([]);
}, 400_000);
