/** The main job as a maker's script would run it: files in, files and one JSON object out, through the real command line. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { examine } from '../../electron/geometry/mend/health.ts';
import { transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { scanWearer, VISOR, WEARERS } from '../../electron/invented/production.ts';
import type { Mesh } from '../../shared-types/mesh.ts';

const MAIN = join(import.meta.dirname, '../../electron/hosts/cli/main.ts');
let folder = '';

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'journey-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function wearwright(...words: string[]): { code: number | null; out: string; err: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, [MAIN, ...words], { cwd: folder, encoding: 'utf8' });
  return { code: status, out: stdout, err: stderr };
}

function figuresOf(result: ReturnType<typeof wearwright>): Record<string, any> {
  expect(result.code, result.err).toBe(0);
  expect(result.out.trim().split('\n')).toHaveLength(1);
  return JSON.parse(result.out) as Record<string, any>;
}

function load(name: string): Mesh {
  const outcome = readMesh(new Uint8Array(readFileSync(join(folder, name))), name);
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome.value.mesh;
}

// A machine busy with other work gives each run a tenth of its speed; nothing here is about time.
describe('the command line', { timeout: 600_000 }, () => {
  it('takes a scan to a form and a liner', () => {
    const { head, scan, recipe } = scanWearer({ ...WEARERS[0], faces: 16_000 });
    const written = writeMesh(scan.mesh, 'scan.ply');
    if (!written.ok) throw new Error(written.fault.code);
    writeFileSync(join(folder, 'scan.ply'), written.value.bytes);
    writeFileSync(join(folder, 'recipe.json'), JSON.stringify(recipe));

    const form = figuresOf(wearwright('form', 'scan.ply', '-o', 'form.stl', '--recipe', 'recipe.json', '--json'));
    expect(examine(load('form.stl'))).toMatchObject({ watertight: true, selfIntersections: 0 });
    expect(form['matrix']).toHaveLength(16);
    // The whole way from the scan file's coordinates to the form's.
    const nose = head.landmarks.pronasale;
    const landed = transformPoint(form['matrix'], transformPoint(scan.truth.formToScan, nose));
    expect(Math.hypot(...landed.map((x, axis) => x - nose[axis]))).toBeLessThan(1);

    const words = ['line', 'form.stl', '-o', 'liner.3mf', '--foam', '8', '--tolerance', '0.5', '--json'];
    const liner = figuresOf(wearwright(...words));
    expect(liner).toMatchObject({ watertight: true, selfIntersections: 0 });
    expect(liner['meanAbsErrorMm']).toBeLessThan(0.1);
    expect(examine(load('liner.3mf'))).toMatchObject({ watertight: true, selfIntersections: 0 });
  });

  it('answers with one sentence and the right exit code when it cannot', () => {
    writeFileSync(join(folder, 'broken.stl'), 'this is not a mesh');
    const broken = wearwright('health', 'broken.stl');
    expect(broken.code).toBe(1);
    expect(broken.out).toBe('');
    expect(broken.err.trim().split('\n')).toHaveLength(1);
    expect(wearwright('health', 'nowhere.stl').code).toBe(1);
    expect(wearwright('shrink', 'broken.stl').code).toBe(2);
    expect(wearwright('demo', '--loud').code).toBe(2);
  });

  it('runs the whole demo and leaves what a maker takes on', () => {
    const account = figuresOf(wearwright('demo', '--out', 'out', '--faces', '12000', '--json'));
    expect(account['invented']).toBe(true);
    expect(account['wearers']).toHaveLength(2);
    for (const wearer of account['wearers']) {
      expect(wearer.form.health).toMatchObject({ watertight: true, selfIntersections: 0 });
      expect(wearer.liner).toMatchObject({ watertight: true, selfIntersections: 0 });
    }
    // The planted misreading is named, and the visor's one known dimension comes back.
    expect(account['wearers'][0].form.true.outliers).toContain(WEARERS[0].misread?.name);
    expect(account['visor'].measuredAgain.spans[0].lengthMm).toBeCloseTo(VISOR.pivotToPivotMm, 3);
    expect(readdirSync(join(folder, 'out'))).toEqual(
      expect.arrayContaining(['captain-form.stl', 'captain-form.3mf', 'captain-liner.3mf', 'visor-true.stl']),
    );
  });
});
