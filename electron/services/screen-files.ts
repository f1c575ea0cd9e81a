/** The built screens as both hosts serve them: which file an address means, its type, and the policy sent with it. */
import { stat } from 'node:fs/promises';
import { extname, join, resolve, sep } from 'node:path';

/** Headers on every answer: nothing from elsewhere, no framing, no sniffing, own process. */
export const PAGE_HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; img-src 'self' blob: data:; " +
    "font-src 'self'; connect-src 'self'; worker-src 'self' blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-embedder-policy': 'require-corp',
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
  'permissions-policy': 'camera=(), microphone=(), geolocation=(), usb=(), serial=()',
  'cache-control': 'no-store',
};

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.wasm': 'application/wasm',
  '.json': 'application/json',
};

export interface ScreenFile {
  readonly path: string;
  readonly type: string;
  readonly byteCount: number;
}

/**
 * The file in `folder` that the path of an address means, or undefined: outside the folder, of a kind we do not serve,
 * wrongly escaped or not there. `/` is the page itself.
 */
export async function screenFile(folder: string, pathname: string): Promise<ScreenFile | undefined> {
  let name: string;
  try {
    name = decodeURIComponent(pathname === '/' ? '/index.html' : pathname);
  } catch {
    return undefined;
  }
  const root = resolve(folder);
  const path = resolve(join(root, name));
  const type = TYPES[extname(path)];
  if (name.includes('\0') || !path.startsWith(root + sep) || type === undefined) return undefined;
  const found = await stat(path).catch(() => undefined);
  return found === undefined || !found.isFile() ? undefined : { path, type, byteCount: found.size };
}
