/**
 * `npm run package [-- --dir]`: screens, bundle, then the installable packages for the machine it runs on, into dist/.
 * `--dir` stops at the unpacked program. ELECTRON_DIST names a folder with Electron's files where they cannot be
 * fetched.
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { bundleDesktop } from './bundle.ts';
import { packageConfig, type PackageOptions } from './electron-builder.config.ts';
import { readyScreens } from './screens.ts';

const root = join(import.meta.dirname, '..');

/** Packs what has been bundled; answers with the files made (none with `dir`, which leaves the unpacked program). */
export async function packProgram(options: PackageOptions, dir: boolean): Promise<readonly string[]> {
  const { build, Platform, Arch } = await import('electron-builder');
  const platform = options.platform ?? process.platform;
  const target = { linux: Platform.LINUX, win32: Platform.WINDOWS, darwin: Platform.MAC }[platform as 'linux'];
  if (target === undefined) throw new Error(`there is no package for ${platform}`);
  const arch = (options.arch ?? process.arch) === 'arm64' ? Arch.arm64 : Arch.x64;
  return build({
    projectDir: root,
    targets: target.createTarget(dir ? 'dir' : null, arch),
    config: packageConfig(options),
    publish: 'never',
  });
}

async function main(words: readonly string[]): Promise<number> {
  const electronDist = process.env['ELECTRON_DIST'];
  if (electronDist !== undefined && !existsSync(electronDist)) {
    console.error(`There is no folder ${electronDist}; let ELECTRON_DIST name one with Electron's files.`);
    return 1;
  }
  await readyScreens();
  await bundleDesktop();
  try {
    const made = await packProgram(electronDist === undefined ? {} : { electronDist }, words.includes('--dir'));
    for (const file of made) console.log(file);
    return 0;
  } catch (error) {
    const [first] = (error as Error).message.split('\n');
    console.error(
      `The packages could not be made (${first}). Electron's files and the tools of each kind of package are fetched ` +
        'the first time, which needs a connection; ELECTRON_DIST can name a folder with the former.',
    );
    return 1;
  }
}

if (import.meta.main) process.exitCode = await main(process.argv.slice(2));
