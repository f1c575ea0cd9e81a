/** Serves the built screens at wearwright://app/, so that the page has an origin of its own and a strict policy. */
import { protocol, type Protocol } from 'electron';
import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import { PAGE_HEADERS, screenFile } from '../../services/screen-files.ts';

const SCHEME = 'wearwright';
const ORIGIN = `${SCHEME}://app`;
export const PAGE_ADDRESS = `${ORIGIN}/`;

/** Must run before the app is ready. */
export function declareScheme(): void {
  protocol.registerSchemesAsPrivileged([
    {
      scheme: SCHEME,
      privileges: { standard: true, secure: true, supportFetchAPI: true, stream: true, codeCache: true },
    },
  ]);
}

/** True for an address of our own page and nothing that only looks like it. */
export function isOurs(address: string | undefined): boolean {
  return address === ORIGIN || address?.startsWith(PAGE_ADDRESS) === true;
}

export function serveScreens(on: Protocol, folder: string): void {
  on.handle(SCHEME, async (request) => {
    const refuse = (status: number): Response => new Response('Not here.', { status, headers: { ...PAGE_HEADERS } });
    if (!isOurs(request.url)) return refuse(404);
    if (request.method !== 'GET' && request.method !== 'HEAD') return refuse(405);
    const file = await screenFile(folder, new URL(request.url).pathname);
    if (file === undefined) return refuse(404);
    const body =
      request.method === 'HEAD' ? null : (Readable.toWeb(createReadStream(file.path)) as ReadableStream<Uint8Array>);
    const headers = { ...PAGE_HEADERS, 'content-type': file.type, 'content-length': String(file.byteCount) };
    return new Response(body, { status: 200, headers });
  });
}
