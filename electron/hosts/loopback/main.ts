/**
 * The studio in a browser on this machine: `main.ts --library FILE --screens FOLDER [--port N] [--no-open]`.
 * Prints one line with the address; ends on Ctrl-C with everything settled and the library closed.
 */
import { spawn } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { createStudio } from '../../services/dispatch.ts';
import { usualLibrary } from '../../services/usual-library.ts';
import { startLoopback } from './server.ts';

const HELP = `npm start -- [--browser] [--library FILE] [--port N] [--no-open]

  --browser        Use the browser even where the desktop window could be had.
  --library FILE   The library to open, made if it is not there.
  --port N         The port on 127.0.0.1; without it a free one is taken.
  --no-open        Only print the address.`;

/** Ask the system to show the address; where it cannot, the printed line serves. */
function show(address: string): void {
  const [command, ...words] =
    process.platform === 'win32'
      ? ['cmd', '/c', 'start', '', address]
      : process.platform === 'darwin'
        ? ['open', address]
        : ['xdg-open', address];
  const child = spawn(command, words, { stdio: 'ignore', detached: true });
  child.on('error', () => {});
  child.unref();
}

async function main(words: string[]): Promise<number> {
  const string = { type: 'string' } as const;
  const flag = { type: 'boolean' } as const;
  let values;
  try {
    const options = { library: string, screens: string, port: string, 'no-open': flag, browser: flag, help: flag };
    ({ values } = parseArgs({ args: words, options }));
  } catch (error) {
    console.error(`${(error as Error).message}\n\n${HELP}`);
    return 2;
  }
  if (values.help === true) {
    console.log(HELP);
    return 0;
  }
  const port = Number(values.port ?? 0);
  if (!Number.isInteger(port) || port < 0 || port > 65_535 || values.screens === undefined) {
    console.error(HELP);
    return 2;
  }
  const libraryPath = resolve(process.env['INIT_CWD'] ?? '.', values.library ?? usualLibrary());
  try {
    mkdirSync(dirname(libraryPath), { recursive: true });
  } catch (error) {
    console.error(
      `The folder ${dirname(libraryPath)} could not be made (${(error as Error).message}); name another with --library.`,
    );
    return 1;
  }
  const studio = createStudio({ libraryPath });
  if (!studio.ok) {
    console.error(faultSentence(studio.fault));
    return 1;
  }
  const { call, receive, subscribe, close } = studio.value;
  let loopback;
  try {
    loopback = await startLoopback({ screens: values.screens, port, call, receive, subscribe });
  } catch (error) {
    await close();
    const taken = (error as NodeJS.ErrnoException).code === 'EADDRINUSE';
    console.error(
      taken
        ? `Port ${port} is in use; choose another or leave --port away.`
        : `The port could not be opened: ${(error as Error).message}.`,
    );
    return 1;
  }
  console.log(`The studio is at ${loopback.address} (Ctrl-C ends it; library: ${libraryPath})`);
  if (values['no-open'] !== true) show(loopback.address);
  await new Promise<void>((settle) => {
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, () => settle());
  });
  await loopback.close();
  await close();
  return 0;
}

if (import.meta.main) process.exitCode = await main(process.argv.slice(2));
