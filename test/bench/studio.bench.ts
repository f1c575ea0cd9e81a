/** From starting the program to the shelf with its first picture, in a browser that is already open. Sizes are forms. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { readyScreens, SCREENS_FOLDER } from '../../build/screens.ts';
import { openLibrary } from '../../electron/store/connection.ts';
import * as records from '../../electron/store/records.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { openBrowser } from '../support/browser.ts';
import { benchTask, most, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const FORM_FACES = 9_500;

function good<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome.value;
}

function libraryOf(forms: number): string {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-bench-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const library = good(openLibrary(join(folder, 'shelf.wearwright'), { create: true }));
  library.db.pragma('synchronous = OFF');
  const { positions, triangles } = headOf(FORM_FACES);
  for (let index = 0; index < forms; index++) {
    const { id: wearerId } = good(records.addWearer(library, { name: `Invented wearer ${index}` }));
    const scan = good(records.addScan(library, { wearerId, fileName: 's.ply', bytes: Buffer.from(`scan ${index}`) }));
    const reading = { kind: 'girth' as const, name: 'head circumference', valueMm: 540 + (index % 60) };
    good(records.addReadings(library, wearerId, [reading]));
    const made = { wearerId, name: 'Head', scanId: scan.id, recipe: {}, steps: [], programVersion: '0' };
    const moved = positions.map((x) => Math.fround(x * (1 + index / 10_000)));
    good(records.addFormRevision(library, { ...made, mesh: { positions: moved, triangles } }));
  }
  library.close();
  return library.path;
}

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'studio-first-picture',
    sizes: [500],
    bars: { 500: most({ picturedSeconds: 2 }) },
    prepare: async (forms) => {
      await readyScreens();
      const browser = await openBrowser();
      process.on('exit', () => void browser.close());
      return { path: libraryOf(forms), browser };
    },
    run: async ({ path, browser }) => {
      const start = performance.now();
      const main = join(import.meta.dirname, '../../electron/hosts/loopback/main.ts');
      const words = [main, '--library', path, '--screens', SCREENS_FOLDER, '--no-open'];
      const child = spawn(process.execPath, words, { stdio: ['ignore', 'pipe', 'inherit'] });
      const address = await new Promise<string>((settle) => {
        let text = '';
        child.stdout.on('data', (data) => {
          text += String(data);
          const found = /http:\S+/.exec(text);
          if (found !== null) settle(found[0]);
        });
      });
      const served = performance.now();
      const page = await browser.newPage();
      await page.goto(address);
      await page.getByText('Invented wearer 1', { exact: true }).waitFor();
      const listed = performance.now();
      await page.locator('img').first().waitFor();
      const pictured = performance.now();
      await page.close();
      child.kill('SIGTERM');
      await new Promise((settle) => child.on('exit', settle));
      return {
        servedSeconds: (served - start) / 1e3,
        listedSeconds: (listed - start) / 1e3,
        picturedSeconds: (pictured - start) / 1e3,
      };
    },
  }),
];
