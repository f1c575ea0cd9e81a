/**
 * Forms made in a library from invented scans with known truth: the frames of two scans of one head are known, so
 * where its landmarks must land on the second is known too.
 */
import { spawn } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { inventVisor } from '../../electron/invented/visor.ts';
import { scanWearer, WEARERS } from '../../electron/invented/production.ts';
import { JobPool } from '../../electron/jobs/pool.ts';
import { makeForm, makeLiner } from '../../electron/services/making.ts';
import { runAgain } from '../../electron/services/run-again.ts';
import { checkLibrary } from '../../electron/store/check.ts';
import * as records from '../../electron/store/records.ts';
import { transformMesh } from '../../electron/geometry/mesh/transform.ts';
import { codeOf, freshLibrary, good } from '../store/support.ts';

const pool = new JobPool();
afterAll(() => pool.close());

const captain = WEARERS[0];
if (captain === undefined) throw new Error('the production has nobody');
const FACES = 5000;

interface Carried {
  readonly name: string;
  readonly point: readonly number[];
  readonly uMm: number;
}

/** A clean scan of the captain, closed, in a frame and unit of its own: mending is tested elsewhere. */
function scanned(seed: number, unitsPerMm: number) {
  const wearer = { ...captain, faces: 2000, scan: { ...captain?.scan, seed, unitsPerMm } };
  const made = scanWearer(wearer as NonNullable<typeof captain>);
  const mesh = transformMesh(made.scan.truth.formToScan, made.head.mesh(FACES));
  return { recipe: { ...made.recipe, faces: 2000 }, bytes: good(writeMesh(mesh, 's.ply')).bytes };
}

const first = scanned(11, 0.001);

test('a form in a library: the same scan and recipe give the same bytes; evidence, job and liner are kept', async () => {
  const library = freshLibrary();
  const making = { library, pool };
  const { id: wearerId } = good(records.addWearer(library, { name: 'Invented Captain' }));
  const wanted = { wearerId, name: 'head', fileName: 'scan.ply', bytes: first.bytes, recipe: first.recipe };
  const one = good(await makeForm(making, wanted));
  const two = good(await makeForm(making, { ...wanted, formId: one.form.id }));
  expect(two.revision.meshSha256).toBe(one.revision.meshSha256);
  expect([one.revision.revision, two.revision.revision]).toEqual([1, 2]);
  expect(records.allOf(library, 'scans')).toHaveLength(1);
  expect(one.revision.steps.map((step) => step.verb)).toEqual(['mend', 'trim', 'stand', 'true', 'lighten', 'form']);
  const liner = good(await makeLiner(making, { formId: one.form.id, parameters: { foamMm: 10, toleranceMm: 1 } }));
  expect(good(records.readMeshOf(library, liner.liner)).triangles).toHaveLength(liner.mesh.triangles.length);
  // A recipe without readings has no size: the job says why and nothing is kept but the scan.
  const bad = await makeForm(making, { ...wanted, recipe: { ...first.recipe, spans: [], girths: [] } });
  expect(codeOf(bad)).toBe('reading.none');
  expect(records.allOf(library, 'jobs').map((job) => job.state)).toEqual(['done', 'done', 'done', 'failed']);
  expect(records.allOf(library, 'form_revisions')).toHaveLength(2);
  // Cancelled before it ends: nothing is kept.
  const stop = new AbortController();
  const watch = { signal: stop.signal, progress: () => stop.abort() };
  expect(codeOf(await makeForm({ ...making, watch }, wanted))).toBe('job.cancelled');
  expect(records.allOf(library, 'form_revisions')).toHaveLength(2);
  // The cut-off job can be run again as it stands.
  const cut = records.allOf(library, 'jobs').find((job) => job.state === 'cancelled');
  good(await runAgain(making, cut?.id ?? ''));
  const [, , third] = records.allOf(library, 'form_revisions');
  expect(third?.meshSha256).toBe(one.revision.meshSha256);
  expect(good(checkLibrary(library)).sound).toBe(true);
  library.close();
});

