/** What is built can be served as it stands: nothing from elsewhere, no script in the page's text, and not built twice. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readyScreens, SCREENS_FOLDER, screensAreFresh } from '../../build/screens.ts';

test('the screens are built once, whole, and without an address of another machine', async () => {
  await readyScreens();
  expect(screensAreFresh()).toBe(true);
  expect(await readyScreens()).toBe(false);
  expect(screensAreFresh('/nowhere')).toBe(false);
  const page = readFileSync(join(SCREENS_FOLDER, 'index.html'), 'utf8');
  expect(page).not.toMatch(/<script(?![^>]*\bsrc=)/);
  expect(page).not.toMatch(/https?:\/\//);
  expect(page).not.toMatch(/\son\w+=/);
  const files = readdirSync(join(SCREENS_FOLDER, 'assets'));
  for (const file of files.filter((name) => name.endsWith('.css'))) {
    expect(readFileSync(join(SCREENS_FOLDER, 'assets', file), 'utf8'), file).not.toMatch(
      /url\(\s*["']?(https?:|\/\/|data:)/,
    );
  }
  // What draws in three dimensions is not in the first script: the shelf opens without it.
  const [, first] = /src="\.\/assets\/([^"]+\.js)"/.exec(page) ?? [];
  expect(readFileSync(join(SCREENS_FOLDER, 'assets', first ?? ''), 'utf8')).not.toContain('WebGLRenderTarget');
  expect(files.some((name) => name.startsWith('form-screen') && name.endsWith('.js'))).toBe(true);
});
