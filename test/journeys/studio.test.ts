/** From a scan dropped on the first start to a form and its file, in a real browser; and what can come between. */
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { strToU8, unzipSync, zipSync } from 'fflate';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { writeMesh } from '../../electron/formats/index.ts';
import { invert, multiply, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { inventHead, type HeadLandmark } from '../../electron/invented/head.ts';
import { roughen } from '../../electron/invented/phone-scan.ts';
import { landmarkKind } from '../../shared-types/measures/index.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { clickPoint, isSeen } from '../support/in-view.ts';
import { browserPath, openBrowser, serveStudio, type ServedStudio } from '../support/browser.ts';
import { complaintsInBothLights } from '../support/access.ts';

/** Set to a folder, pictures of the way are kept there. */
const PICTURES = process.env['WEARWRIGHT_PICTURES'];

const HEAD = inventHead({ seed: 5, lengthMm: 194, breadthMm: 152, heightMm: 129 });
const SCAN = roughen(HEAD.mesh(16_000), { seed: 5, unitsPerMm: 0.001, colours: true });

/** The scan as a phone sends it: an OBJ in metres, in a zip. */
function zippedObj(): Uint8Array {
  const written = writeMesh(SCAN.mesh, 'head.obj');
  if (!written.ok) throw new Error('the scan could not be written');
  return zipSync({ 'scan/head.obj': written.value.bytes, 'scan/readme.txt': strToU8('invented') });
}

let folder: string;
let browser: Browser;
let served: ServedStudio;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-journey-'));
  await readyScreens(SCREENS_FOLDER);
  browser = await openBrowser();
  served = await serveStudio(join(folder, 'library.wearwright'), SCREENS_FOLDER);
}, 300_000);

afterAll(async () => {
  await browser?.close();
  await served?.close();
  rmSync(folder, { recursive: true, force: true });
});

async function open(width = 1280, height = 800): Promise<{ page: Page; errors: string[] }> {
  const page = await browser.newPage({ viewport: { width, height }, acceptDownloads: true });
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') errors.push(message.text());
  });
  await page.goto(served.address);
  return { page, errors };
}

async function keepPicture(page: Page, name: string): Promise<void> {
  if (PICTURES === undefined) return;
  mkdirSync(PICTURES, { recursive: true });
  await page.screenshot({ path: join(PICTURES, `${name}.png`) });
}

/** Drop a file on the page as a hand does. */
async function drop(page: Page, name: string, bytes: Uint8Array): Promise<void> {
  const data = Buffer.from(bytes).toString('base64');
  // Scripts for the page are texts: this program knows no page.
  const transfer = await page.evaluateHandle(`(() => {
    const dropped = new DataTransfer();
    const raw = Uint8Array.from(atob('${data}'), (letter) => letter.charCodeAt(0));
    dropped.items.add(new File([raw], ${JSON.stringify(name)}));
    return dropped;
  })()`);
  for (const event of ['dragenter', 'dragover', 'drop']) {
    await page.dispatchEvent('body', event, { dataTransfer: transfer });
  }
}

const ticketIdOf = (page: Page): string => /#\/ticket\/([0-9a-f-]+)/.exec(page.url())?.[1] ?? '';
const step = (page: Page, name: string) => page.locator(`button[aria-controls=step-${name}]`);

/** Click a point of the truth in the picture, looking from where it can be seen. */
async function clickLandmark(page: Page, name: HeadLandmark, view: string): Promise<void> {
  const id = ticketIdOf(page);
  const where = async (): Promise<Vec3> => {
    const [{ matrix }, { toFile }] = [
      await served.ask('ticket.stand', { id }),
      await served.ask('ticket.mesh', { id, which: 'mended' }),
    ];
    const toScene = multiply(matrix, invert(toFile));
    return transformPoint(toScene, transformPoint(SCAN.truth.formToScan, HEAD.landmarks[name]));
  };
  const button = page.getByRole('button', { name: landmarkKind(name)?.title ?? name, exact: true });
  // The next one to place is taken up by itself.
  const own = button.and(page.locator('.landmark-name'));
  if ((await own.getAttribute('aria-pressed')) !== 'true') await own.click();
  // The stand follows each landmark; this one is looked for where it then lies.
  await expect.poll(async () => isSeen(page, view, await where(), 4), { timeout: 60_000 }).toBe(true);
  await clickPoint(page, view, await where());
  await expect
    // The program may have found it already: what counts is what was clicked.
    .poll(async () => (await served.ask('ticket.show', { id })).ticket.draft.landmarks[name]?.origin ?? 'guess', {
      timeout: 20_000,
    })
    .not.toBe('guess');
}

