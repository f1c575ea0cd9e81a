/**
 * Parts of a library by name, as the command line calls them: a bowl and a ball drawn in inches, files that state no
 * unit, brought in with one known length. Every expected value is of closed form: balls in balls, radii in mm.
 */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join as pathOf } from 'node:path';
import { beforeAll, expect, test } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { scaling, transformMesh } from '../../electron/geometry/mesh/transform.ts';
import { DESK_REGISTRY, JobPool } from '../../electron/jobs/pool.ts';
import { easeOfFitting, triedOf } from '../../electron/services/fitting.ts';
import { describeProject, exportBundle, importBundle, openLibrary } from '../../electron/services/library.ts';
import { makingsOf } from '../../electron/services/studio/making-calls.ts';
import { addFitting, addStock, finishPart } from '../../electron/store/making-records.ts';
import * as records from '../../electron/store/records.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { join } from '../support/meshes.ts';
import { inward, sphere } from '../support/solids.ts';
import { callsOn } from '../support/library-calls.ts';
import { freshFolder, freshLibrary, good } from '../store/support.ts';

const INCH = 25.4;
const [BODY_MM, BOWL_MM, WALL_MM, BALL_MM, SHIFT_MM] = [80, 95, 4, 60, 5];
/** By how much faces of balls of 1280 triangles stand off from them, body and bowl together. */
const FACETS_MM = 0.6;
const folder = freshFolder();
const at = (name: string): string => pathOf(folder, name);
const path = at('shelf.wearwright');
const placed = (x: number, size = 1): number[] => [size, 0, 0, x, 0, size, 0, 0, 0, 0, size, 0, 0, 0, 0, 1];

const { onMesh, onShelf } = callsOn(path);
const json = (name: string, value: unknown): string => {
  writeFileSync(at(name), JSON.stringify(value));
  return at(name);
};

/** A part in inches beside its known length, brought into the project. */
async function bring(name: string, mesh: Mesh, radiusMm: number): Promise<void> {
  writeFileSync(at(`${name}.stl`), good(writeMesh(transformMesh(scaling(1 / INCH), mesh), 'p.stl')).bytes);
  const from = [-radiusMm / INCH, 0, 0];
  const spans = [{ name: 'across', from, to: from.map((x) => -x), measured: 2 * radiusMm }];
  const words = ['--known', json(`${name}.json`, { spans })];
  const brought = await onShelf('project', 'part', 'play', at(`${name}.stl`), ...words);
  expect(brought.code, brought.told).toBe(0);
}

beforeAll(async () => {
  const library = good(openLibrary(path, { create: true }));
  const { id: wearerId } = good(records.addWearer(library, { name: 'Invented ball' }));
  const scan = good(records.addScan(library, { wearerId, fileName: 'a.obj', bytes: Buffer.from('v 0 0 0') }));
  const made = { wearerId, name: 'round', scanId: scan.id, recipe: {}, steps: [], programVersion: '0' };
  good(records.addFormRevision(library, { ...made, mesh: sphere(BODY_MM, 3) }));
  good(addStock(library, { material: 'Invented foam', nominalMm: 10, compression: 0.2 }));
  library.close();
  expect((await onShelf('project', 'add', 'Invented play')).code).toBe(0);
  await bring('bowl', join(sphere(BOWL_MM + WALL_MM, 3), inward(sphere(BOWL_MM, 3))), BOWL_MM + WALL_MM);
  await bring('ball', sphere(BALL_MM, 3), BALL_MM);
}, 30_000);

test('a part by name is tried on in its true size, and what is kept of it is what the studio shows', async () => {
  const words = ['part:bowl', 'form:round', '--place', json('place.json', { matrix: placed(SHIFT_MM) })];
  const fitted = await onMesh('fit', ...words);
  expect(fitted.code, fitted.told).toBe(0);
  expect(fitted.told).not.toContain('states no unit');
  const least = BOWL_MM - BODY_MM - SHIFT_MM;
  expect(Math.abs((fitted.figures['leastEaseMm'] as number) - least)).toBeLessThan(FACETS_MM);
  const { trials } = (await onShelf('trial', 'list', 'bowl')).figures as { trials: Record<string, unknown>[] };
  expect(trials).toMatchObject([{ part: 'bowl.stl', outdated: false, placement: placed(SHIFT_MM) }]);

  const library = good(openLibrary(path));
  const [form] = records.allOf(library, 'forms');
  const [part] = records.allOf(library, 'parts');
  const fitting = good(addFitting(library, { name: 'bowl', formId: form.id, partId: part.id, draft: {} }));
  expect(triedOf(library, fitting)).toMatchObject({ outdated: false, placement: placed(SHIFT_MM) });
  const pool = new JobPool({ registry: DESK_REGISTRY, log: (_reference, account) => console.error(account) });
  const ease = good(await easeOfFitting({ library, pool }, fitting)).figures as { leastEaseMm: number };
  expect(Math.abs(ease.leastEaseMm - least)).toBeLessThan(FACETS_MM);
  await pool.close();
  library.close();
});

