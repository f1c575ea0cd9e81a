/** The command line as a person or a script meets it: a process, files, exit codes. */
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, mkdirSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { writeMesh } from '../../electron/formats/index.ts';
import { transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { troubleInJson } from '../../electron/hosts/cli/json-file.ts';
import { checkTarget, writeWhole } from '../../electron/hosts/cli/output.ts';
import { OPERATIONS } from '../../electron/operations/index.ts';
import { seeded } from '../support/random.ts';
import { sphere } from '../support/solids.ts';

const root = join(import.meta.dirname, '../..');
const main = join(root, 'electron/hosts/cli/main.ts');
/** As the launcher sets it: compiled modules are kept from one start to the next. */
const env = { ...process.env, NODE_COMPILE_CACHE: join(root, 'node_modules/.cache/compiled') };
let folder = '';

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-cli-'));
  for (const name of ['ball.glb', 'ball.stl', 'ball.ply']) {
    const written = writeMesh(sphere(80, 4), name);
    if (!written.ok) throw new Error(written.fault.code);
    writeFileSync(join(folder, name), written.value.bytes);
  }
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function run(...words: string[]): { code: number | null; out: string; err: string } {
  const done = spawnSync(process.execPath, [main, ...words], { cwd: folder, encoding: 'utf8', env });
  return { code: done.status, out: done.stdout, err: done.stderr };
}

/**
 * Bounds in metres as the file states them, read here without our reader: the accessor's own min and max taken
 * through the node's matrix, which stands by columns (Khronos glTF 2.0, sections 3.5.3 and 3.6.2.5).
 */
function glbBounds(path: string): { min: number[]; max: number[] } {
  const bytes = readFileSync(path);
  const json = JSON.parse(bytes.subarray(20, 20 + bytes.readUInt32LE(12)).toString('utf8')) as {
    accessors: { min?: number[]; max?: number[]; type: string }[];
    nodes: { matrix: number[] }[];
  };
  const { min = [], max = [] } = json.accessors.find((one) => one.type === 'VEC3' && one.min !== undefined) ?? {};
  const { matrix: m } = json.nodes[0];
  const [a, b] = [min, max].map((p) =>
    [0, 1, 2].map((r) => m[r] * p[0] + m[4 + r] * p[1] + m[8 + r] * p[2] + m[12 + r]),
  );
  return { min: a.map((x, k) => Math.min(x, b[k])), max: a.map((x, k) => Math.max(x, b[k])) };
}

/** A random edit of a good text: what the language refuses, we must place; what it takes, we must call whole. */
describe('the place of a mistake in JSON', () => {
  it('is found exactly when there is one (2,000 edits, seed 7)', () => {
    const random = seeded(7);
    const good = '{"spans":[{"name":"a\\n","from":[0,-1.5e3,2],"hold":true,"u":null}],"faces":[],"o":{}}';
    for (let round = 0; round < 2000; round++) {
      const at = Math.floor(random() * good.length);
      const letter = '{}[],:"0-.e\\tn x'[Math.floor(random() * 16)] ?? '';
      const text = good.slice(0, at) + (random() < 0.5 ? letter : '') + good.slice(at + (random() < 0.5 ? 1 : 0));
      let taken = true;
      try {
        JSON.parse(text);
      } catch {
        taken = false;
      }
      const { reason, at: place } = troubleInJson(text);
      expect(reason === 'it is whole', text).toBe(taken);
      expect(place).toBeLessThanOrEqual(text.length);
    }
  });
});

function stlBounds(path: string): { min: number[]; max: number[] } {
  const bytes = readFileSync(path);
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let face = 0; face < bytes.readUInt32LE(80); face++) {
    for (let k = 0; k < 9; k++) {
      const x = bytes.readFloatLE(84 + face * 50 + 12 + k * 4);
      min[k % 3] = Math.min(min[k % 3], x);
      max[k % 3] = Math.max(max[k % 3], x);
    }
  }
  return { min, max };
}

