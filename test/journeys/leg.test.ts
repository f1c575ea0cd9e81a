/** A lower leg with its foot, all the way: by the command line, and through the studio in a real browser. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { writeMesh } from '../../electron/formats/index.ts';
import { invert, multiply, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { scanLeg } from '../../electron/invented/scanned-body.ts';
import { sidedName } from '../../shared-types/measures/index.ts';
import { browserPath, openBrowser, serveStudio, type ServedStudio } from '../support/browser.ts';

/** Set to a folder, pictures of the screens are kept there. */
const PICTURES = process.env['WEARWRIGHT_PICTURES'];
const MAIN = join(import.meta.dirname, '../../electron/hosts/cli/main.ts');

const LEG = scanLeg({ seed: 4, lengthMm: 402, stoutness: 1.04 }, 16_000, { unitsPerMm: 0.001 });
const { body, recipe, scan } = LEG;
const written = writeMesh(scan.mesh, 'leg.ply');
if (!written.ok) throw new Error(written.fault.code);
const { bytes, toFile } = written.value;
/** Points of the recipe are in the scan's numbers; the file written of it has the same unless the format turns them. */
const filed = (point: readonly number[]): [number, number, number] => {
  const [x, y, z] = transformPoint(toFile, [point[0], point[1], point[2]]);
  return [x, y, z];
};
const TRUE_MM = new Map(
  [...body.spans, ...body.girths, ...(body.extremes ?? [])].map((one) => [one.name, one.lengthMm]),
);
const trueMm = (name: string): number => TRUE_MM.get(name) ?? NaN;

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-leg-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a leg by the command line', { timeout: 300_000 }, () => {
  const wearwright = (...words: string[]): Record<string, any> => {
    const { status, stdout, stderr } = spawnSync(process.execPath, [MAIN, ...words], { cwd: folder, encoding: 'utf8' });
    expect(status, stderr).toBe(0);
    return words.includes('--json') ? (JSON.parse(stdout) as Record<string, any>) : {};
  };

  it('goes from its scan to a form of the true size, a liner for 5 mm of foam, and its sheet', () => {
    writeFileSync(join(folder, 'leg.ply'), bytes);
    writeFileSync(join(folder, 'recipe.json'), JSON.stringify(recipe));
    const form = wearwright('form', 'leg.ply', '-o', 'form.3mf', '--recipe', 'recipe.json', '--json');
    const { factor, standardUncertainty, outliers } = form['true'];
    expect(outliers).toEqual([]);
    expect(Math.abs(factor - scan.truth.mmPerUnit)).toBeLessThan(2 * standardUncertainty);
    expect(form['health']).toMatchObject({ watertight: true, selfIntersections: 0, pieces: 1 });
    // The calf is found by being thickest: its height was given by nobody.
    const calf = form['checks'].find(({ name }: { name: string }) => name === 'calf circumference');
    const scale = factor / scan.truth.mmPerUnit;
    expect(Math.abs(calf.onFormMm / scale - trueMm('calf circumference'))).toBeLessThan(1.5);

    // Measured on the form by landmarks carried there: a girth of the closed surface, sole to knee, against the truth.
    const at = (name: string): readonly number[] =>
      transformPoint(form['matrix'], transformPoint(scan.truth.formToScan, body.landmarks[name]));
    const names = ['malleolus-outer', 'malleolus-inner', 'knee-outer', 'knee-inner', 'patella'];
    const wanted = {
      region: 'limb',
      landmarks: Object.fromEntries(names.map((name) => [name, at(name)])),
      levels: (body.extremes ?? []).map(({ name, most, between }) => ({ name, most, between })),
    };
    writeFileSync(join(folder, 'wanted.json'), JSON.stringify(wanted));
    const { girths } = wearwright('measure', 'form.3mf', '--spans', 'wanted.json', '--json');
    expect(girths).toHaveLength(2);
    for (const { name, lengthMm } of girths) expect(Math.abs(lengthMm / scale - trueMm(name)), name).toBeLessThan(1.5);

    const liner = wearwright('line', 'form.3mf', '-o', 'liner.stl', '--foam', '5', '--tolerance', '0.4', '--json');
    expect(liner).toMatchObject({ watertight: true, selfIntersections: 0 });
    expect(liner['meanAbsErrorMm']).toBeLessThan(0.1);
    wearwright('sheet', '--kind', 'measures', '--region', 'leg', '-o', 'sheet.pdf');
    expect(readFileSync(join(folder, 'sheet.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
  });
});

describe.skipIf(browserPath() === undefined)('a leg in the studio', { timeout: 240_000 }, () => {
  let browser: Browser;
  let served: ServedStudio;
  beforeAll(async () => {
    await readyScreens(SCREENS_FOLDER);
    browser = await openBrowser();
    served = await serveStudio(join(folder, 'library.wearwright'), SCREENS_FOLDER);
  }, 120_000);
  afterAll(async () => {
    await browser?.close();
    await served?.close();
  });

  async function picture(page: Page, name: string): Promise<void> {
    if (PICTURES === undefined) return;
    mkdirSync(PICTURES, { recursive: true });
    for (const [width, height] of [
      [1280, 720],
      [1920, 1080],
    ]) {
      for (const colorScheme of ['light', 'dark'] as const) {
        await page.setViewportSize({ width, height });
        await page.emulateMedia({ colorScheme });
        await page.waitForTimeout(500);
        await page.screenshot({ path: join(PICTURES, `${name}-${width}-${colorScheme}.png`) });
      }
    }
    await page.setViewportSize({ width: 1280, height: 800 });
  }

  it('takes girths where the leg is thickest and at a height, sizes the scan with them and makes the form', async () => {
    const { upload } = await served.ask('scan.receive', { fileName: 'leg.ply', bytes: new Uint8Array(bytes) });
    const kept = { upload, fileName: 'leg.ply', wearerName: 'Invented Greta', region: 'leg', side: 'right' };
    const { ticketId: id, wearerId } = await served.ask('scan.keep', kept);
    for (const { name, measured } of recipe.spans) {
      const valueMm = measured;
      await served.ask('reading.add', { wearerId, name: sidedName(name, 'right'), kind: 'span', valueMm });
    }
    const { ticket } = await served.ask('ticket.show', { id });
    // Only what stands it up and the spans' own ends: no mark on calf and thinnest ankle.
    const marks = Object.entries(recipe.landmarks).filter(([name]) => !/^(calf|ankle)-/.test(name));
    const landmarks = Object.fromEntries(marks.map(([name, p]) => [name, { point: filed(p), origin: 'hand' }]));
    await served.ask('ticket.edit', {
      id,
      label: 'place the landmarks',
      draft: { ...ticket.draft, faces: 3000, landmarks },
    });

    const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(error.message));
    await page.goto(`${served.address}#/ticket/${id}`);
    await page.locator('button[aria-controls=step-true]').click({ timeout: 90_000 });
    const type = async (measure: string, mm: number): Promise<void> => {
      const field = page.getByLabel(`${measure}, right on the person`);
      await field.fill(mm.toFixed(1));
      await field.press('Enter');
    };
    const residualOf = async (name: string) =>
      (await served.ask('ticket.size', { id })).fit?.residuals.find((one) => one.name === sidedName(name, 'right'));
    // Mended first, however busy the machine is.
    await page.getByLabel('calf circumference, right on the person').waitFor({ timeout: 90_000 });
    await type('calf circumference', trueMm('calf circumference'));
    await expect.poll(async () => (await residualOf('calf circumference'))?.role, { timeout: 20_000 }).toBe('used');
    // Against the other readings, which scatter by 1 mm each: a girth of 400 mm to half a percent.
    expect(Math.abs((await residualOf('calf circumference'))?.residualMm ?? NaN)).toBeLessThan(4);
    await page.getByRole('button', { name: 'calf circumference, right', exact: true }).click();
    await expect.poll(() => page.getByLabel('The tape lies').inputValue()).toBe('thickest');
    await picture(page, 'leg-calf');

    await page.getByRole('button', { name: 'Add a girth…' }).click();
    const dialog = page.getByRole('dialog', { name: 'A girth of your own' });
    await dialog.getByLabel('By', { exact: true }).fill('60');
    await dialog.getByLabel('Above or below').selectOption('below');
    await dialog.getByLabel('The landmark').selectOption('knee-inner');
    await picture(page, 'leg-dialog');
    await dialog.getByRole('button', { name: 'Add it' }).click();
    const added = 'girth 60 mm below knee inner';
    const drawn = async () =>
      (await served.ask('ticket.size', { id })).drawn.find(({ name }) => name.startsWith(added));
    await expect.poll(async () => (await drawn())?.kind, { timeout: 20_000 }).toBe('girth');
    // Sixty millimetres of the true size under the mark, whatever the scan's own unit.
    const shown = await drawn();
    const { matrix } = await served.ask('ticket.stand', { id });
    const knee = transformPoint(
      multiply(matrix, invert((await served.ask('ticket.mesh', { id, which: 'mended' })).toFile)),
      [...filed(recipe.landmarks['knee-inner'])] as never,
    );
    const [x, y, z] = shown?.points ?? [];
    // The view takes the file's unit, metres, at its word.
    const viewMmPerMm = (1000 * (shown?.onScan ?? NaN)) / (shown?.scaledMm ?? NaN);
    expect((knee[2] - transformPoint(matrix, [x, y, z])[2]) / viewMmPerMm).toBeCloseTo(60, 3);
    await type(added, (await drawn())?.scaledMm ?? NaN);
    await expect.poll(async () => (await residualOf(added))?.role, { timeout: 20_000 }).toBe('used');
    await picture(page, 'leg-height');
    const count = (await served.ask('ticket.show', { id })).ticket.draft.measures.length;
    await served.ask('history.undo', {});
    await served.ask('history.undo', {});
    expect((await served.ask('ticket.show', { id })).ticket.draft.measures).toHaveLength(count - 1);
    await served.ask('history.redo', {});
    await served.ask('history.redo', {});

    await page.locator('button[aria-controls=step-lighten]').click();
    await page.getByRole('button', { name: 'Make the form' }).click();
    await expect
      .poll(async () => (await served.ask('ticket.show', { id })).revision?.faceCount ?? 0, { timeout: 90_000 })
      .toBeGreaterThan(2000);
    const { revision } = await served.ask('ticket.show', { id });
    expect(revision?.recipe).toMatchObject({
      region: 'limb',
      levels: [
        { name: 'calf circumference, right', most: 'thickest' },
        { name: `${added}, right`, at: 'knee-inner', aboveMm: -60 },
      ],
    });
    const figures = (verb: string) => revision?.steps.find((one) => one.verb === verb)?.figures ?? {};
    const { factor, standardUncertainty } = figures('true') as { factor: number; standardUncertainty: number };
    expect(Math.abs(factor - scan.truth.mmPerUnit)).toBeLessThan(2.5 * standardUncertainty);
    expect(errors).toEqual([]);
    const paper = await served.ask('paper.fitting', { revisionId: revision?.id, paper: 'a4' });
    if (PICTURES !== undefined) writeFileSync(join(PICTURES, 'leg-fitting.pdf'), paper.bytes);
    expect(new TextDecoder().decode(paper.bytes.subarray(0, 5))).toBe('%PDF-');
    await page.close();
  });
});
