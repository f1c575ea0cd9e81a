/** One record by its id, or the fault that says which kind of record is not there. */
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import type { RecordOf, TableName } from '../store/tables.ts';

export function byId<T extends TableName>(file: Library, name: T, id: string, kind: string): Outcome<RecordOf<T>> {
  const [record] = records.allOf(file, name, 'WHERE id = ?', id);
  return record === undefined ? failed(fault('store.no-record', { kind, id })) : done(record as RecordOf<T>);
}

/** What a call may name, by the field it comes in. */
const NAMED = {
  projectId: ['projects', 'project'],
  fittingId: ['fittings', 'fitting'],
  formId: ['forms', 'form'],
  formRevisionId: ['form_revisions', 'form'],
  linerId: ['liners', 'liner'],
  partId: ['parts', 'part'],
} as const satisfies Record<string, readonly [TableName, string]>;

/** Everything named is there; fields without a value name nothing. */
export function allThere(
  library: Library,
  named: { readonly [K in keyof typeof NAMED]?: string | undefined },
): Outcome<void> {
  for (const [field, [table, kind]] of Object.entries(NAMED)) {
    const id = named[field as keyof typeof NAMED];
    if (id === undefined) continue;
    const found = byId(library, table, id, kind);
    if (!found.ok) return found;
  }
  return done(undefined);
}
