/**
 * `npm run package [-- --dir]`: screens, bundle, then the installable packages for the machine it runs on, into dist/.
 * `--dir` stops at the unpacked program. ELECTRON_DIST names a folder with Electron's files where they cannot be
 * fetched.
 */
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

if (import.meta.main) {
  await readyScreens();
  await bundleDesktop();
  const electronDist = process.env['ELECTRON_DIST'];
  const made = await packProgram(electronDist === undefined ? {} : { electronDist }, process.argv.includes('--dir'));
  for (const file of made) console.log(file);
}
