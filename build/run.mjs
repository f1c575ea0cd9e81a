// The one way in, in plain JavaScript for the Node that is there (20 or later): sets up what is missing, finds the
// pinned Node 24 by path, and runs the asked task under it. Set-up speaks on standard error only, so that a task's
// standard output stays its own.
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const [task = '', ...rest] = process.argv.slice(2);

const TASKS = {
  start: [['build/start.ts', ...rest]],
  test: [['build/test.ts', ...rest]],
  check: [['build/check.ts']],
  bench: [['test/bench/run.ts', ...rest]],
  trials: [['build/trials.ts']],
  format: [['node_modules/prettier/bin/prettier.cjs', '--write', '--log-level', 'warn', '.']],
  kernel: [['build/kernel.ts']],
  package: [['build/package.ts', ...rest]],
  wearwright: [['electron/hosts/cli/main.ts', ...rest]],
};

function stop(sentence) {
  console.error(sentence);
  process.exit(1);
}

/** npm ci, once per lock file and machine kind. The stamp is written only after success. */
function setUp() {
  const lock = join(root, 'package-lock.json');
  const stampFile = join(root, 'node_modules', '.setup-stamp');
  const stamp = createHash('sha256')
    .update(readFileSync(lock))
    .update(process.platform + process.arch)
    .digest('hex');
  if (existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp) return;
  console.error('Setting up (once for this version): fetching the packages named in package-lock.json ...');
  const words = ['ci', '--ignore-scripts', '--no-audit', '--no-fund', '--loglevel=error'];
  const { npm_execpath: npm, npm_node_execpath: node } = process.env;
  const how = { cwd: root, stdio: ['ignore', 2, 2] };
  const done =
    npm !== undefined && npm.endsWith('.js')
      ? spawnSync(node ?? process.execPath, [npm, ...words], how)
      : spawnSync('npm', words, { ...how, shell: process.platform === 'win32' });
  if (done.status !== 0) {
    stop(
      'Setting up did not finish. Check the connection to the npm registry and the free disk space, then run the command again.',
    );
  }
  writeFileSync(stampFile, stamp);
}

/** The pinned Node, by path: what node_modules/.bin links differs from one npm to the next. */
function findNode() {
  const system = process.platform === 'win32' ? 'win' : process.platform;
  const binary = process.platform === 'win32' ? 'node.exe' : 'node';
  const pinned = join(root, 'node_modules', `node-${system}-${process.arch}`, 'bin', binary);
  if (existsSync(pinned)) return pinned;
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major > 24 || (major === 24 && minor >= 15)) return process.execPath;
  return stop(
    `There is no packaged Node 24 for ${system}-${process.arch}, and this is Node ${process.versions.node}. ` +
      'Install Node 24.15 or later from your system or its maker, then run the command again.',
  );
}

function run(node, words) {
  return new Promise((settle) => {
    const child = spawn(node, words, {
      cwd: task === 'wearwright' ? (process.env.INIT_CWD ?? process.cwd()) : root,
      stdio: 'inherit',
      env: {
        // Stripped and compiled modules are kept: it halves the start of the command line and of each thread.
        NODE_COMPILE_CACHE: join(root, 'node_modules', '.cache', 'compiled'),
        ...process.env,
        PATH: dirname(node) + delimiter + (process.env.PATH ?? ''),
      },
    });
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => child.kill(signal));
    child.on('error', (error) => stop(`The task could not be started: ${error.message}.`));
    child.on('exit', (code, signal) => settle(signal !== null ? 130 : (code ?? 1)));
  });
}

const steps = TASKS[task];
if (steps === undefined) stop(`There is no task "${task}"; choose one of: ${Object.keys(TASKS).join(', ')}.`);
setUp();
const node = findNode();
for (const [file, ...words] of steps) {
  const code = await run(node, [join(root, file), ...words]);
  if (code !== 0) process.exit(code);
}
