import { expect, test } from 'vitest';
import { checkLibrary } from '../../electron/store/check.ts';
import type { Library } from '../../electron/store/connection.ts';
import * as making from '../../electron/store/making-records.ts';
import { forgetWearer, planForget, removePassphrase, setPassphrase } from '../../electron/store/privacy.ts';
import { resetUsual, setUsual, usualUncertainty } from '../../electron/store/usual-records.ts';
import { READING_UNCERTAINTY_MM } from '../../shared-types/tolerances.ts';
import * as records from '../../electron/store/records.ts';
import { dump, freshLibrary, good, TETRAHEDRON } from './support.ts';

const SVG = Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>');

function fitted(library: Library) {
  const { id: wearerId } = good(records.addWearer(library, { name: 'Invented Ann' }));
  const scan = good(records.addScan(library, { wearerId, fileName: 'a.obj', bytes: Buffer.from('v 0 0 0') }));
  const made = {
    wearerId,
    name: 'head',
    scanId: scan.id,
    recipe: {},
    steps: [],
    programVersion: '0',
    mesh: TETRAHEDRON,
  };
  const { form, revision } = good(records.addFormRevision(library, made));
  const part = good(records.addPart(library, { name: 'visor', fileName: 'v.stl', bytes: Buffer.from('solid v') }));
  const fitting = good(
    making.addFitting(library, { formId: form.id, partId: part.id, name: 'visor on Ann', draft: { foamMm: 6 } }),
  );
  const pads = good(
    making.addMaking(library, {
      kind: 'pads',
      name: 'Pads for Ann',
      fittingId: fitting.id,
      formRevisionId: revision.id,
      parameters: { paper: 'a4' },
      figures: { areaMm2: 1200 },
      programVersion: '0',
      files: [{ name: 'pads.svg', bytes: SVG }],
    }),
  );
  return { wearerId, part, form, fitting, pads };
}

test('a making keeps its files byte for byte; thrown away and undone it is the same again', () => {
  const library = freshLibrary();
  const { pads } = fitted(library);
  const [file] = making.filesOf(library, pads.making.id);
  expect(Buffer.from(good(making.readMakingFile(library, file?.id ?? '')).bytes)).toEqual(SVG);
  const recordsOnly = (): string =>
    JSON.stringify((JSON.parse(dump(library)) as [string][]).filter(([table]) => !table.startsWith('change')));
  const before = recordsOnly();
  good(making.dropMaking(library, pads.making.id));
  expect(making.filesOf(library, pads.making.id)).toEqual([]);
  good(records.undo(library));
  expect(recordsOnly()).toBe(before);
  library.close();
});

test('a part made ready keeps its sized mesh, and a fitting its newest decision', () => {
  const library = freshLibrary();
  const { part, fitting } = fitted(library);
  const ready = good(
    making.finishPart(library, part.id, { recipe: { keep: 'all' }, figures: { factor: 25.4 }, mesh: TETRAHEDRON }),
  );
  expect(good(records.readMeshOf(library, { meshSha256: ready.madeSha256 ?? '' }))).toEqual(TETRAHEDRON);
  expect(good(making.editFitting(library, fitting.id, { draft: { foamMm: 8 } }, 'take 8 mm foam')).draft).toEqual({
    foamMm: 8,
  });
  expect(good(records.undo(library))).toBe('take 8 mm foam');
  library.close();
});

test('a foam of the stock can be added, measured, taken off and brought back', () => {
  const library = freshLibrary();
  const foam = good(making.addStock(library, { material: 'EVA', nominalMm: 6, compression: 0.2 }));
  good(making.editStock(library, foam.id, { measuredMm: 5.8 }));
  good(making.dropStock(library, foam.id));
  expect(records.allOf(library, 'stock')).toEqual([]);
  good(records.undo(library));
  expect(records.allOf(library, 'stock')).toMatchObject([{ nominalMm: 6, measuredMm: 5.8 }]);
  library.close();
});

test('how sure readings are is set for a library, undone, taken back, and refused where it is no measurement', () => {
  const library = freshLibrary();
  expect(usualUncertainty(library)).toEqual(READING_UNCERTAINTY_MM);
  good(setUsual(library, { headSpan: 2.5, limbGirth: 6 }));
  good(setUsual(library, { headSpan: 2 }));
  expect(usualUncertainty(library)).toEqual({ ...READING_UNCERTAINTY_MM, headSpan: 2, limbGirth: 6 });
  good(records.undo(library));
  expect(usualUncertainty(library).headSpan).toBe(2.5);
  expect(setUsual(library, { headSpan: 500 }).ok).toBe(false);
  expect(usualUncertainty(library).headSpan).toBe(2.5);
  good(resetUsual(library));
  expect(records.allOf(library, 'usual_uncertainties')).toEqual([]);
  good(records.undo(library));
  expect(usualUncertainty(library)).toEqual({ ...READING_UNCERTAINTY_MM, headSpan: 2.5, limbGirth: 6 });
  library.close();
});

