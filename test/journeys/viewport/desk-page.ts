/** Builds the page once, serves it on this machine only, and opens it in the browser of the system. */
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { build } from 'vite';
import { openBrowser } from '../../support/browser.ts';

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
};

export interface Desk {
  readonly browser: Browser;
  /** What the pages complained about, all together. */
  readonly complaints: string[];
  open(width: number, height: number, before?: string): Promise<Page>;
  close(): Promise<void>;
}

async function builtFiles(): Promise<Map<string, string | Uint8Array>> {
  const made = await build({
    root: join(import.meta.dirname, 'page'),
    configFile: false,
    logLevel: 'error',
    base: './',
    worker: { format: 'es' },
    build: { write: false, target: 'es2022', minify: false },
  });
  const files = new Map<string, string | Uint8Array>();
  for (const bundle of Array.isArray(made) ? made : [made]) {
    if (!('output' in bundle)) continue;
    for (const file of bundle.output) files.set(`/${file.fileName}`, file.type === 'chunk' ? file.code : file.source);
  }
  return files;
}

export async function openDesk(): Promise<Desk> {
  const files = await builtFiles();
  const server: Server = createServer((request, response) => {
    const name = request.url === '/' ? '/index.html' : (request.url ?? '');
    const body = files.get(name);
    response.statusCode = body === undefined ? 404 : 200;
    response.setHeader('content-type', TYPES[extname(name)] ?? 'application/octet-stream');
    // as strict as the loopback host: what needs more than this must not creep in
    response.setHeader(
      'content-security-policy',
      "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' blob: data:; connect-src 'self' data:; worker-src 'self'",
    );
    response.end(body);
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;
  const browser = await openBrowser();
  const complaints: string[] = [];
  return {
    browser,
    complaints,
    async open(width, height, before) {
      const page = await browser.newPage({ viewport: { width, height }, deviceScaleFactor: 1 });
      page.on('pageerror', (error) => complaints.push(String(error)));
      page.on('console', (message) => {
        // the driver's remark that reading a picture back makes it wait; that is what reading is
        if (!message.text().includes('GPU stall due to ReadPixels')) complaints.push(message.text());
      });
      if (before !== undefined) await page.addInitScript(before);
      await page.goto(address);
      return page;
    },
    async close() {
      await browser.close();
      await new Promise((done) => server.close(done));
    },
  };
}