/** xyz of every vertex in a 3MF, read by its own few lines: the core specification's <vertex> elements, unit millimetre. */
function verticesOf3mf(bytes: Uint8Array): Vec3[] {
  const entries = unzipSync(bytes);
  const name = Object.keys(entries).find((entry) => entry.endsWith('.model')) ?? '';
  const text = new TextDecoder().decode(entries[name]);
  expect(/<model[^>]*unit="([a-z]+)"/.exec(text)?.[1] ?? 'millimeter').toBe('millimeter');
  return [...text.matchAll(/<vertex x="([^"]+)" y="([^"]+)" z="([^"]+)"/g)].map(
    ([, x, y, z]) => [Number(x), Number(y), Number(z)] as const,
  );
}

describe.skipIf(browserPath() === undefined)('the studio', () => {
  it('takes a zipped scan in metres to a form and a 3MF of the true size, after three decisions', async () => {
    const { page, errors } = await open();
    await page
      .getByRole('button', { name: /invented production/i })
      .first()
      .waitFor();
    await keepPicture(page, 'first-start');
    await drop(page, 'head.zip', zippedObj());
    const dialog = page.getByRole('dialog');
    await dialog.getByLabel('Name').fill('Invented Ida');
    await dialog.getByRole('button', { name: 'Keep the scan and open its ticket' }).click();
    await page.waitForURL(/#\/ticket\//);
    await page.getByText('where to cut?').waitFor({ timeout: 60_000 });
    const id = ticketIdOf(page);

    // First decision: where to cut.
    await page.getByRole('button', { name: 'Cut at the neck' }).waitFor();
    await page.getByRole('button', { name: 'Cut at the neck' }).click();
    await expect.poll(async () => (await served.ask('ticket.show', { id })).ticket.draft.trim.length).toBe(1);
    await keepPicture(page, 'trim');

    // Second: the landmarks.
    await step(page, 'stand').click();
    const order: [HeadLandmark, string][] = [
      ['tragion-left', 'left'],
      ['tragion-right', 'right'],
      ['orbitale-left', 'front'],
      ['glabella', 'front'],
      ['opisthocranion', 'back'],
      ['euryon-left', 'left'],
      ['euryon-right', 'right'],
    ];
    for (const [name, view] of order) await clickLandmark(page, name, view);
    const placed = (await served.ask('ticket.show', { id })).ticket.draft.landmarks;
    for (const [name] of order) {
      const truth = transformPoint(SCAN.truth.formToScan, HEAD.landmarks[name]);
      const missMm = 1000 * Math.hypot(...placed[name].point.map((x, k) => x - truth[k]));
      expect(missMm, name).toBeLessThan(2.5);
    }
    await page.getByText('level by its landmarks').waitFor();
    await keepPicture(page, 'stand');

    // Third: the measurements, one of them in inches, one by sums.
    await step(page, 'true').click();
    const type = async (measure: string, text: string): Promise<void> => {
      const field = page.getByLabel(`${measure} on the person`);
      await field.fill(text);
      await field.press('Enter');
    };
    const spans = new Map(HEAD.spans.map((span) => [span.name, span.lengthMm]));
    await type('head length', (spans.get('head length') as number).toFixed(1));
    await type('head breadth', `${((spans.get('head breadth') as number) / 25.4).toFixed(3)} in`);
    const tragions = spans.get('bitragion breadth') as number;
    await type('bitragion breadth', `${(tragions - 100).toFixed(1)}+100`);
    await expect
      .poll(async () => (await served.ask('ticket.size', { id })).fit?.residuals.length, { timeout: 30_000 })
      .toBe(3);
    await page.getByText('mm for one number of the scan').waitFor();
    await page.waitForTimeout(500);
    await keepPicture(page, 'true-up-desk');

    await step(page, 'lighten').click();
    await page.getByRole('button', { name: 'Make the form' }).click();
    await page.getByRole('button', { name: 'Look at the form' }).click({ timeout: 90_000 });
    await page.waitForURL(/#\/form\//);
    await page.getByRole('button', { name: 'Save the file' }).waitFor();
    await page.waitForTimeout(800);
    await keepPicture(page, 'form');
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save the file' }).click(),
    ]);
    expect(download.suggestedFilename()).toMatch(/\.3mf$/);
    const vertices = verticesOf3mf(readFileSync(await download.path()));
    expect(vertices.length).toBeGreaterThan(4000);
    // Breadth at the level of the euryons, and length from brow to back, as a calliper would take them on the print.
    const [euryon, glabella] = [HEAD.landmarks['euryon-left'], HEAD.landmarks.glabella];
    const wide = vertices.filter((v) => Math.abs(v[2] - euryon[2]) < 12 && Math.abs(v[0] - euryon[0]) < 30);
    const breadth = Math.max(...wide.map((v) => v[1])) - Math.min(...wide.map((v) => v[1]));
    expect(Math.abs(breadth - (spans.get('head breadth') as number))).toBeLessThan(1.6);
    const far = Math.max(
      ...vertices.map((v) => Math.hypot(v[0] - glabella[0], v[1], v[2] - glabella[2]) * (v[2] > -20 ? 1 : 0)),
    );
    expect(Math.abs(far - (spans.get('head length') as number))).toBeLessThan(2.5);
    expect(errors).toEqual([]);
    await page.goto(served.address);
    await page.getByText('Invented Ida').waitFor();
    await page.close();
  });

  it('stops when told to and leaves the ticket as it was; a page reloaded meanwhile finds the work going on', async () => {
    const { page } = await open();
    await page.getByText('Invented Ida').click();
    await page.waitForURL(/#\/wearer\//);
    const { wearers } = await served.ask('shelf.show', {});
    const shown = await served.ask('wearer.show', { id: wearers[0].id });
    const [ticket] = shown.tickets;
    const revisions = shown.forms[0].revisions.length;
    await page.goto(`${served.address.replace(/\?.*/, '')}#/ticket/${ticket.id}`);
    await step(page, 'lighten').click();
    await page.getByRole('button', { name: 'Make the form again' }).click();
    await page
      .getByRole('button', { name: /^Stop: Making/ })
      .first()
      .click();
    await page.getByText('Stopped as you asked; nothing was changed.').first().waitFor();
    expect((await served.ask('wearer.show', { id: wearers[0].id })).forms[0].revisions).toHaveLength(revisions);

    await page.getByRole('button', { name: 'Make the form again' }).click();
    await page.getByRole('progressbar').first().waitFor();
    await page.reload();
    await expect
      .poll(async () => (await served.ask('wearer.show', { id: wearers[0].id })).forms[0].revisions.length, {
        timeout: 60_000,
      })
      .toBe(revisions + 1);
    await step(page, 'lighten').click();
    await page.getByText(`making ${revisions + 1}`).waitFor();
    await page.close();
  });

  it('refuses a broken file in one sentence and keeps nothing of it', async () => {
    const { page } = await open();
    await page.getByText('Invented Ida').waitFor();
    const before = (await served.ask('shelf.show', {})).wearers.length;
    await drop(page, 'portrait.obj', Buffer.from([0xff, 0xd8, 0xff, 0xe0, 0, 16, 0x4a, 0x46, 0x49, 0x46, 0, 1]));
    const dialog = page.getByRole('dialog');
    await dialog.getByRole('radio', { name: 'Somebody new' }).check({ force: true });
    await dialog.getByLabel('Name').fill('Invented Nobody');
    await dialog.getByRole('button', { name: 'Keep the scan and open its ticket' }).click();
    await dialog
      .getByText(/portrait\.obj/)
      .last()
      .waitFor();
    // Asked once more, it is the same file that is refused, not one that is gone.
    await dialog.getByRole('button', { name: 'Keep the scan and open its ticket' }).click();
    await page.waitForTimeout(600);
    expect(await dialog.textContent()).not.toContain('received file');
    expect((await served.ask('shelf.show', {})).wearers).toHaveLength(before);
    await page.close();
  });

  it('holds the rules of access on every step of a ticket, in both lights', async () => {
    const { page } = await open();
    const { wearers } = await served.ask('shelf.show', {});
    const [ticket] = (await served.ask('wearer.show', { id: wearers[0].id })).tickets;
    await page.goto(`${served.address.replace(/\?.*/, '')}#/ticket/${ticket.id}`);
    await step(page, 'intake').waitFor();
    for (const name of ['intake', 'mend', 'trim', 'stand', 'true', 'lighten']) {
      await step(page, name).click();
      await page.locator(`#step-${name} :not(:empty)`).first().waitFor();
      await page.waitForTimeout(300);
      const found = await complaintsInBothLights(page, (light) => keepPicture(page, `${name}-${light}`));
      expect(found, name).toEqual([]);
    }
    await page.close();
  });
});