test('a plan is kept in place of the one before it, one of a kind about one thing, and undo goes back through it', () => {
  const library = freshLibrary();
  const { form, fitting } = fitted(library);
  const subject = { formId: form.id };
  expect(making.planOf(library, 'liner', subject)).toBeUndefined();
  const first = good(making.keepPlan(library, { kind: 'liner', subject, draft: { foamMm: 8 } }, 'plan a liner'));
  const second = good(making.keepPlan(library, { kind: 'liner', subject, draft: { foamMm: 10 } }, 'take 10 mm'));
  expect(second).toEqual({ ...first, draft: { foamMm: 10 } });
  good(making.keepPlan(library, { kind: 'pattern', subject, draft: { foamMm: 6 } }, 'plan a pattern'));
  good(making.keepPlan(library, { kind: 'pads', subject: { fittingId: fitting.id }, draft: {} }, 'plan pads'));
  expect(records.allOf(library, 'plans')).toHaveLength(3);
  for (let step = 0; step < 2; step++) good(records.undo(library));
  expect(good(records.undo(library))).toBe('take 10 mm');
  expect(making.planOf(library, 'liner', subject)?.draft).toEqual({ foamMm: 8 });
  expect(good(records.redo(library))).toBe('take 10 mm');
  expect(making.planOf(library, 'liner', subject)?.draft).toEqual({ foamMm: 10 });
  // About nothing, or about two things: refused by the file itself.
  for (const wrong of [{}, { formId: form.id, fittingId: fitting.id }]) {
    const plan = { kind: 'gauge', subject: wrong, draft: {} } as const;
    expect(() => making.keepPlan(library, plan, 'plan nothing')).toThrow('CHECK');
  }
  library.close();
});

test.each(['', 'correct horse battery'])(
  'what is kept as it was is no step of undo (passphrase: "%s")',
  (passphrase) => {
    const library = freshLibrary();
    const { form } = fitted(library);
    if (passphrase !== '') good(setPassphrase(library, passphrase, 1024));
    const keep = (foamMm: number): unknown =>
      good(
        making.keepPlan(library, { kind: 'liner', subject: { formId: form.id }, draft: { foamMm } }, `${foamMm} mm`),
      );
    keep(8);
    keep(10);
    good(records.undo(library));
    keep(8);
    good(setUsual(library, { headSpan: READING_UNCERTAINTY_MM.headSpan }));
    // What had been undone is still to be had.
    expect(good(records.redo(library))).toBe('10 mm');
    good(setUsual(library, { headSpan: 2 }));
    good(setUsual(library, { headSpan: 2 }));
    good(records.undo(library));
    expect(usualUncertainty(library)).toEqual(READING_UNCERTAINTY_MM);
    library.close();
  },
);

test('forgetting a wearer takes their fittings, makings and files along, and leaves the part', () => {
  const library = freshLibrary();
  const { wearerId, part, form, fitting } = fitted(library);
  for (const subject of [{ formId: form.id }, { fittingId: fitting.id }, { partId: part.id }]) {
    good(making.keepPlan(library, { kind: 'pattern', subject, draft: { brow: Object.keys(subject) } }, 'plan'));
  }
  expect(good(planForget(library, wearerId)).rows).toMatchObject({
    fittings: 1,
    makings: 1,
    making_files: 1,
    plans: 2,
  });
  good(forgetWearer(library, wearerId));
  const left = dump(library);
  for (const word of ['visor on Ann', 'Pads for Ann', 'pads.svg']) expect(left).not.toContain(word);
  expect(records.allOf(library, 'parts')).toHaveLength(1);
  expect(records.allOf(library, 'plans').map(({ partId }) => partId)).toEqual([part.id]);
  expect(good(checkLibrary(library)).sound).toBe(true);
  library.close();
});

test('under a passphrase the names and decisions of fittings and makings are sealed, and come back', () => {
  const library = freshLibrary();
  const { form } = fitted(library);
  const plan = { kind: 'liner', subject: { formId: form.id }, draft: { spanned: 'by hand' } } as const;
  good(making.keepPlan(library, plan, 'plan a liner'));
  const before = records.allOf(library, 'makings');
  good(setPassphrase(library, 'correct horse battery'));
  const sealed = dump(library);
  for (const word of ['visor on Ann', 'Pads for Ann', 'pads.svg', 'foamMm', 'by hand'])
    expect(sealed).not.toContain(word);
  expect(records.allOf(library, 'makings')).toEqual(before);
  expect(making.planOf(library, 'liner', plan.subject)?.draft).toEqual(plan.draft);
  good(removePassphrase(library, 'correct horse battery'));
  expect(records.allOf(library, 'makings')).toEqual(before);
  library.close();
});
