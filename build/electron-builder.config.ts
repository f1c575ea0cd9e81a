/**
 * How the desktop program is packed: one archive of our bundle, the database's native part for the target only, the
 * screens beside it, and the switches of the binary set so that it runs nothing but that archive.
 */
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { Configuration } from 'electron-builder';
import { DESKTOP_FOLDER, NOTICES, THREAD_FOLDERS } from './bundle.ts';
import { TYPEFACE_FILES, TYPEFACE_PACKAGE } from '../electron/papers/typeface.ts';
import { SCREENS_FOLDER } from './screens.ts';

const root = join(import.meta.dirname, '..');
const versionOf = (name: string): string =>
  (createRequire(import.meta.url)(`${name}/package.json`) as { version: string }).version;

export interface PackageOptions {
  readonly platform?: NodeJS.Platform;
  readonly arch?: string;
  /** Where the packages go. */
  readonly output?: string;
  /** A folder with Electron's files, instead of fetching them. */
  readonly electronDist?: string;
  readonly desktop?: string;
  readonly screens?: string;
}

/** Scans the program opens, with their IANA media types (PLY has none): offered among the programs for them. */
const SCANS: Readonly<Record<string, string | null>> = {
  obj: 'model/obj',
  stl: 'model/stl',
  ply: null,
  glb: 'model/gltf-binary',
  gltf: 'model/gltf+json',
  '3mf': 'model/3mf',
};

export function packageConfig(options: PackageOptions = {}): Configuration {
  const { platform = process.platform, arch = process.arch } = options;
  const desktop = options.desktop ?? DESKTOP_FOLDER;
  return {
    appId: 'app.wearwright.studio',
    productName: 'Wearwright',
    copyright: 'Copyright The Wearwright makers, MIT licence',
    electronVersion: versionOf('electron'),
    ...(options.electronDist === undefined ? {} : { electronDist: options.electronDist }),
    // Answering false: nothing is compiled (the database brings its native part built, one file for Node and Electron
    // alike), and nothing of node_modules is collected.
    beforeBuild: async () => false,
    publish: null,
    directories: {
      app: desktop,
      output: options.output ?? join(root, 'dist'),
      buildResources: join(root, 'build/icons'),
    },
    files: ['**/*', `!${NOTICES}`],
    asar: true,
    // Threads need not be able to start from the archive, and native code cannot be loaded from it. The database is
    // used by the studio's thread only, so it lies beside that.
    asarUnpack: ['package.json', ...THREAD_FOLDERS.map((folder) => `${folder}/**`)],
    extraResources: [
      {
        from: join(root, 'node_modules/better-sqlite3'),
        to: 'app.asar.unpacked/node_modules/better-sqlite3',
        filter: ['package.json', 'LICENSE', 'lib/**', `prebuilds/${platform}*-${arch}.node`],
      },
      {
        from: join(root, 'node_modules', TYPEFACE_PACKAGE),
        to: `app.asar.unpacked/node_modules/${TYPEFACE_PACKAGE}`,
        filter: ['package.json', 'LICENSE', ...TYPEFACE_FILES],
      },
      { from: options.screens ?? SCREENS_FOLDER, to: 'screens' },
      { from: join(root, 'LICENSE'), to: 'LICENSE.txt' },
      { from: join(desktop, NOTICES), to: NOTICES },
    ],
    electronLanguages: ['en-US'],
    electronFuses: {
      runAsNode: false,
      enableCookieEncryption: true,
      enableNodeOptionsEnvironmentVariable: false,
      enableNodeCliInspectArguments: false,
      enableEmbeddedAsarIntegrityValidation: true,
      onlyLoadAppFromAsar: true,
      loadBrowserProcessSpecificV8Snapshot: false,
      grantFileProtocolExtraPrivileges: false,
    },
    fileAssociations: [
      {
        ext: 'wearwright',
        name: 'Wearwright library',
        description: 'Wearwright library',
        mimeType: 'application/x-wearwright',
        role: 'Editor',
        rank: 'Owner',
      },
      ...Object.entries(SCANS).map(([ext, mimeType]) => ({
        ext,
        name: `${ext.toUpperCase()} scan`,
        description: `${ext.toUpperCase()} scan`,
        mimeType,
        role: 'Viewer' as const,
        rank: 'Alternate' as const,
      })),
    ],
    linux: {
      target: ['AppImage', 'deb'],
      icon: join(root, 'build/icons/icon.png'),
      category: 'Graphics',
      maintainer: 'The Wearwright makers <makers@wearwright.invalid>',
      synopsis: 'Fitting studio for wearable hard props',
      executableName: 'wearwright',
    },
    win: { target: ['nsis'], icon: join(root, 'build/icons/icon.png') },
    // For the whole machine: only so does the installer tie the library's ending to the program.
    nsis: { oneClick: false, perMachine: true, allowToChangeInstallationDirectory: true },
    mac: {
      target: ['dmg'],
      icon: join(root, 'build/icons/icon.png'),
      category: 'public.app-category.graphics-design',
      hardenedRuntime: true,
    },
  };
}
