/** A helmet in inches brought in, sized, tried on, padded, cut for the printer, and tried on a whole company; in a real browser. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { unzipSync } from 'fflate';
import type { Download, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { writeMesh } from '../../electron/formats/index.ts';
import { invert, transformMesh, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { inventHelmet } from '../../electron/invented/helmet.ts';
import { openLibrary, type Library } from '../../electron/store/connection.ts';
import * as records from '../../electron/store/records.ts';
import type { Tried } from '../../shared-types/calls/fittings.ts';
import type { CallResult } from '../../shared-types/contract.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { browserPath, openStudio, type StudioPage } from '../support/browser.ts';
import { complaintsInBothLights } from '../support/access.ts';
import { clickPoint } from '../support/in-view.ts';

const MAIN = join(import.meta.dirname, '../../electron/hosts/cli/main.ts');
/** International inch, exact since 1959 (NIST SP 811, appendix B). */
const MM_PER_INCH = 25.4;
const WALL_MM = 3.5;
const HELMET = inventHelmet({
  columns: 64,
  rows: 32,
  browMm: 46,
  chinMm: -45,
  wallMm: WALL_MM,
  mmPerUnit: MM_PER_INCH,
});
/** Two who can wear it, and one whose head is longer and broader than the helmet is inside. */
const COMPANY = [
  { name: 'The captain (invented)', head: { seed: 11, lengthMm: 198, breadthMm: 151, heightMm: 130 } },
  { name: 'The understudy (invented)', head: { seed: 29, lengthMm: 188, breadthMm: 147, heightMm: 126 } },
  { name: 'The giant (invented)', head: { seed: 7, lengthMm: 234, breadthMm: 196, heightMm: 150 } },
] as const;

let folder: string;
let studio: StudioPage;
let served: StudioPage['served'];
let page: Page;
let project: string;
/** Screens with everything on them, for the rules of access. */
const full: string[] = [];

const got = <T>(outcome: Outcome<T>): T => {
  if (!outcome.ok) throw new Error(`${outcome.fault.code} ${JSON.stringify(outcome.fault.facts)}`);
  return outcome.value;
};

function addWearers(library: Library): void {
  project = got(records.addProject(library, { name: 'The glass harbour (invented)' })).id;
  for (const { name, head } of COMPANY) {
    const wearerId = got(records.addWearer(library, { name })).id;
    const scan = { wearerId, fileName: `${name}.obj`, bytes: Buffer.from(`# ${name}\nv 0 0 0`) };
    const scanId = got(records.addScan(library, scan)).id;
    const made = { name: 'Head', wearerId, scanId, recipe: {}, steps: [], programVersion: '0' };
    const { form } = got(records.addFormRevision(library, { ...made, mesh: inventHead(head).mesh(8000) }));
    got(records.useForm(library, project, form.id));
  }
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-fitting-'));
  await readyScreens(SCREENS_FOLDER);
  const path = join(folder, 'library.wearwright');
  const library = got(openLibrary(path, { create: true }));
  addWearers(library);
  library.close();
  writeFileSync(join(folder, 'tin-hat.stl'), got(writeMesh(HELMET.mesh, 'tin-hat.stl')).bytes);
  studio = await openStudio(path, SCREENS_FOLDER);
  ({ served, page } = studio);
  page.setDefaultTimeout(60_000);
}, 300_000);

afterAll(async () => {
  await studio?.close();
  rmSync(folder, { recursive: true, force: true });
});

const idOfPlace = (at: string): string => new RegExp(`#/${at}/([0-9a-f-]+)`).exec(page.url())?.[1] ?? '';
const card = (title: string) =>
  page.locator('.ticket-card').filter({ has: page.getByRole('heading', { name: title, exact: true }) });
const figure = (label: string) =>
  page.locator('.figure').filter({ has: page.locator('dt').getByText(label, { exact: true }) });
const fittingNow = async (): Promise<CallResult<'fitting.show'>> =>
  served.ask('fitting.show', { id: idOfPlace('fitting') });

async function saved(button: string): Promise<{ download: Download; bytes: Uint8Array }> {
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: button }).click(),
  ]);
  return { download, bytes: new Uint8Array(readFileSync(await download.path())) };
}

/** Press a button of the fitting and wait for the trial it makes. */
async function tryWith(button: string): Promise<Tried> {
  const before = (await fittingNow()).tried?.trialId;
  await page.getByRole('button', { name: button, exact: true }).click();
  await expect.poll(async () => (await fittingNow()).tried?.trialId ?? before, { timeout: 60_000 }).not.toBe(before);
  return (await fittingNow()).tried as Tried;
}