test('a trial of before that led from the file leads from the part in true size now', async () => {
  const library = good(openLibrary(path));
  const [form] = records.allOf(library, 'forms');
  const [part] = records.allOf(library, 'parts');
  const [revision] = records.revisionsOf(library, form.id);
  const older = { partId: part.id, formRevisionId: revision.id, figures: {} };
  good(records.addTrial(library, { ...older, placement: placed(SHIFT_MM, INCH) }));
  library.close();
  const { trials } = (await onShelf('trial', 'list', 'bowl')).figures as { trials: { placement: number[] }[] };
  const last = trials.at(-1)?.placement ?? [];
  for (const [k, entry] of placed(SHIFT_MM).entries()) expect(Math.abs(entry - (last[k] ?? NaN))).toBeLessThan(1e-9);
  expect((await onShelf('undo')).code).toBe(0);
});

test('what is meant for the file of a part is refused where the part has its true size', async () => {
  const inFile = json('in-file.json', { matrix: placed(0, INCH) });
  const cases = [
    await onMesh('fit', 'part:bowl', 'form:round', '--known', at('bowl.json')),
    await onMesh('fit', 'part:bowl', 'form:round', '--unit', 'in'),
    await onMesh('fit', 'part:bowl', 'form:round', '--place', inFile),
    await onShelf('trial', 'add', 'bowl', 'round', '--placement', inFile),
  ];
  for (const { code, told } of cases) {
    expect(code, told).toBe(2);
    expect(told).toContain('true size');
  }
});

/** Round the point farthest along x, within 25 mm of it. */
const SPOT = { name: 'side', points: [[BODY_MM, 0, 0]], radiusMm: 25 };

test('pads by name take place and foam from the library, are kept with their project, and are made again alike', async () => {
  const library = good(openLibrary(path));
  const [form] = records.allOf(library, 'forms');
  const [part] = records.allOf(library, 'parts');
  const draft = { placement: placed(SHIFT_MM) };
  good(addFitting(library, { name: 'side', formId: form.id, partId: part.id, projectId: part.projectId, draft }));
  library.close();
  const words = ['part:bowl', 'form:round', '--pads', json('pads.json', { patches: [SPOT] })];
  const padded = await onMesh('pad', ...words, '-o', at('pads'));
  expect(padded.code, padded.told).toBe(0);
  expect(padded.figures['fromLibrary']).toEqual(['stock', 'place']);
  const [pad] = padded.figures['pads'] as { gap: { mostMm: number }; stack: { material: string }[] }[];
  // Farthest along the shift the balls are apart by the difference of their radii and the shift.
  expect(Math.abs(pad.gap.mostMm - (BOWL_MM - BODY_MM + SHIFT_MM))).toBeLessThan(FACETS_MM);
  expect(pad.stack.map(({ material }) => material)).toContain('Invented foam');
  expect(readdirSync(at('pads')).toSorted()).toEqual((padded.figures['files'] as string[]).toSorted());
  const { making } = padded.figures as { making: string };
  const again = await onShelf('rerun', making);
  expect(again.figures, again.told).toMatchObject({ pads: padded.figures['pads'] });
  const { fittings, makings } = (await onShelf('project', 'show', 'play')).figures as Record<string, { id: string }[]>;
  expect(fittings).toMatchObject([{ name: 'side' }]);
  expect(makings).toMatchObject([{ id: making, kind: 'pads' }, { kind: 'pads' }]);
  expect((await onShelf('wearer', 'show', 'ball')).figures['makings']).toMatchObject(makings);
  expect((await onShelf('undo')).figures).toEqual({ undone: 'keep pads' });
});