describe('a verb', () => {
  it('prints one JSON object and takes the input file to the output file by the matrix it states', () => {
    const { code, out, err } = run('lighten', 'ball.glb', '-o', 'light.stl', '--faces', '900', '--json');
    expect(err).toBe('');
    expect(code).toBe(0);
    expect(out.trim().split('\n')).toHaveLength(1);
    const told = JSON.parse(out) as { faces: number; matrix: number[]; warnings: unknown[] };
    expect(told.faces).toBeLessThanOrEqual(900);
    expect(told.warnings).toEqual([]);
    // glTF is in metres with y up, STL here in mm with z up. A light ball is a little smaller than the ball.
    const from = glbBounds(join(folder, 'ball.glb'));
    const to = stlBounds(join(folder, 'light.stl'));
    expect(from.max[0]).toBeCloseTo(0.08, 3);
    const corners = [from.min, from.max].map((p) => transformPoint(told.matrix, [p[0], p[1], p[2]]));
    for (let k = 0; k < 3; k++) {
      const [a, b] = [corners[0][k], corners[1][k]].toSorted((x, y) => x - y);
      expect(Math.abs(a - to.min[k])).toBeLessThan(1);
      expect(Math.abs(b - to.max[k])).toBeLessThan(1);
    }
    expect(Math.hypot(told.matrix[0], told.matrix[4], told.matrix[8])).toBeCloseTo(1000, 6);
  });

  it('prints a short text otherwise, every length with its unit', () => {
    const { code, out } = run('lighten', 'ball.stl', '-o', 'text.ply', '--within', '0.5');
    expect(code).toBe(0);
    expect(out).toMatch(/^lighten ball\.stl -> text\.ply$/m);
    expect(out).toMatch(/^max deviation +[\d.]+ mm$/m);
    expect(out).not.toContain('undefined');
  });

  it('tells its progress on standard error when asked, never falling', () => {
    const { code, out, err } = run('lighten', 'ball.ply', '-o', 'told.3mf', '--faces', '900', '--json', '--progress');
    expect(code).toBe(0);
    expect(() => JSON.parse(out) as unknown).not.toThrow();
    const percents = [...err.matchAll(/ (\d+) %/g)].map(([, percent]) => Number(percent));
    expect(percents.length).toBeGreaterThan(2);
    expect(percents).toEqual(percents.toSorted((a, b) => a - b));
    expect(percents.at(-1)).toBe(100);
  });

  it('stops when interrupted, says so, and leaves nothing behind', async () => {
    const written = writeMesh(sphere(80, 7), 'big.stl');
    if (!written.ok) throw new Error(written.fault.code);
    writeFileSync(join(folder, 'big.stl'), written.value.bytes);
    const words = [main, 'lighten', 'big.stl', '-o', 'never.stl', '--faces', '900', '--json', '--progress'];
    const child = spawn(process.execPath, words, { cwd: folder, env });
    let out = '';
    let err = '';
    child.stdout.on('data', (data: Buffer) => (out += data.toString()));
    child.stderr.on('data', (data: Buffer) => {
      // The first words of progress show that it is at work.
      if (err === '') child.kill('SIGINT');
      err += data.toString();
    });
    const code = await new Promise((settle) => child.on('close', settle));
    expect(code).toBe(1);
    expect(err).toContain('Stopped as you asked; nothing was changed.');
    expect(JSON.parse(out)).toMatchObject({ fault: { code: 'job.cancelled' } });
    expect(readdirSync(folder).filter((name) => name.includes('never'))).toEqual([]);
  });
});

