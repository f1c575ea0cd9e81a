/** A liner thought over on the desk: a zone painted on the form, looked at coarsely, made, and measured on what came out. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { openLibrary } from '../../electron/store/connection.ts';
import * as records from '../../electron/store/records.ts';
import { openBrowser, serveStudio, type ServedStudio } from '../support/browser.ts';
import { sphere } from '../support/solids.ts';

/** A ball stands for the head: on it, thickness is the radius less its own. */
const RADIUS = 80;

/** As long as a busy machine may take, ms. */
const SOON = { timeout: 15_000 };

let folder: string;
let browser: Browser;
let served: ServedStudio;
let revisionId: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-liner-'));
  await readyScreens(SCREENS_FOLDER);
  const path = join(folder, 'library.wearwright');
  const library = openLibrary(path, { create: true });
  if (!library.ok) throw new Error(library.fault.code);
  const wearer = records.addWearer(library.value, { name: 'A ball (invented)' });
  if (!wearer.ok) throw new Error(wearer.fault.code);
  const wearerId = wearer.value.id;
  const scan = records.addScan(library.value, { wearerId, fileName: 'ball.obj', bytes: Buffer.from('v 0 0 0') });
  if (!scan.ok) throw new Error(scan.fault.code);
  const made = { name: 'Ball', wearerId, scanId: scan.value.id, recipe: {}, steps: [], programVersion: '0' };
  const form = records.addFormRevision(library.value, { ...made, mesh: sphere(RADIUS, 5) });
  if (!form.ok) throw new Error(form.fault.code);
  revisionId = form.value.revision.id;
  records.addProject(library.value, { name: 'The glass harbour (invented)' });
  library.value.close();
  browser = await openBrowser();
  served = await serveStudio(path, SCREENS_FOLDER);
}, 120_000);

afterAll(async () => {
  await browser?.close();
  await served?.close();
  rmSync(folder, { recursive: true, force: true });
});

/** Where a point of the form lies on the screen. */
const placeOf = (page: Page, point: readonly number[]): Promise<{ x: number; y: number }> =>
  page.locator('.fitting-host').evaluate((element: unknown, at) => {
    const host = element as {
      getBoundingClientRect(): { left: number; top: number };
      fittingView: { placeOf(p: unknown): { x: number; y: number } };
    };
    const box = host.getBoundingClientRect();
    const place = host.fittingView.placeOf(at);
    return { x: box.left + place.x, y: box.top + place.y };
  }, point);

it('paints a zone on both sides, looks at it, makes the liner for a project, and the liner is as thick there as said', async () => {
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(error.message));
  await page.goto(served.address);
  await page.goto(`${served.address.split('?')[0]}#/form/${revisionId}`);
  await page.getByRole('button', { name: 'Make a liner…' }).click();
  await page.getByText(/litres of foam/).waitFor();
  await page.getByLabel('Thickness by sliding').fill('6');
  await expect.poll(() => page.getByLabel('Foam thickness').inputValue(), SOON).toBe('6');
  await page.getByRole('button', { name: 'Front', exact: true }).click();
  await page.getByRole('button', { name: 'Paint a zone' }).click();
  await page.getByLabel('Foam as bought').fill('15');
  await page.getByLabel('Pressed together by').fill('20');
  await page.getByLabel(/^Width of the brush/).fill('30');
  // A stroke over the wearer's left of the front; the mirror paints the other.
  const middle = [RADIUS * Math.cos(0.5), RADIUS * Math.sin(0.5), 0];
  const [from, to] = await Promise.all([
    placeOf(page, [middle[0], middle[1], 12]),
    placeOf(page, [middle[0], middle[1], -12]),
  ]);
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  await page.mouse.move(to.x, to.y, { steps: 8 });
  await page.mouse.up();
  await page.getByText(/painted in \d+ touches/).waitFor();
  await page.getByText('12.0 mm of room when worn').waitFor();
  await page.getByLabel('For the project').selectOption({ label: 'The glass harbour (invented)' });
  await page.getByRole('button', { name: 'Brush', exact: true }).click();
  await page.getByRole('button', { name: 'Make it' }).click();

  const linerOf = async () =>
    (await served.ask('wearer.show', { id: (await served.ask('form.show', { revisionId })).wearer.id })).liners;
  await expect.poll(async () => (await linerOf()).length, { timeout: 60_000 }).toBe(1);
  const [{ id }] = await linerOf();
  const { liner, mesh } = await served.ask('liner.show', { id });
  expect(liner.projectId).toBeDefined();
  const [zone] = liner.figures['zones'] as { thicknessMm: number; meanMm: number; samples: number }[];
  expect([zone.thicknessMm, zone.samples > 50]).toEqual([12, true]);
  expect(Math.abs(zone.meanMm - 12)).toBeLessThan(0.05);
  // Read on the mesh itself: 12 mm over both painted places, 6 mm behind.
  for (const [side, thickness] of [
    [middle, 12],
    [[middle[0], -middle[1], 0], 12],
    [[-RADIUS, 0, 0], 6],
  ] as const) {
    let best = { cosine: -1, radius: 0 };
    for (let v = 0; v < mesh.positions.length; v += 3) {
      const [x, y, z] = mesh.positions.subarray(v, v + 3);
      const radius = Math.hypot(x, y, z);
      const cosine = (x * side[0] + y * side[1] + z * side[2]) / (radius * RADIUS);
      if (cosine > best.cosine) best = { cosine, radius };
    }
    expect(Math.abs(best.radius - RADIUS - thickness)).toBeLessThan(0.15);
  }
  await page.goto(`${served.address.split('?')[0]}#/liner/${id}`);
  await page.getByRole('rowheader', { name: 'zone 1' }).waitFor();
  expect(errors).toEqual([]);
  await page.close();
}, 120_000);

