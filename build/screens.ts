/**
 * Builds the screens into a folder that either host serves as it stands. A stamp of everything they are made from is
 * kept beside them, so that a start builds only when something changed.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';

const root = join(import.meta.dirname, '..');
/** Everything the bundle can hold: own folders, and the lock that fixes the packages. */
const SOURCES = ['renderer', 'shared-types', 'electron/geometry/measure', 'electron/geometry/mesh'];
const FILES = ['package-lock.json', 'build/screens.ts'];
const STAMP = 'screens-stamp.txt';

export const SCREENS_FOLDER = join(root, 'node_modules', '.cache', 'screens');

/** SHA-256 of the names and contents of everything the screens are made from. */
function sourcesHash(): string {
  const hash = createHash('sha256');
  const paths = FILES.map((file) => join(root, file));
  for (const folder of SOURCES) {
    for (const entry of readdirSync(join(root, folder), { recursive: true, withFileTypes: true })) {
      if (entry.isFile()) paths.push(join(entry.parentPath, entry.name));
    }
  }
  for (const path of paths.sort()) {
    hash.update(`${relative(root, path)}\0`);
    hash.update(readFileSync(path));
    hash.update('\0');
  }
  return hash.digest('hex');
}

/** Does the folder hold the screens of exactly these sources? */
export function screensAreFresh(outDir: string = SCREENS_FOLDER): boolean {
  try {
    return readFileSync(join(outDir, STAMP), 'utf8') === sourcesHash();
  } catch {
    return false;
  }
}

/**
 * Build them, beside the folder first: whoever serves it or builds at the same time never sees half of it. The loader of
 * the builder is only fetched when there is something to build.
 */
export async function buildScreens(outDir: string = SCREENS_FOLDER): Promise<void> {
  // Before building: a source changed meanwhile makes the next start build again.
  const stamp = sourcesHash();
  const fresh = `${outDir}-${process.pid}-new`;
  const [{ build }, { default: react }] = await Promise.all([import('vite'), import('@vitejs/plugin-react')]);
  await build({
    configFile: false,
    envDir: false,
    root: join(root, 'renderer'),
    base: './',
    cacheDir: join(root, 'node_modules', '.cache', 'vite'),
    publicDir: false,
    logLevel: 'warn',
    plugins: [react()],
    worker: { format: 'es' },
    build: {
      outDir: fresh,
      emptyOutDir: true,
      target: ['chrome125', 'firefox125', 'safari17.5'],
      // The page's rules of content allow no script in its text, and no data addresses for fonts.
      modulePreload: { polyfill: false },
      assetsInlineLimit: 0,
      chunkSizeWarningLimit: 2000,
      reportCompressedSize: false,
      // How long a plugin took is no news to whoever starts the studio.
      rolldownOptions: { checks: { pluginTimings: false } },
    },
  });
  writeFileSync(join(fresh, STAMP), stamp);
  putInPlace(fresh, outDir);
}

function putInPlace(fresh: string, outDir: string): void {
  const old = `${outDir}-${process.pid}-old`;
  mkdirSync(dirname(outDir), { recursive: true });
  try {
    // Another process may have put the same there meanwhile; then its work stands.
    if (!screensAreFresh(outDir)) {
      if (existsSync(outDir)) renameSync(outDir, old);
      renameSync(fresh, outDir);
    }
  } catch (trouble) {
    if (!screensAreFresh(outDir)) throw trouble;
  } finally {
    rmSync(fresh, { recursive: true, force: true });
    rmSync(old, { recursive: true, force: true });
  }
}

/** Build them unless they are there already; answers with whether it built. */
export async function readyScreens(outDir: string = SCREENS_FOLDER): Promise<boolean> {
  if (screensAreFresh(outDir)) return false;
  await buildScreens(outDir);
  return true;
}

if (import.meta.main) console.log((await readyScreens(process.argv[2])) ? 'Screens built.' : 'Screens are up to date.');
