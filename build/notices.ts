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
  readonly author?: string | { readonly name: string };
  readonly dependencies?: Readonly<Record<string, string>>;
}

export interface Notice {
  readonly name: string;
  readonly version: string;
  readonly licence: string;
  readonly text: string;
}

/** Licences (SPDX) that a package's own description does not name; read from their texts. */
const READ_BY_US: Readonly<Record<string, string>> = { 'png-js': 'MIT', 'dejavu-fonts-ttf': 'Bitstream-Vera' };

/** The licence's text; where a package names the MIT licence without bringing it, that text in its author's name. */
function licenceText(folder: string, { license, author }: Manifest): string | undefined {
  const file = readdirSync(folder).find((entry) => /^(licen[cs]e|copying)(\.(md|txt))?$/i.test(entry));
  if (file !== undefined) return readFileSync(join(folder, file), 'utf8').trim();
  if (license !== 'MIT' || author === undefined) return undefined;
  const own = readFileSync(join(root, 'LICENSE'), 'utf8').trim();
  return own.replace(/^(Copyright \(c\)).*$/m, `$1 ${typeof author === 'string' ? author : author.name}`);
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
    const manifest = manifestIn(folder);
    const { version = '', dependencies = {} } = manifest;
    const licence = READ_BY_US[name] ?? manifest.license;
    const text = licenceText(folder, manifest);
    if (text === undefined || licence === undefined) throw new Error(`${name} has no licence text in its package`);
    found.set(name, { name, version, licence, text });
    wanted.push(...Object.keys(dependencies));
  }
  return [...found.values()].sort((a, b) => (a.name < b.name ? -1 : 1));
}

export function noticesText(): string {
  const head = 'Wearwright holds these works of others, each under the licence that follows its name.\n';
  const rule = '-'.repeat(80);
  return [head, ...notices().map(({ name, version, text }) => `${rule}\n${name} ${version}\n\n${text}\n`)].join('\n');
}