const meshOf = (view: { positions: Float32Array; triangles: Uint32Array }): Mesh => ({
  positions: Float64Array.from(view.positions),
  triangles: view.triangles,
});

/** What the verb `fit` says of the same part and form in files of their own, on the command line. */
async function fitApart(partId: string, revisionId: string, placement: readonly number[]) {
  const ready = meshOf(await served.ask('part.mesh', { id: partId, which: 'ready' }));
  const form = meshOf(await served.ask('form.mesh', { revisionId }));
  writeFileSync(join(folder, 'apart-part.ply'), got(writeMesh(ready, 'apart-part.ply')).bytes);
  writeFileSync(join(folder, 'apart-form.ply'), got(writeMesh(form, 'apart-form.ply')).bytes);
  writeFileSync(join(folder, 'apart-place.json'), JSON.stringify({ matrix: placement }));
  const words = ['fit', 'apart-part.ply', 'apart-form.ply', '--place', 'apart-place.json', '--json'];
  const { status, stdout, stderr } = spawnSync(process.execPath, [MAIN, ...words], { cwd: folder, encoding: 'utf8' });
  expect(status, stderr).toBe(0);
  return {
    figures: JSON.parse(stdout) as { leastEaseMm: number; meanEaseMm: number; region: string },
    worn: transformMesh(placement as unknown as Matrix4, ready),
    form,
  };
}

/** Shortest way between vertices of both: never shorter than between the surfaces. */
function leastBetweenVertices(a: Mesh, b: Mesh): number {
  let least = Infinity;
  for (let i = 0; i < a.positions.length; i += 3) {
    const [x, y, z] = a.positions.subarray(i, i + 3);
    for (let j = 0; j < b.positions.length; j += 3) {
      const square = (x - b.positions[j]) ** 2 + (y - b.positions[j + 1]) ** 2 + (z - b.positions[j + 2]) ** 2;
      if (square < least) least = square;
    }
  }
  return Math.sqrt(least);
}

/** Bodies of a 3MF by a few lines of this test's own: the core specification's vertices and triangles, in millimetres. */
function bodiesOf3mf(bytes: Uint8Array): { vertices: Vec3[]; triangles: Vec3[] }[] {
  const entries = unzipSync(bytes);
  const model = Object.keys(entries).find((name) => name.endsWith('.model')) ?? '';
  const text = new TextDecoder().decode(entries[model]);
  expect(/<model[^>]*unit="([a-z]+)"/.exec(text)?.[1]).toBe('millimeter');
  const triples = (mesh: string, pattern: RegExp): Vec3[] =>
    [...mesh.matchAll(pattern)].map(([, a, b, c]) => [Number(a), Number(b), Number(c)] as const);
  return [...text.matchAll(/<mesh>(.*?)<\/mesh>/gs)].map(([, mesh]) => ({
    vertices: triples(mesh, /<vertex x="([^"]+)" y="([^"]+)" z="([^"]+)"/g),
    triangles: triples(mesh, /<triangle v1="(\d+)" v2="(\d+)" v3="(\d+)"/g),
  }));
}

/** Every edge is gone along once in each direction: a closed surface, all of it turned alike. */
function openEdgesOf(triangles: readonly Vec3[]): number {
  const edges = new Map<string, number>();
  for (const [a, b, c] of triangles) {
    for (const [from, to] of [
      [a, b],
      [b, c],
      [c, a],
    ]) {
      const key = from < to ? `${from} ${to}` : `${to} ${from}`;
      edges.set(key, (edges.get(key) ?? 0) + (from < to ? 1 : -1));
    }
  }
  return [...edges.values()].filter((balance) => balance !== 0).length;
}

/** Make one thing in the dialog of the fitting and open it from the card. */
async function make(kind: string, fill?: (dialog: ReturnType<Page['getByRole']>) => Promise<void>): Promise<string> {
  const before = new Set((await served.ask('making.list', {})).made.map(({ making }) => making.id));
  const newest = async () =>
    (await served.ask('making.list', {})).made.find(({ making }) => !before.has(making.id))?.making;
  await page.getByRole('button', { name: 'Make something from it…' }).click();
  const dialog = page.getByRole('dialog', { name: 'Cut and print' });
  await dialog.getByRole('radio', { name: kind }).check({ force: true });
  await fill?.(dialog);
  await dialog.getByRole('button', { name: 'Make it' }).click();
  await dialog.waitFor({ state: 'detached' });
  await expect.poll(async () => (await newest())?.id ?? '', { timeout: 60_000 }).not.toBe('');
  return (await newest())?.id ?? '';
}

