/** Draws icon.png from icon.svg in a headless Chromium: run by hand when the drawing has changed. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

const SIZE = 1024;
const here = import.meta.dirname;
const browser = await chromium.launch({
  executablePath: process.env['CHROMIUM'] ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--no-first-run', '--disable-background-networking'],
});
const page = await browser.newPage({ viewport: { width: SIZE, height: SIZE } });
const drawing = readFileSync(join(here, 'icon.svg'), 'utf8');
await page.setContent(`<style>*{margin:0}svg{display:block;width:${SIZE}px;height:${SIZE}px}</style>${drawing}`);
await page.screenshot({ path: join(here, 'icon.png'), omitBackground: true });
await browser.close();
