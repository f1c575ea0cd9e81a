/** The built screens in a real browser, over the real transport, with any program behind it. */
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { startLoopback } from '../../../electron/hosts/loopback/server.ts';
import { openBrowser } from '../../support/browser.ts';
import { readyScreens, SCREENS_FOLDER } from '../../../build/screens.ts';
import type { FakeProgram } from './fake-program.ts';

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
  browser ??= openBrowser();
  const context = await (
    await browser
  ).newContext({
    viewport: { width, height },
    colorScheme: dark ? 'dark' : 'light',
    acceptDownloads: true,
  });
  const page = await context.newPage();
  page.setDefaultTimeout(60_000);
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
    },
  };
}