test('pieces, bands and patterns by name are kept; planes and levels are millimetres of the part in true size', async () => {
  const split = await onMesh('split', 'part:ball', '--bed', '150,150,150', '--plane', '0,0,20,0,0,1', '--mark', '0');
  expect(split.code, split.told).toBe(0);
  const pieces = split.figures['pieces'] as { sizeMm: number[]; volumeMm3: number }[];
  expect(pieces).toHaveLength(2);
  // The cap over the plane: pi h^2 (3 r - h) / 3, 40 mm high.
  const cap = (Math.PI * 40 ** 2 * (3 * BALL_MM - 40)) / 3;
  expect(Math.min(...pieces.map(({ volumeMm3 }) => volumeMm3)) / cap).toBeCloseTo(1, 1);
  const bands = await onMesh('gauge', 'part:ball', '--levels', '36', '--band', '2', '--name', 'Try these');
  expect(bands.figures, bands.told).toMatchObject({ name: 'Try these', files: ['bands.3mf', 'band-01.stl'] });
  // 36 mm over the middle of a ball of 60 mm the circle is one of 48 mm.
  const [{ outsideMm }] = bands.figures['bands'] as { outsideMm: number }[];
  expect(Math.abs(outsideMm / (2 * Math.PI * 48) - 1)).toBeLessThan(0.02);
  const laid = await onMesh(
    'pattern',
    'form:round',
    '--foam',
    '6',
    '--patch',
    json('spot.json', SPOT),
    '--project',
    'play',
  );
  expect(laid.code, laid.told).toBe(0);
  // The points of a ball within c of one are a cap of pi c^2, cut here along faces of 10 mm; the sheet's middle lies 3 mm farther out.
  const [{ areaMm2 }] = laid.figures['pieces'] as { areaMm2: number }[];
  expect(Math.abs(areaMm2 / (Math.PI * 25 ** 2 * (1 + 3 / BODY_MM) ** 2) - 1)).toBeLessThan(0.1);
  const { makings } = (await onShelf('project', 'show', 'play')).figures as { makings: { kind: string }[] };
  expect(makings.map(({ kind }) => kind)).toEqual(expect.arrayContaining(['pieces', 'gauge', 'pattern']));
  // A file beside the library is not of it: what is made of it needs a folder.
  const outside = await onMesh('split', at('ball.stl'), '--bed', '150,150,150');
  expect(outside).toMatchObject({ code: 2, told: expect.stringContaining('needs -o FOLDER') });
});

test('a solid part by name is made hollow, kept, written, made again, outdated by another size, and travels', async () => {
  const words = ['--wall', '6', '--tolerance', '0.5', '--opening', json('low.json', { plane: [0, 0, -30, 0, 0, 1] })];
  const made = await onMesh('shell', 'part:ball', ...words, '-o', at('hollow.ply'));
  expect(made.code, made.told).toBe(0);
  expect(made.figures).toMatchObject({ name: 'shell: ball.stl', files: ['shell.stl', 'shell.3mf'] });
  const { making, hollowMm3, volumeMm3 } = made.figures as { making: string; hollowMm3: number; volumeMm3: number };
  expect(Math.abs(hollowMm3 / ((4 / 3) * Math.PI * (BALL_MM - 6) ** 3) - 1)).toBeLessThan(0.05);
  const written = good(readMesh(readFileSync(at('hollow.ply')), 'hollow.ply')).mesh;
  expect(Math.abs(volumeOf(written) / volumeMm3 - 1)).toBeLessThan(1e-5);
  expect((await onShelf('rerun', making)).figures).toMatchObject({ hollowMm3, volumeMm3 });

  const library = good(openLibrary(path));
  const [part] = records.allOf(library, 'parts').filter(({ name }) => name.startsWith('ball'));
  const { makings } = describeProject(library, records.allOf(library, 'projects')[0]);
  const kept = makings.filter(({ kind }) => kind === 'shell');
  expect(kept.map(({ id }) => id)).toContain(making);
  const other = freshLibrary();
  good(importBundle(other, 'b.zip', good(exportBundle(library, { projectId: part.projectId ?? '' }))));
  expect(records.allOf(other, 'makings').map(({ id }) => id)).toContain(making);
  other.close();
  const shells = () => makingsOf(library, { partId: part.id }).filter((one) => one.making.kind === 'shell');
  expect(shells().map(({ outdated }) => outdated)).toEqual([undefined, undefined]);
  good(finishPart(library, part.id, { recipe: {}, figures: {}, mesh: sphere(BALL_MM + 1, 2) }));
  expect(shells().map(({ outdated }) => outdated)).toEqual(['part', 'part']);
  good(records.undo(library));
  library.close();
});

test('a form or scan whose recipe cannot be read is told in a sentence', async () => {
  const library = good(openLibrary(path));
  const [form] = records.allOf(library, 'forms');
  const [scan] = records.allOf(library, 'scans');
  const steps = [{ verb: 'form', parameters: {}, figures: { matrix: placed(0) } }];
  const made = { wearerId: form.wearerId, formId: form.id, name: 'round', scanId: scan.id, programVersion: '0' };
  good(records.addFormRevision(library, { ...made, recipe: { spans: 'none' }, steps, mesh: sphere(BODY_MM, 3) }));
  library.close();
  for (const word of ['form:round', 'scan:a.obj']) {
    const { code, told } = await onMesh('health', word);
    expect(code).toBe(1);
    expect(told).toMatch(
      /^The recipe kept with "(round|a\.obj)" cannot be read \(spans: .+\); make the form anew .+\.\n$/,
    );
  }
});
