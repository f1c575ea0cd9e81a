/**
 * The guide's pictures, made again: `node build/readme-pictures.ts DEMO LIBRARY`, of what
 * `npm run --silent wearwright -- demo --out DEMO --library LIBRARY` has made. Needs Chromium; the library is copied first.
 */
import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createCanvas } from '@napi-rs/canvas';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';
import type { Locator, Page } from 'playwright-core';
import { openBrowser, serveStudio } from '../test/support/browser.ts';
import { buildScreens } from './screens.ts';

const PICTURES = join(import.meta.dirname, 'pictures');
const WAIT_MS = 240_000;
/** A4 at this many pixels a point. */
const PAPER_SCALE = 520 / 595.276;
const [DEMO, LIBRARY] = process.argv.slice(2);

const inPictures = (name: string): string => join(PICTURES, `${name}.png`);

function drawMeshes(): void {
  for (const [from, name, view] of [
    ['captain-scan.zip', 'scan', 'three-quarter'],
    ['captain-form.3mf', 'form', 'three-quarter'],
    ['captain-liner.3mf', 'liner', 'below'],
  ]) {
    const words = [join(import.meta.dirname, 'draw-mesh.ts'), join(DEMO, from), inPictures(name)];
    const { status } = spawnSync(process.execPath, [...words, '--view', view, '--size', '300'], { stdio: 'inherit' });
    if (status !== 0) throw new Error(`${from} could not be drawn`);
  }
}

async function drawPaper(page: Page, button: Locator, name: string): Promise<void> {
  const [download] = await Promise.all([page.waitForEvent('download', { timeout: WAIT_MS }), button.click()]);
  const data = new Uint8Array(readFileSync(await download.path()));
  const first = await (await getDocument({ data, useSystemFonts: false, verbosity: 0 }).promise).getPage(1);
  const viewport = first.getViewport({ scale: PAPER_SCALE });
  const canvas = createCanvas(Math.round(viewport.width), Math.round(viewport.height));
  await first.render({ canvas: canvas as never, viewport }).promise;
  writeFileSync(inPictures(name), canvas.toBuffer('image/png'));
}

async function drawScreens(page: Page): Promise<void> {
  const shoot = async (name: string): Promise<void> => {
    // Marks come to rest, short notes go.
    await page.mouse.move(2, 2);
    await page.waitForTimeout(7000);
    await page.screenshot({ path: inPictures(name) });
  };
  const link = (name: RegExp | string): Locator => page.getByRole('link', { name }).last();
  await link(/captain/).click();
  const papers = page.getByRole('button', { name: 'Measurement sheet' });
  await drawPaper(page, papers, 'measurement-sheet');
  await page.getByRole('button', { name: 'Start a ticket' }).click();
  await page.locator('button[aria-controls=step-stand]').click();
  await page.getByRole('button', { name: /^Take all/ }).click({ timeout: WAIT_MS });
  await page.locator('button[aria-controls=step-trim]').click();
  await page.getByRole('button', { name: 'Cut at the neck' }).click();
  await page.locator('button[aria-controls=step-stand]').click();
  await shoot('studio-stand');
  await page.locator('button[aria-controls=step-true]').click();
  await page
    .getByText(/known to/)
    .first()
    .waitFor({ timeout: WAIT_MS });
  await page.locator('button[aria-controls=step-true]').scrollIntoViewIfNeeded();
  await shoot('studio-true');

  await page.setViewportSize({ width: 1280, height: 720 });
  await page.getByRole('link', { name: 'Wearwright' }).click();
  await link(/Lantern Guard/).click();
  await link('Head of the captain of the guard').click();
  await drawPaper(page, page.getByRole('button', { name: 'Fitting sheet' }), 'fitting-sheet');
  await page.goBack();
  await link(/Helmet.* on the captain/).click();
  await page.locator('.legend-bar').waitFor({ timeout: WAIT_MS });
  await shoot('studio-fitting');
  await link('Helmet: pads').click();
  await page.locator('.pattern-flat').waitFor({ timeout: WAIT_MS });
  await shoot('studio-pads');
}

const folder = mkdtempSync(join(tmpdir(), 'wearwright-pictures-'));
try {
  drawMeshes();
  copyFileSync(LIBRARY, join(folder, 'library.wearwright'));
  await buildScreens(join(folder, 'screens'));
  const served = await serveStudio(join(folder, 'library.wearwright'), join(folder, 'screens'));
  const browser = await openBrowser();
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, acceptDownloads: true });
  page.setDefaultTimeout(WAIT_MS);
  await page.goto(served.address);
  await drawScreens(page);
  await browser.close();
  await served.close();
} finally {
  rmSync(folder, { recursive: true, force: true });
}
