/** Debian's Chromium for the journeys and benches, and the studio served to it as `npm start` would. */
import { existsSync } from 'node:fs';
import { chromium, type Browser, type Page } from 'playwright-core';
import { createStudio, type Studio } from '../../electron/services/dispatch.ts';
import { startLoopback } from '../../electron/hosts/loopback/server.ts';
import type { CallName, CallResult } from '../../shared-types/contract.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';

const PATHS = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];

/** Path of a browser, by CHROMIUM or the usual places; undefined when there is none. */
export const browserPath = (): string | undefined =>
  [process.env['CHROMIUM'] ?? '', ...PATHS].find((path) => path !== '' && existsSync(path));

export async function openBrowser(): Promise<Browser> {
  const executablePath = browserPath();
  if (executablePath === undefined) {
    throw new Error('There is no Chromium: apt-get install chromium, or name one in the variable CHROMIUM.');
  }
  return chromium.launch({
    executablePath,
    args: [
      '--no-sandbox',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

export interface ServedStudio {
  readonly studio: Studio;
  /** What the program answers beside its screens; trouble ends the test. */
  ask<N extends CallName>(name: N, input: unknown): Promise<CallResult<N>>;
  readonly address: string;
  close(): Promise<void>;
}

export async function serveStudio(libraryPath: string, screens: string): Promise<ServedStudio> {
  const opened = createStudio({ libraryPath });
  if (!opened.ok) throw new Error(faultSentence(opened.fault));
  const { call, receive, subscribe, close } = opened.value;
  const loopback = await startLoopback({ screens, call, receive, subscribe });
  return {
    studio: opened.value,
    ask: async <N extends CallName>(name: N, input: unknown) => {
      const outcome = await call(name, input);
      if (!outcome.ok) throw new Error(`${name}: ${faultSentence(outcome.fault)}`);
      return outcome.value as CallResult<N>;
    },
    address: loopback.address,
    close: async () => {
      await loopback.close();
      await close();
    },
  };
}

export interface StudioPage {
  readonly browser: Browser;
  readonly served: ServedStudio;
  readonly page: Page;
  /** What the page complained about. */
  readonly errors: string[];
  /** Go to a place of the studio, fetched anew. */
  goTo(hash: string): Promise<void>;
  close(): Promise<void>;
}

/** The studio over a library in a browser of its own, as a maker at a desk sees it. */
export async function openStudio(libraryPath: string, screens: string): Promise<StudioPage> {
  const browser = await openBrowser();
  const served = await serveStudio(libraryPath, screens);
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, acceptDownloads: true });
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') errors.push(message.text());
  });
  await page.goto(served.address);
  return {
    browser,
    served,
    page,
    errors,
    goTo: async (hash) => {
      await page.goto(`${served.address.split('?')[0]}${hash}`);
      await page.reload();
    },
    close: async () => {
      await browser.close();
      await served.close();
    },
  };
}