describe.skipIf(browserPath() === undefined)('a part, from its file to what is cut for it', () => {
  it('is brought in from inches and given its true size, by its unit or by one length on the real thing', async () => {
    await page.goto(`${served.address.split('?')[0]}#/project/${project}`);
    await card('Parts').getByText('None yet.').waitFor();
    await page.locator('input[data-purpose=part]').setInputFiles(join(folder, 'tin-hat.stl'));
    await page.waitForURL(/#\/part\//);
    await page.getByText('Its true size is not known yet').waitFor();
    expect(await page.getByRole('button', { name: 'Try it on…' }).isDisabled()).toBe(true);

    await page.getByLabel('Or: the file is written in').selectOption('in');
    await page.getByRole('button', { name: 'Take it as that' }).click();
    await figure('One unit of the file').getByText('25.400 mm').waitFor();

    // The outer breadth at the widest row, by calliper: clicked at its two ends.
    const id = idOfPlace('part');
    const { toFile } = await served.ask('part.mesh', { id, which: 'file' });
    const outer = ([x, y, z]: Vec3): Vec3 =>
      transformPoint(invert(toFile as unknown as Matrix4), [x, y + (Math.sign(y) * WALL_MM) / MM_PER_INCH, z]);
    await clickPoint(page, 'left', outer(HELMET.breadthLeft));
    await page.getByText('Now press where it ends.').waitFor();
    await clickPoint(page, 'right', outer(HELMET.breadthRight));
    await page.getByText('Both ends are set').waitFor();
    await page.getByLabel('What it is').fill('breadth over all');
    const breadthMm = HELMET.innerBreadthMm + 2 * WALL_MM;
    await page.getByLabel('Length on the real thing').fill(`${(breadthMm / 10).toFixed(2)} cm`);
    await page.getByRole('button', { name: 'Give it this size' }).click();
    await figure('breadth over all').waitFor();
    const { part } = await served.ask('part.show', { id });
    const { trueSize } = part.figures as unknown as CallResult<'part.size'>;
    expect(trueSize.how).toBe('known dimension');
    // A pixel of the picture is half a millimetre of the helmet: both ends together stay within half a percent.
    expect(Math.abs(trueSize.mmPerUnit / MM_PER_INCH - 1)).toBeLessThan(0.005);
    expect(studio.errors).toEqual([]);
  }, 240_000);

  it('is tried on a wearer, moved by keys, set where it sits best, and its room is what the verb says apart', async () => {
    await page.getByRole('button', { name: 'Try it on…' }).click();
    const dialog = page.getByRole('dialog', { name: /Whom is/ });
    await dialog.getByText(COMPANY[0].name).click();
    await dialog.getByRole('button', { name: 'Try it on' }).click();
    await page.waitForURL(/#\/fitting\//);
    await page.getByText('Not tried on yet.').waitFor();

    // Moved up and down without a mouse: by buttons, with keys.
    await page.getByRole('button', { name: 'Up', exact: true }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(async () => (await fittingNow()).draft.placement?.[11]).toBe(5);
    // As fast as a hand presses: each builds on the one before it.
    await page.keyboard.press('Space');
    await page.keyboard.press('Enter');
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await expect.poll(async () => (await fittingNow()).draft.placement?.[11]).toBe(10);

    await page.getByLabel('Shift at most').fill('12');
    await page.getByLabel('Shift at most').press('Enter');
    await expect.poll(async () => (await fittingNow()).draft.limitShiftMm).toBe(12);
    const asItLies = await tryWith('Try it as it lies');
    const best = await tryWith('Find where it sits best');
    expect(best.fit?.leastEaseMm).toBeGreaterThan(asItLies.fit?.leastEaseMm ?? Infinity);

    const { fitting, revisionId } = await fittingNow();
    const apart = await fitApart(fitting.partId ?? '', revisionId ?? '', best.placement);
    expect(Math.abs(apart.figures.leastEaseMm - (best.fit?.leastEaseMm ?? NaN))).toBeLessThan(0.01);
    expect(Math.abs(apart.figures.meanEaseMm - (best.fit?.meanEaseMm ?? NaN))).toBeLessThan(0.01);
    // Vertices lie at most some millimetres apart on either surface: the shortest way between them is little longer.
    const between = leastBetweenVertices(apart.worn, apart.form);
    expect(between).toBeGreaterThan(apart.figures.leastEaseMm - 0.01);
    expect(between).toBeLessThan(apart.figures.leastEaseMm + 1);
    await figure('Least room')
      .getByText(`${apart.figures.leastEaseMm.toFixed(1)} mm`)
      .waitFor();
    await figure('Least room').getByText(`at the ${apart.figures.region}`).waitFor();
    await figure('On average')
      .getByText(`${apart.figures.meanEaseMm.toFixed(1)} mm`)
      .waitFor();
    await page.getByText('It goes on, with the padding wanted.').waitFor();
    await page.getByText(/^Room under the part: /).waitFor();
    expect(studio.errors).toEqual([]);
  }, 240_000);

  it('shows what is seen out of it and the way on and off, each with its cautions', async () => {
    await tryWith('Look out of it');
    const sight = card('Sight, breath and load');
    await sight.getByRole('img', { name: /^Clear to \d+° left/ }).waitFor();
    await sight.getByText(/no protective equipment/).waitFor();
    await sight.getByText(/take it off at the first discomfort/).waitFor();
    const { tried } = await fittingNow();
    const clear = `${tried?.sight?.limitsDeg.left.toFixed(0)}° left, ${tried?.sight?.limitsDeg.right.toFixed(0)}° right`;
    await sight.getByText(clear, { exact: true }).waitFor();

    await tryWith('Find the way on and off');
    await card('On and off')
      .getByText(/before any rehearsal/)
      .waitFor();
    await card('On and off')
      .getByText(/ways tried/)
      .waitFor();
    expect((await fittingNow()).tried?.fit?.donning?.best.passes).toBe(true);
    // The part lies where it lay: what was seen out of it still holds.
    await sight.getByText(clear, { exact: true }).waitFor();
    await page.getByRole('button', { name: 'Turn left', exact: true }).click();
    await page.getByText('The part has been moved since it was tried').waitFor();
    await page.keyboard.press('Control+z');
    await page.getByText('The part has been moved since it was tried').waitFor({ state: 'detached' });
    expect(studio.errors).toEqual([]);
  }, 240_000);

  it('is padded from the stock, cut to the bed and gauged, and every file saved is the file kept', async () => {
    const fittingId = idOfPlace('fitting');
    full.push(`#/fitting/${fittingId}`);
    await page.goto(`${served.address.split('?')[0]}#/project/${project}`);
    await page.getByRole('button', { name: 'Add a foam…' }).click();
    const foam = page.getByRole('dialog', { name: 'A foam in stock' });
    await foam.getByLabel('Material').fill('EVA (invented stock)');
    await foam.getByLabel('Thickness as sold').fill('6');
    await foam.getByLabel('Thickness by your calliper').fill('5.8');
    await foam.getByRole('button', { name: 'Add it' }).click();
    await card('Foam in stock').getByText('EVA (invented stock)').waitFor();
    await card('Foam in stock').getByText('5.8 mm').waitFor();
    await card('Fittings')
      .getByRole('link', { name: /tin-hat on The captain/ })
      .click();
    await page.waitForURL(/#\/fitting\//);
    expect(idOfPlace('fitting')).toBe(fittingId);

    const pads = await make('Pads of foam');
    const bands = await make('Gauge bands', (dialog) => dialog.getByLabel('Heights of the bands, mm').fill('0, 85'));
    const pieces = await make('Pieces to print');
    full.push(...[pads, bands, pieces].map((id) => `#/making/${id}`));

    await page.goto(`${served.address.split('?')[0]}#/making/${pads}`);
    await page.getByRole('columnheader', { name: 'Foam, mm' }).waitFor();
    await page.getByText(/Pads never cover nose/).waitFor();
    const padZip = unzipSync((await saved('Save all files')).bytes);
    // Every layer of every pad is on the list, and all of it comes from the only foam in stock.
    const [, ...cuts] = new TextDecoder().decode(padZip['cut-list.csv']).trim().split('\r\n');
    const stacks = await page.locator('.making-table tbody tr td:nth-of-type(2)').allTextContents();
    const layers = stacks.flatMap((stack) => stack.split(' + '));
    expect(stacks.length).toBeGreaterThan(2);
    expect(new Set(layers)).toEqual(new Set(['5.8']));
    expect(cuts).toHaveLength(layers.length);
    const papers = Object.entries(padZip).filter(([name]) => name.endsWith('.pdf'));
    expect(papers.length).toBeGreaterThan(0);
    for (const [, bytes] of papers) expect(new TextDecoder().decode(bytes.subarray(0, 5))).toBe('%PDF-');

    await page.goto(`${served.address.split('?')[0]}#/making/${bands}`);
    await expect.poll(() => page.getByRole('row').count()).toBe(3);
    await page.getByRole('rowheader', { name: '85.0 mm' }).waitFor();

    await page.goto(`${served.address.split('?')[0]}#/making/${pieces}`);
    await page.getByText('Every piece is a sound solid and fits the bed.').waitFor();
    const second = page.getByRole('button', { name: '2', exact: true });
    await second.click();
    expect(await second.getAttribute('aria-pressed')).toBe('true');
    const { download, bytes } = await saved('Save all files');
    expect(download.suggestedFilename()).toMatch(/^Pieces to print.*\.zip$/);
    const zip = unzipSync(bytes);
    const { files } = await served.ask('making.show', { id: pieces });
    expect(Object.keys(zip).sort()).toEqual(files.map(({ name }) => name).sort());
    for (const { name, byteCount } of files) expect(zip[name].length, name).toBe(byteCount);
    const bodies = bodiesOf3mf(zip['pieces.3mf']);
    expect(bodies.length).toBe(files.filter(({ name }) => name.endsWith('.stl')).length);
    for (const { vertices, triangles } of bodies) {
      expect(triangles.length).toBeGreaterThan(100);
      expect(openEdgesOf(triangles)).toBe(0);
      const roomMm = [0, 1, 2].map(
        (k) => Math.max(...vertices.map((v) => v[k])) - Math.min(...vertices.map((v) => v[k])),
      );
      for (const [k, bedMm] of [220, 220, 250].entries()) expect(roomMm[k]).toBeLessThanOrEqual(bedMm);
    }
    expect(studio.errors).toEqual([]);
  }, 240_000);

  it('is tried on the whole company, who can step in is told apart, and the table is saved', async () => {
    await page.goto(`${served.address.split('?')[0]}#/company/${project}`);
    await page.getByText('not tried').first().waitFor();
    await page.getByRole('button', { name: 'Try what is not known' }).click();
    await expect.poll(() => page.getByText('not tried').count(), { timeout: 90_000 }).toBe(0);
    const row = (name: string) => page.getByRole('row').filter({ hasText: name });
    await row(COMPANY[0].name).getByText('Goes on').waitFor();
    await row(COMPANY[1].name).getByText('Goes on').waitFor();
    await row(COMPANY[2].name).getByText('Too tight').waitFor();
    await page.getByLabel('Who can step in for').selectOption({ label: COMPANY[0].name });
    await expect.poll(() => row(COMPANY[2].name).count()).toBe(0);
    expect(await row(COMPANY[1].name).count()).toBe(1);

    const { download, bytes } = await saved('Save as CSV');
    expect(download.suggestedFilename()).toBe('company.csv');
    const [head, ...lines] = new TextDecoder().decode(bytes).trim().split('\r\n');
    const columns = head.split(',');
    expect(lines).toHaveLength(COMPANY.length);
    const { cells, forms } = await served.ask('company.show', { projectId: project, wish: {} });
    for (const line of lines) {
      const cell = Object.fromEntries(line.split(',').map((value, k) => [columns[k], value]));
      const form = forms.find(({ wearerName }) => wearerName === cell['wearer']);
      const known = cells.find(({ formId }) => formId === form?.id);
      expect(cell['goes on']).toBe(cell['wearer'] === COMPANY[2].name ? 'no' : 'yes');
      expect(Number(cell['least ease mm'])).toBeCloseTo(known?.leastEaseMm ?? NaN, 1);
      // Whoever is too large needs the helmet larger.
      if (cell['goes on'] === 'no') expect(Number(cell['scale %'])).toBeGreaterThan(100);
    }
    expect(studio.errors).toEqual([]);
  }, 240_000);

  it('holds the rules of access where every figure is there, in both lights', async () => {
    expect(full).toHaveLength(4);
    for (const hash of [...full, `#/company/${project}`]) {
      await page.goto(`${served.address.split('?')[0]}${hash}`);
      await page.locator('.making-table').first().waitFor();
      await page.waitForTimeout(300);
      expect(await complaintsInBothLights(page), hash).toEqual([]);
    }
    expect(studio.errors).toEqual([]);
  }, 240_000);
});