it('keeps what is planned: drawn by mouse, by keys and by numbers, there again after a reload, taken back and done again', async () => {
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(error.message));
  await page.goto(served.address);
  const { form } = await served.ask('form.show', { revisionId });
  const kept = async () => {
    const { planned } = await served.ask('plan.show', { kind: 'liner', subject: { formId: form.id } });
    if (planned !== undefined && planned.kind !== 'liner') throw new Error(planned.kind);
    return planned?.draft;
  };
  const open = async (): Promise<void> => {
    await page.goto(`${served.address.split('?')[0]}#/form/${revisionId}`);
    await page.getByRole('button', { name: 'Go on with the liner…' }).click();
    await page.getByText(/litres of foam/).waitFor();
  };
  // What the journey before planned is still on the desk.
  await open();
  await expect.poll(() => page.getByLabel('Foam thickness').inputValue(), SOON).toBe('6');
  await page.getByRole('button', { name: 'Begin anew' }).click();
  await expect.poll(async () => (await kept())?.zones.length, SOON).toBe(0);
  await page.getByLabel('Foam thickness').fill('9.5');
  await expect.poll(async () => (await kept())?.foamMm, SOON).toBe(9.5);

  await page.getByRole('button', { name: 'Front', exact: true }).click();
  await page.getByRole('button', { name: 'Draw a line' }).click();
  // A ring round the pole that faces forward: two places by mouse, one with keys in the middle of the picture.
  for (const point of [
    [RADIUS * Math.cos(0.6), RADIUS * Math.sin(0.6), 0],
    [RADIUS * Math.cos(0.6), 0, RADIUS * Math.sin(0.6)],
  ]) {
    const at = await placeOf(page, point);
    await page.mouse.click(at.x, at.y);
  }
  await page.getByText('Line 1: 2 places').waitFor();
  await page.getByRole('group', { name: /^Ball, making/ }).focus();
  for (let turn = 0; turn < 5; turn++) await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('Enter');
  await page.getByText('Line 1: 3 places, closed').waitFor();
  await page.getByRole('button', { name: 'Add a place by numbers' }).click();
  await page.getByLabel('Up', { exact: true }).fill('-46');
  await page.getByLabel('Up', { exact: true }).press('Enter');
  await expect.poll(async () => (await kept())?.curves[0]?.length, SOON).toBe(4);
  const places = async () => (await kept())?.curves[0] ?? [];
  // Laid on the ball, whatever was typed (its facets lie at most 0.1 mm under its radius).
  await expect.poll(async () => (await places())[3]?.[2] ?? 0, SOON).toBeLessThan(-35);
  for (const at of await places()) expect(Math.abs(Math.hypot(...at) - RADIUS)).toBeLessThan(0.2);
  const before = (await places())[3];
  await page.getByRole('button', { name: 'Place 4', exact: true }).focus();
  await page.keyboard.press('Shift+ArrowUp');
  await expect.poll(async () => (await places())[3]?.[2] ?? 0, SOON).toBeGreaterThan((before?.[2] ?? 0) + 5);

  const whole = await kept();
  await page.reload();
  await open();
  await expect.poll(() => page.getByLabel('Foam thickness').inputValue(), SOON).toBe('9.5');
  await page.getByText('Line 1: 4 places, closed').waitFor();
  expect(await kept()).toEqual(whole);
  // The last step of the hand goes, and comes back.
  await page.keyboard.press('Escape');
  await page.getByRole('heading', { name: 'Make a liner' }).click();
  await page.keyboard.press('Control+z');
  await expect.poll(async () => (await places())[3], SOON).toEqual(before);
  await page.keyboard.press('Control+y');
  await expect.poll(async () => await kept(), SOON).toEqual(whole);
  // Dropped and undone at once: undo waits for what is still in the hand.
  await page.getByRole('button', { name: 'Drop line 1' }).click();
  await page.keyboard.press('Control+z');
  await page.getByText('Line 1: 4 places, closed').waitFor();
  await expect.poll(async () => await kept(), SOON).toEqual(whole);
  expect(errors).toEqual([]);
  await page.close();
}, 120_000);