test('the command line: from an empty folder to a form, the same form from a newer, rough scan, a bundle, and a restore', async () => {
  const main = join(import.meta.dirname, '../../electron/hosts/cli/main.ts');
  const library = freshLibrary();
  library.close();
  const folder = join(library.path, '..');
  writeFileSync(join(folder, 'scan.ply'), first.bytes);
  writeFileSync(join(folder, 'recipe.json'), JSON.stringify(first.recipe));
  const call = (...words: string[]): Promise<{ code: number; figures: Record<string, unknown>; told: string }> =>
    new Promise((settle) => {
      const child = spawn(process.execPath, [main, ...words, '--library', library.path, '--json'], { cwd: folder });
      let [out, told] = ['', ''];
      child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString()));
      child.stderr.on('data', (chunk: Buffer) => (told += chunk.toString()));
      child.on('close', (code) =>
        settle({ code: code ?? -1, figures: JSON.parse(out) as Record<string, unknown>, told }),
      );
    });
  expect((await call('wearer', 'add', 'Invented Captain', '--consent', 'signed')).code).toBe(0);
  const form = await call('form', 'scan.ply', '--recipe', 'recipe.json', '--wearer', 'captain', '-o', 'form.stl');
  expect(form.code, form.told).toBe(0);
  expect(form.figures['revision']).toBe(1);
  // The same head in another frame and unit, as a phone delivers it: 0.3 mm of noise, cracks, holes, a chair.
  const rough = scanWearer({ ...captain, faces: FACES, scan: { ...captain.scan, seed: 77, unitsPerMm: 0.04 } });
  writeFileSync(join(folder, 'newer.obj'), good(writeMesh(rough.scan.mesh, 'newer.obj')).bytes);
  const again = await call('replay', 'captain', 'newer.obj', '--map', 'map.ply');
  expect(again.code, again.told).toBe(0);
  const { change, carried } = again.figures as { change: { meanMm: number; regions: object[] }; carried: Carried[] };
  expect(again.figures['revision']).toBe(2);
  for (const [name, truth] of Object.entries(rough.recipe.landmarks)) {
    const one = carried.find((point) => point.name === name);
    const missMm = Math.hypot(...truth.map((x, k) => x - (one?.point[k] ?? NaN))) / 0.04;
    expect(missMm, name).toBeLessThan(1.5);
    expect(missMm, name).toBeLessThan(3 * (one?.uMm ?? 0));
  }
  // Nothing about the body has changed; the scans' own noise and holes remain.
  expect(change.meanMm).toBeLessThan(1);
  expect(change.regions.length).toBeGreaterThan(10);
  const map = good(readMesh(new Uint8Array(readFileSync(join(folder, 'map.ply'))), 'map.ply')).mesh;
  expect(map.colours).toHaveLength(map.positions.length);
  // A scan of something else is refused, and nothing is kept of it.
  writeFileSync(join(folder, 'visor.stl'), good(writeMesh(inventVisor(172, 1).mesh, 'visor.stl')).bytes);
  const other = await call('replay', 'captain', 'visor.stl');
  expect(other.told).toMatch(/^The form does not lie on this scan in any turn and size: \d+ mm apart at best; check/);
  expect((await call('copy')).code).toBe(0);
  expect((await call('bundle', 'out', 'captain', 'b.zip')).code).toBe(0);
  expect((await call('check')).figures['sound']).toBe(true);
  const plan = await call('forget', 'captain');
  expect(plan.figures).toMatchObject({ forgotten: false, rows: { wearers: 1, scans: 2, form_revisions: 2 } });
  const gone = await call('forget', 'captain', '--yes');
  expect(gone.figures).toMatchObject({ forgotten: true });
  expect(gone.told).toContain('safety cop');
  expect((await call('shelf')).figures['wearers']).toEqual([]);
  expect((await call('restore')).code).toBe(0);
  expect((await call('shelf')).figures['wearers']).toMatchObject([{ name: 'Invented Captain', scans: 2, forms: 1 }]);
  const nobody = await call('wearer', 'show', 'nobody');
  expect(nobody.code).toBe(1);
  expect(nobody.told).toBe('There is no wearer "nobody" in this library; list the shelf to see what there is.\n');
  expect((await call('mend', 'scan.ply')).code).toBe(2);
});