describe('what cannot be done', () => {
  it.each([
    [['lighten', 'gone.stl', '-o', 'b.stl'], 1, 'There is no file gone.stl; check the name and the folder.'],
    [['lighten', 'ball.stl', '-o', 'b.doc'], 1, 'b.doc does not say what kind of file to write'],
    [['lighten', 'ball.stl', '-o', 'no/such/b.stl'], 1, 'no/such/b.stl cannot be written (the folder does not exist)'],
    [['lighten', 'ball.stl', '-o', './ball.stl'], 1, 'is also the file being read'],
    [['lighten', 'ball.stl', '-o', 'b.stl', '--facse', '9'], 2, 'did you mean --faces?'],
    [['lighten', 'ball.stl', '-o', 'b.stl', '--faces', '9', '--within', '1'], 2, 'not both'],
    [['lighten', 'ball.stl', '-o', 'b.stl', '--faces', '3'], 2, '--faces takes 4 to 20000000 faces; 3 is not.'],
    [['lihgten', 'ball.stl'], 2, 'There is no "lihgten"; did you mean lighten?'],
    [['line', 'ball.stl', '-o', 'b.stl'], 2, 'it needs --foam MM'],
  ] as const)('%j ends with %i and a sentence', (words, code, sentence) => {
    const done = run(...words);
    expect(done.err).toContain(sentence);
    expect(done.err.trim().split('\n')).toHaveLength(1);
    expect(done.code).toBe(code);
    expect(done.out).toBe('');
  });

  it('is one JSON object too when a script asks', () => {
    const { code, out, err } = run('lighten', 'gone.stl', '-o', 'b.stl', '--json');
    expect(code).toBe(1);
    const { fault } = JSON.parse(out) as { fault: { code: string; sentence: string } };
    expect(fault.code).toBe('file.missing');
    expect(err.trim()).toBe(fault.sentence);
  });

  it('names line and column of bad JSON', () => {
    writeFileSync(join(folder, 'bad.json'), '{\n  "plane": [0,0,0,,0,1]\n}');
    const { code, err } = run('line', 'ball.stl', '-o', 'b.stl', '--foam', '5', '--opening', 'bad.json');
    expect(code).toBe(1);
    expect(err.trim()).toBe(
      'bad.json, line 2: This is not JSON from column 19 on ("," stands where a value belongs); correct the file there.',
    );
    writeFileSync(join(folder, 'cut.json'), '{"plane": [0,0,0');
    const cut = run('line', 'ball.stl', '-o', 'b.stl', '--foam', '5', '--opening', 'cut.json');
    expect(cut.err).toContain('line 1: This is not JSON from column 17 on (it ends where a comma or ] belongs)');
  });

  it('never overwrites what is read, whatever name it goes by', () => {
    symlinkSync('ball.stl', join(folder, 'alias.stl'));
    const before = readFileSync(join(folder, 'ball.stl'));
    const { code, err } = run('lighten', 'ball.stl', '-o', 'alias.stl');
    expect(code).toBe(1);
    expect(err).toContain('is also the file being read');
    expect(readFileSync(join(folder, 'ball.stl')).equals(before)).toBe(true);
  });

  it('names the file whose contents are bad', () => {
    writeFileSync(join(folder, 'cut.stl'), readFileSync(join(folder, 'ball.stl')).subarray(0, 1000));
    const { code, err } = run('lighten', 'cut.stl', '-o', 'b.stl');
    expect(code).toBe(1);
    expect(err).toMatch(/^cut\.stl/);
    expect(err.trim().split('\n')).toHaveLength(1);
  });
});

describe('help', () => {
  it('lists every verb, and each verb tells its flags', () => {
    const { code, out } = run('--help');
    expect(code).toBe(0);
    for (const { specification } of OPERATIONS) expect(out).toContain(`  ${specification.verb} `);
    const line = run('line', '--help');
    expect(line.code).toBe(0);
    expect(line.out).toMatch(/--foam MM +Thickness/);
  });
});

describe('writing', () => {
  it('is whole or not at all, and replaces an older result', () => {
    const out = join(folder, 'whole.stl');
    expect(writeWhole(out, new Uint8Array([1, 2])).ok).toBe(true);
    expect(writeWhole(out, new Uint8Array([3])).ok).toBe(true);
    expect([...readFileSync(out)]).toEqual([3]);
    mkdirSync(join(folder, 'taken.stl', 'x'), { recursive: true });
    const outcome = writeWhole(join(folder, 'taken.stl'), new Uint8Array([1]));
    expect(outcome).toMatchObject({ ok: false, fault: { code: 'file.unwritable' } });
    expect(checkTarget(join(folder, 'taken.stl'), []).ok).toBe(false);
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});
