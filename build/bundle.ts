/**
 * Bundles the desktop program: main.js with the threads it starts, and preload.cjs. Only electron and the database with
 * its native part stay outside.
 *
 * Modules that start threads find them beside themselves by import.meta.url. In the bundle each such address is turned
 * into that of the thread's own file, which keeps its path (jobs/worker-entry.js): in the packaged program these files
 * lie unpacked beside the archive, since a thread cannot be relied on to start from inside one.
 */
import { cpSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, posix, relative, resolve, sep } from 'node:path';
import type { Plugin } from 'rolldown';
import { noticesText } from './notices.ts';

const root = join(import.meta.dirname, '..');
const electron = join(root, 'electron');
export const DESKTOP_FOLDER = join(root, 'node_modules', '.cache', 'desktop');
/** Licences of the works of others in the program. */
export const NOTICES = 'third-party-licences.txt';
/** What is started as a thread or loaded by one, in the bundle: to be unpacked when packaged. */
export const THREAD_FOLDERS = ['chunks', 'hosts', 'jobs', 'operations', 'services'];

const ADDRESS = /new URL\(`(\.[^`$]+)\$\{extension\}`, import\.meta\.url\)/g;

/** Path of a module in the bundle: relative to electron/, with the ending of a script. */
const bundled = (path: string): string => relative(electron, path).split(sep).join('/').replace(/\.ts$/, '.js');

/** Modules that other modules start by address: found by how the address is written, so that none is forgotten. */
export function threadModules(): string[] {
  const found = new Set<string>();
  for (const entry of readdirSync(electron, { recursive: true, withFileTypes: true })) {
    if (!entry.isFile() || !entry.name.endsWith('.ts')) continue;
    const text = readFileSync(join(entry.parentPath, entry.name), 'utf8');
    for (const match of text.matchAll(ADDRESS)) found.add(resolve(entry.parentPath, `${match[1]}.ts`));
  }
  return [...found].sort();
}

/** Turns addresses of modules into addresses in the bundle. */
function addresses(): Plugin {
  return {
    name: 'addresses',
    transform(code, id) {
      if (!id.startsWith(electron) || !code.includes('import.meta.url')) return null;
      const turned = code.replaceAll(
        ADDRESS,
        (_whole, path: string) => `new URL(__address('${bundled(resolve(dirname(id), `${path}.ts`))}'))`,
      );
      return turned;
    },
    renderChunk(code, chunk) {
      if (!code.includes('__address(')) return null;
      const up = posix.relative(posix.dirname(chunk.fileName), '.') || '.';
      return code.replaceAll(
        /__address\((['"])([^'"]+)\1\)/g,
        (_whole, _quote, path: string) =>
          `new URL('${up}/${path}', import.meta.url).href.replace('/app.asar/', '/app.asar.unpacked/')`,
      );
    },
  };
}

/** The writer of PDF knows the address of a colour profile, for a kind of PDF that we do not write: it goes. */
const withoutProfile: Plugin = {
  name: 'without-profile',
  transform: (code, id) =>
    id.includes('pdfkit') ? code.replace(/new URL\('\.\/data\/[^']+', import\.meta\.url\)\.href/, "''") : null,
};

/** Bundles everything into `outDir`, emptied first. */
export async function bundleDesktop(outDir: string = DESKTOP_FOLDER): Promise<void> {
  const { rolldown } = await import('rolldown');
  rmSync(outDir, { recursive: true, force: true });
  const threads = Object.fromEntries(threadModules().map((path) => [bundled(path).replace(/\.js$/, ''), path]));
  const program = await rolldown({
    input: { main: join(electron, 'hosts/shell/main.ts'), ...threads },
    platform: 'node',
    external: ['electron', 'better-sqlite3', /^node:/],
    plugins: [addresses(), withoutProfile],
    logLevel: 'warn',
  });
  await program.write({
    dir: outDir,
    format: 'es',
    entryFileNames: '[name].js',
    chunkFileNames: 'chunks/[name]-[hash].js',
  });
  await program.close();
  const preload = await rolldown({
    input: join(electron, 'hosts/shell/preload.ts'),
    platform: 'node',
    external: ['electron'],
    logLevel: 'warn',
  });
  await preload.write({ file: join(outDir, 'preload.cjs'), format: 'cjs', codeSplitting: false });
  await preload.close();
  cpSync(join(root, 'build/icons/icon.png'), join(outDir, 'icon.png'));
  writeFileSync(join(outDir, NOTICES), noticesText());
  // The program's own description: name and version as Electron shows them, and that its scripts are modules.
  const { name, version, description, license } = JSON.parse(
    readFileSync(join(root, 'package.json'), 'utf8'),
  ) as Record<string, string>;
  const own = { name, version, description, license, type: 'module', main: 'main.js', author: 'The Wearwright makers' };
  writeFileSync(join(outDir, 'package.json'), `${JSON.stringify(own, null, 2)}\n`);
}

if (import.meta.main) await bundleDesktop(process.argv[2]);
