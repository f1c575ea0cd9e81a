/**
 * The licences of everything that goes into the packed program besides our own code and Electron, whose own come with
 * its files: our dependencies, what the screens import, and what these need in turn.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { importsOf, sourceFiles } from './layer-check.ts';

const root = join(import.meta.dirname, '..');

interface Manifest {
  readonly version?: string;
  readonly license?: string;
  readonly dependencies?: Readonly<Record<string, string>>;
}

export interface Notice {
  readonly name: string;
  readonly version: string;
  readonly licence: string;
  readonly text: string;
}

const manifestIn = (folder: string): Manifest =>
  JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')) as Manifest;

/** Name of the package an import names; undefined for our own files and Node's. */
function packageOf(specifier: string): string | undefined {
  if (specifier.startsWith('.') || specifier.startsWith('node:')) return undefined;
  return specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');
}

/** Packages that go into the program, sorted by name. A package without a licence text is a mistake, and throws. */
export function notices(): Notice[] {
  const screens = sourceFiles(root)
    .filter((path) => path.startsWith('renderer/'))
    .flatMap((path) => importsOf(readFileSync(join(root, path), 'utf8')))
    .flatMap((specifier) => packageOf(specifier) ?? []);
  const wanted = [...Object.keys(manifestIn(root).dependencies ?? {}), ...screens];
  const found = new Map<string, Notice>();
  while (wanted.length > 0) {
    const name = wanted.pop() as string;
    const folder = join(root, 'node_modules', name);
    if (found.has(name) || !existsSync(folder)) continue;
    const { version = '', license = '', dependencies = {} } = manifestIn(folder);
    const file = readdirSync(folder).find((entry) => /^(licen[cs]e|copying)(\.(md|txt))?$/i.test(entry));
    if (file === undefined || license === '') throw new Error(`${name} has no licence text in its package`);
    found.set(name, { name, version, licence: license, text: readFileSync(join(folder, file), 'utf8').trim() });
    wanted.push(...Object.keys(dependencies));
  }
  return [...found.values()].sort((a, b) => (a.name < b.name ? -1 : 1));
}

export function noticesText(): string {
  const head = 'Wearwright holds these works of others, each under the licence that follows its name.\n';
  const rule = '-'.repeat(80);
  return [head, ...notices().map(({ name, version, text }) => `${rule}\n${name} ${version}\n\n${text}\n`)].join('\n');
}
