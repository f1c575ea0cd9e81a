/**
 * Who may import whom, as data, and the check of it. Imports go downward only and siblings do not import siblings;
 * each outside package is allowed in named folders only. `Math.random`, clocks, the console and node: have no place
 * in geometry.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, sep } from 'node:path';

export interface Layer {
  readonly folder: string;
  /** Own folders it may import, besides itself. */
  readonly own: readonly string[];
  /** Outside packages; 'node:' stands for all of Node's own. */
  readonly packages: readonly string[];
}

/** Longest folder first wins. */
export const LAYERS: readonly Layer[] = [
  { folder: 'shared-types', own: [], packages: ['zod'] },
  { folder: 'electron/geometry', own: ['shared-types'], packages: ['robust-predicates', 'earcut'] },
  { folder: 'electron/formats', own: ['shared-types', 'electron/geometry'], packages: ['fflate', 'earcut'] },
  { folder: 'electron/invented', own: ['shared-types', 'electron/geometry', 'electron/formats'], packages: [] },
  { folder: 'electron/store', own: ['shared-types'], packages: ['node:', 'better-sqlite3', 'zod', 'fflate'] },
  { folder: 'electron/papers', own: ['shared-types'], packages: ['node:', 'pdfkit', 'dejavu-fonts-ttf'] },
  { folder: 'electron/operations', own: ['shared-types', 'electron/geometry', 'electron/formats'], packages: ['zod'] },
  {
    folder: 'electron/jobs',
    own: ['shared-types', 'electron/formats', 'electron/operations'],
    packages: ['node:', 'zod'],
  },
  {
    folder: 'electron/services',
    own: [
      'shared-types',
      'electron/geometry',
      'electron/formats',
      'electron/operations',
      'electron/store',
      'electron/jobs',
      'electron/invented',
      'electron/papers',
    ],
    packages: ['node:', 'zod', 'fflate'],
  },
  { folder: 'electron/hosts/loopback', own: ['shared-types', 'electron/services'], packages: ['node:', 'ws'] },
  { folder: 'electron/hosts/shell', own: ['shared-types', 'electron/services'], packages: ['node:', 'electron'] },
  {
    folder: 'electron/hosts/cli',
    own: [
      'shared-types',
      'electron/services',
      'electron/formats',
      'electron/operations',
      'electron/jobs',
      'electron/invented',
      'electron/geometry',
      'electron/papers',
    ],
    packages: ['node:', 'zod'],
  },
  {
    folder: 'renderer/viewport',
    own: ['shared-types', 'electron/geometry/measure', 'electron/geometry/mesh'],
    packages: ['three', 'three-mesh-bvh'],
  },
  {
    folder: 'renderer',
    own: ['shared-types', 'electron/geometry/measure', 'electron/geometry/mesh', 'renderer/viewport'],
    packages: ['react', 'react-dom'],
  },
];

/** Words that have no place in pure geometry. */
const IMPURE = /\b(Math\.random|Date\.now|new Date|performance\.|console\.|process\.|document\.|window\.)/;

/** Source text without comments, so that a word in a sentence is no use of it. */
export function codeOf(text: string): string {
  return text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/(^|[^:])\/\/.*$/gm, '$1');
}

export function importsOf(text: string): string[] {
  const found: string[] = [];
  const pattern =
    /(?:^|[\s;}])(?:import|export)\b[^'"();]*?from\s*['"]([^'"]+)['"]|import\s*\(\s*['"]([^'"]+)['"]\s*\)|(?:^|[\s;])import\s*['"]([^'"]+)['"]/g;
  for (const match of codeOf(text).matchAll(pattern)) found.push((match[1] ?? match[2] ?? match[3]) as string);
  return found;
}

function layerOf(path: string): Layer | undefined {
  return LAYERS.filter((layer) => path.startsWith(`${layer.folder}/`)).sort(
    (a, b) => b.folder.length - a.folder.length,
  )[0];
}

/** Complaints about one file; `path` is relative to the root, with forward slashes. */
export function checkFile(path: string, text: string): string[] {
  const layer = layerOf(path);
  if (layer === undefined) return [];
  const complaints: string[] = [];
  for (const specifier of importsOf(text)) {
    if (specifier.startsWith('.')) {
      const target = join(dirname(path), specifier).split(sep).join('/');
      const inside = target.startsWith(`${layer.folder}/`) && layerOf(target)?.folder === layer.folder;
      if (!inside && !layer.own.some((folder) => target.startsWith(`${folder}/`))) {
        complaints.push(
          `${path}: ${layer.folder} may not import ${target}; allowed: ${layer.own.join(', ') || 'nothing of ours'}`,
        );
      }
    } else {
      const name = specifier.startsWith('node:')
        ? 'node:'
        : specifier
            .split('/')
            .slice(0, specifier.startsWith('@') ? 2 : 1)
            .join('/');
      if (!layer.packages.includes(name)) {
        complaints.push(
          `${path}: ${layer.folder} may not import ${specifier}; allowed packages: ${layer.packages.join(', ') || 'none'}`,
        );
      }
    }
  }
  if (layer.folder === 'electron/geometry') {
    const impure = IMPURE.exec(codeOf(text));
    if (impure !== null) complaints.push(`${path}: geometry is pure; "${impure[0]}" has no place in it`);
  }
  return complaints;
}

export function sourceFiles(root: string): string[] {
  return ['shared-types', 'electron', 'renderer', 'test', 'build'].flatMap((top) =>
    readdirSync(join(root, top), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && /\.(ts|tsx|mjs)$/.test(entry.name))
      .map((entry) => relative(root, join(entry.parentPath, entry.name)).split(sep).join('/')),
  );
}

export function checkLayers(root: string): string[] {
  return sourceFiles(root).flatMap((path) => checkFile(path, readFileSync(join(root, path), 'utf8')));
}
