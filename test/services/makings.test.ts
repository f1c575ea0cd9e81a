import { expect, test } from 'vitest';
import { makingsOf } from '../../electron/services/studio/making-calls.ts';
import { addMaking } from '../../electron/store/making-records.ts';
import * as records from '../../electron/store/records.ts';
import { freshLibrary, good } from '../store/support.ts';

test('makings are found by what is named; a field left undefined names nothing', () => {
  const library = freshLibrary();
  const part = good(records.addPart(library, { name: 'visor', fileName: 'v.stl', bytes: Buffer.from('solid v') }));
  const project = good(records.addProject(library, { name: 'Invented play' }));
  const made = { kind: 'pieces' as const, parameters: {}, figures: {}, programVersion: '0', files: [] };
  good(addMaking(library, { ...made, name: 'first', partId: part.id, projectId: project.id }));
  good(addMaking(library, { ...made, name: 'second', projectId: project.id }));
  const namesOf = (source: Parameters<typeof makingsOf>[1]): string[] =>
    makingsOf(library, source).map(({ making }) => making.name);
  expect(namesOf({ projectId: project.id, partId: undefined, fittingId: undefined })).toEqual(['first', 'second']);
  expect(namesOf({ partId: part.id })).toEqual(['first']);
  expect(namesOf({})).toEqual(['first', 'second']);
  library.close();
});
