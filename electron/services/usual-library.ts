/** Where the library lies when none is named: by the habits of each system, and the same for every host. */
import { homedir } from 'node:os';
import { join } from 'node:path';

export function usualLibrary(
  platform: NodeJS.Platform = process.platform,
  environment: Readonly<Record<string, string | undefined>> = process.env,
  home: string = homedir(),
): string {
  const { XDG_DATA_HOME: data, APPDATA: roaming } = environment;
  const folder =
    platform === 'win32'
      ? (roaming ?? join(home, 'AppData', 'Roaming'))
      : platform === 'darwin'
        ? join(home, 'Library', 'Application Support')
        : data !== undefined && data.startsWith('/')
          ? data
          : join(home, '.local', 'share');
  return join(folder, 'wearwright', 'library.wearwright');
}
