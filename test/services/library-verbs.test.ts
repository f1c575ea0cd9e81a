/**
 * The verbs on meshes with --library, called as the command line calls them. The head is invented, so its lengths and
 * the way from its scan to its form are known.
 */
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { multiply, scaling, transformMesh, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { inventVisor } from '../../electron/invented/visor.ts';
import { scanWearer, VISOR, WEARERS } from '../../electron/invented/production.ts';
import { easeOf } from '../../electron/geometry/fit/ease.ts';
import { readFileSync } from 'node:fs';
import type { Matrix4 } from '../../shared-types/mesh.ts';
import { ellipsoid } from '../support/solids.ts';
import { callsOn, type Answer } from '../support/library-calls.ts';
import { freshFolder, good } from '../store/support.ts';

const folder = freshFolder();
const path = join(folder, 'shelf.wearwright');
const at = (name: string): string => join(folder, name);
const captain = { ...WEARERS[0], faces: 2000, scan: { ...WEARERS[0].scan, unitsPerMm: 0.001 } };
const made = scanWearer(captain);
const clean = transformMesh(made.scan.truth.formToScan, made.head.mesh(8000));

const { onMesh, onShelf } = callsOn(path);

beforeAll(async () => {
  writeFileSync(at('scan.ply'), good(writeMesh(clean, 's.ply')).bytes);
  writeFileSync(at('recipe.json'), JSON.stringify({ ...made.recipe, faces: 3000 }));
  const visor = inventVisor(VISOR.pivotToPivotMm, VISOR.mmPerUnit);
  writeFileSync(at('visor.stl'), good(writeMesh(visor.mesh, 'visor.stl')).bytes);
  expect((await onShelf('wearer', 'add', 'Invented Captain', '--consent', 'agreed')).code).toBe(0);
  const form = await onMesh('form', at('scan.ply'), '--recipe', at('recipe.json'), '--wearer', 'captain');
  expect(form.code, form.told).toBe(0);
}, 60_000);
afterAll(() => vi.restoreAllMocks());

const visorPivots = () => {
  const { pivotLeft, pivotRight } = inventVisor(VISOR.pivotToPivotMm, VISOR.mmPerUnit);
  return { from: pivotLeft, to: pivotRight };
};

const meshAt = (name: string) => good(readMesh(new Uint8Array(readFileSync(at(name))), name)).mesh;

test('measure, stand, trim, lighten, health and mend work on a scan or form by name, with what the library knows', async () => {
  // What was measured on the form is what the head is, to the half per cent that its readings leave in doubt.
  const measured = await onMesh('measure', 'form:captain');
  expect(measured.code, measured.told).toBe(0);
  expect(measured.figures).toMatchObject({ fromLibrary: ['spans'], on: [{ kind: 'form', revision: 1 }] });
  const spans = measured.figures['spans'] as { name: string; lengthMm: number }[];
  expect(spans).toHaveLength(made.head.spans.length);
  for (const { name, lengthMm } of spans) {
    const truth = made.head.spans.find((span) => span.name === name)?.lengthMm ?? 0;
    expect(Math.abs(lengthMm / truth - 1), name).toBeLessThan(0.008);
  }
  const stood = await onMesh('stand', 'scan:captain', '-o', at('stood.stl'));
  expect(stood.figures['fromLibrary']).toEqual(['landmarks']);
  // The way to the upright frame is known, but for the size: the scan is in metres still.
  const truth = multiply(scaling(0.001), made.scan.truth.scanToForm);
  const corner = [clean.positions[0], clean.positions[1], clean.positions[2]] as const;
  const [a, b] = [stood.figures['matrix'] as Matrix4, truth].map((m) => transformPoint(m, corner));
  expect(Math.hypot(...a.map((x, k) => x - b[k]))).toBeLessThan(0.001);
  const trimmed = await onMesh('trim', 'captain-no', '-o', at('t.stl'));
  expect(trimmed.told).toBe(
    'There is no form, part or wearer "captain-no" in this library; list the shelf to see what there is.\n',
  );
  expect((await onMesh('trim', 'scan:captain', '-o', at('t.stl'))).code).toBe(0);
  expect(volumeOf(meshAt('t.stl'))).toBeLessThan(volumeOf(clean));
  const light = await onMesh('lighten', 'captain', '--faces', '1500', '-o', at('l.stl'));
  expect(light.figures['faces']).toBe(1500);
  expect(meshAt('l.stl').triangles).toHaveLength(4500);
  const health = await onMesh('health', 'scan:scan.ply');
  expect(health.figures['watertight']).toBe(true);
  const shown = await onShelf('wearer', 'show', 'captain');
  expect((shown.figures['scans'] as { health: object }[])[0].health).toMatchObject({ watertight: true });
  expect((await onMesh('mend', 'scan:captain', '-o', at('m.ply'))).code).toBe(0);
  // What is not given and not known is asked for; what would be lost is not made.
  expect(await onMesh('lighten', 'captain')).toMatchObject({ code: 2 });
  expect((await onMesh('true', 'scan:captain')).told).toContain('needs -o');
  expect(await onMesh('line', 'scan:captain', '--foam', '8')).toMatchObject({ code: 2 });
  expect(existsSync(at('undefined'))).toBe(false);
});

test('form of a scan that is here makes the same form again; a file that is no mesh leaves nothing behind', async () => {
  const again = await onMesh('form', 'scan:captain');
  expect(again.code, again.told).toBe(0);
  expect(again.figures).toMatchObject({ revision: 2, fromLibrary: ['recipe'] });
  const shelf = await onShelf('shelf');
  expect(shelf.figures['wearers']).toMatchObject([{ scans: 1, forms: 1 }]);
  writeFileSync(at('letter.ply'), 'this is a letter');
  const letter = await onMesh('form', at('letter.ply'), '--recipe', at('recipe.json'), '--wearer', 'captain');
  expect(letter.code).toBe(1);
  expect((await onShelf('shelf')).figures['wearers']).toMatchObject([{ scans: 1, forms: 1 }]);
});

test('a part is tried on forms, with its gap, and every trial of it is listed', async () => {
  expect((await onShelf('project', 'add', 'Invented play')).code).toBe(0);
  const part = await onShelf('project', 'part', 'play', at('visor.stl'), '--known', 'pivots', '--mm', '172');
  expect(part.figures).toMatchObject({ knownMm: 172 });
  writeFileSync(at('placement.json'), JSON.stringify({ matrix: scaling(VISOR.mmPerUnit) }));
  const tried = await onShelf('trial', 'add', 'visor', 'captain', '--placement', at('placement.json'));
  expect(tried.code, tried.told).toBe(0);
  const { trials } = (await onShelf('trial', 'list', 'visor')).figures as { trials: Record<string, unknown>[] };
  expect(trials).toMatchObject([{ wearer: 'Invented Captain', revision: 2, outdated: false }]);
  expect((await onShelf('trial', 'list', 'captain')).figures['trials']).toEqual(trials);
  const figures = trials[0]['figures'] as { leastEaseMm: number };
  expect(figures.leastEaseMm).toBeGreaterThan(0);
  writeFileSync(at('flat.json'), JSON.stringify(Array.from({ length: 16 }, () => 0)));
  expect((await onShelf('trial', 'add', 'visor', 'captain', '--placement', at('flat.json'))).code).toBe(2);
});

test('a part sized as it comes in is one step of undo; refused, nothing of it or of others is changed', async () => {
  const bowl = at('bowl.stl');
  writeFileSync(bowl, good(writeMesh(ellipsoid(4, 4, 4, 2), 'bowl.stl')).bytes);
  const add = (...size: string[]): Promise<Answer> => onShelf('project', 'part', 'play', bowl, ...size);
  expect((await onShelf('wearer', 'edit', 'captain', '--note', 'first')).code).toBe(0);
  expect((await onShelf('wearer', 'edit', 'captain', '--note', 'second')).code).toBe(0);
  expect((await onShelf('undo')).code).toBe(0);
  expect((await add('--unit', 'furlong')).code).toBe(2);
  expect((await add('--mm', '5')).told).toContain('--known');
  // What had been undone is still there to be brought back, and no part is.
  expect((await onShelf('redo')).figures).toEqual({ redone: 'edit a wearer' });
  expect((await add('--unit', 'cm')).figures).toMatchObject({ name: 'bowl.stl', recipe: { unit: 'cm' } });
  expect((await onShelf('undo')).figures).toEqual({ undone: 'add a part' });
  for (const room of ['1e9', '-1', 'wide'])
    expect(await onShelf('company', `--room=${room}`)).toMatchObject({ code: 2 });
  const { parts } = (await onShelf('project', 'show', 'play')).figures;
  expect(parts).toMatchObject([{ name: 'visor.stl' }]);
});

test('fit on the library keeps the trial with its place and figures, without a file', async () => {
  const known = { spans: [{ name: 'pivots', ...visorPivots(), measured: VISOR.pivotToPivotMm }] };
  writeFileSync(at('known.json'), JSON.stringify(known));
  const fitted = await onMesh('fit', 'part:visor', 'form:captain', '--known', at('known.json'), '--foam', '4');
  expect(fitted.code, fitted.told).toBe(0);
  expect(fitted.figures['trueSize']).toMatchObject({ how: 'known dimension' });
  const placement = fitted.figures['placement'] as number[];
  expect(placement[0]).toBeCloseTo(VISOR.mmPerUnit, 3);
  const { trials } = (await onShelf('trial', 'list', 'visor')).figures as { trials: Record<string, unknown>[] };
  const kept = trials.find(({ id }) => id === fitted.figures['trial']);
  expect(kept).toMatchObject({ wearer: 'Invented Captain', placement, figures: { neededMm: 4 } });
  const solved = await onMesh(
    'fit',
    'visor',
    'captain',
    '--place',
    at('placement.json'),
    '--solve',
    'place',
    '--quick',
  );
  expect(solved.code, solved.told).toBe(0);
  expect((solved.figures['solved'] as { leastMm: number }).leastMm).toBeGreaterThan(
    fitted.figures['leastEaseMm'] as number,
  );
});

test('the gap of a ball in a ball is the difference of their radii, and negative the other way round', () => {
  const [large, small] = [ellipsoid(100, 100, 100, 4), ellipsoid(90, 90, 90, 4)];
  const outside = easeOf(large, small);
  expect(outside.meanEaseMm).toBeCloseTo(10, 0);
  expect(outside.insideShare).toBe(0);
  const inside = easeOf(small, large);
  expect(inside.leastEaseMm).toBeLessThan(-9.7);
  expect(inside.insideShare).toBe(1);
});

test('a sheet tells what its readings say, how well they repeat, and what is odd', async () => {
  expect((await onShelf('wearer', 'add', 'Invented Reader')).code).toBe(0);
  const add = (name: string, kind: string, mm: string): Promise<Answer> =>
    onShelf('reading', 'add', 'reader', '--kind', kind, '--name', name, '--mm', mm);
  await add('calf circumference, left', 'girth', '381');
  await add('calf circumference, left', 'girth', '385');
  await add('foot length, left', 'span', '26.4');
  const { figures } = await onShelf('reading', 'list', 'reader');
  expect(figures['known']).toMatchObject([
    // Each reading is worth 4 mm, the catalogue's; the mean of two that over the root of two.
    { name: 'calf circumference, left', mm: 383, spreadMm: 4, count: 2, uMm: expect.closeTo(4 / Math.SQRT2, 9) },
    { name: 'foot length, left', doubt: expect.stringContaining('was it read in centimetres?') },
  ]);
  // One pair 4 mm apart: sqrt(4² / 2).
  expect(figures['repeatability']).toMatchObject([{ kind: 'girth', lengths: 1, readings: 2 }]);
  expect((figures['repeatability'] as { temMm: number }[])[0].temMm).toBeCloseTo(Math.sqrt(8), 12);
});

test('readings that state no uncertainty count with what the library says of their kind', async () => {
  const set = await onShelf('usual', 'set', 'headSpan', '4');
  expect(set.figures['usualMm']).toMatchObject({ headSpan: 4, headGirth: 3 });
  const [{ name: wanted, measured }] = made.recipe.spans;
  await onShelf('reading', 'add', 'captain', '--kind', 'span', '--name', wanted, '--mm', String(measured));
  const lengths = await onShelf('reading', 'list', 'captain');
  expect(lengths.figures['known']).toMatchObject([{ name: wanted, uMm: 4 }]);
  const trued = await onMesh('true', 'scan:captain', '-o', at('true.stl'));
  expect(trued.code, trued.told).toBe(0);
  const residuals = trued.figures['residuals'] as { name: string; uMm: number }[];
  // The scan's own fineness at the ends comes on top, in quadrature: some tenths of a millimetre.
  const { uMm = NaN } = residuals.find(({ name }) => name === wanted) ?? {};
  expect(uMm).toBeGreaterThan(4);
  expect(uMm).toBeLessThan(4.1);
  expect((await onShelf('usual', 'set', 'headSpan', '400')).code).toBe(2);
  expect((await onShelf('usual', 'reset')).figures['usualMm']).toMatchObject({ headSpan: 1.5 });
  await onShelf('undo');
  expect((await onShelf('usual', 'show')).figures['usualMm']).toMatchObject({ headSpan: 4 });
});
