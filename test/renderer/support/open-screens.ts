/** The built screens in a real browser, over the real transport, with any program behind it. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { startLoopback } from '../../../electron/hosts/loopback/server.ts';
import { readyScreens, SCREENS_FOLDER } from '../../../build/screens.ts';
import type { FakeProgram } from './fake-program.ts';

const FLAGS = [
  '--no-sandbox',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

export interface OpenScreens {
  readonly page: Page;
  readonly context: BrowserContext;
  readonly address: string;
  /** What the page complained about, so that a test can expect nothing. */
  readonly complaints: string[];
  close(): Promise<void>;
}

let browser: Promise<Browser> | undefined;
/** One browser for all tests of a file; end it in afterAll. */
export const closeBrowser = async (): Promise<void> => {
  await (await browser)?.close();
  browser = undefined;
};

export async function openScreens(
  program: Pick<FakeProgram, 'call' | 'subscribe' | 'receive'>,
  options: {
    width?: number;
    height?: number;
    dark?: boolean;
    hash?: string;
    screens?: string;
    before?: (page: Page) => Promise<void>;
  } = {},
): Promise<OpenScreens> {
  const { width = 1280, height = 720, dark = false, hash = '#/', screens = SCREENS_FOLDER } = options;
  await readyScreens(screens);
  const host = await startLoopback({ screens, ...program });
  browser ??= chromium.launch({ executablePath: '/usr/bin/chromium', args: FLAGS });
  const folder = await mkdtemp(join(tmpdir(), 'wearwright-screens-'));
  const context = await (
    await browser
  ).newContext({
    viewport: { width, height },
    colorScheme: dark ? 'dark' : 'light',
    acceptDownloads: true,
  });
  const page = await context.newPage();
  page.setDefaultTimeout(10_000);
  const complaints: string[] = [];
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') complaints.push(message.text());
  });
  await options.before?.(page);
  await page.goto(`${host.address}${hash}`);
  return {
    page,
    context,
    address: host.address,
    complaints,
    async close() {
      await context.close();
      await host.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
