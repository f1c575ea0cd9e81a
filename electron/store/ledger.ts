/**
 * Every change to the library goes through here: one transaction, each row remembered before and after, so that undo
 * and redo work the same for every table and survive a restart. Rows are kept in the journal as the database holds
 * them, sealed where they are sealed there. Numbers pass through JSON exactly (shortest round-trip form, ECMA-262).
 */
import type { Library } from './connection.ts';
import { sealText, unsealText } from './sealing.ts';
import { columnOf, fieldsOf, TABLES, type RecordOf, type Row, type TableName } from './tables.ts';
import { refuse } from './trouble.ts';

/** Steps of history kept; older ones can no longer be undone. */
export const HISTORY_STEPS = 1000;

export function toRow<T extends TableName>(library: Library, name: T, record: RecordOf<T>): Row {
  const parsed = TABLES[name].schema.safeParse(record);
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    const reason = `is not valid: ${issue?.message ?? ''}`;
    refuse('store.bad-record', { kind: TABLES[name].kind, field: issue?.path.join('.') ?? '', reason });
  }
  const values = parsed.data as Record<string, unknown>;
  const sealed = TABLES[name].sealed as readonly string[];
  const row: Row = {};
  for (const field of fieldsOf(name)) {
    const value = values[field];
    let stored: string | number | null;
    if (value === undefined || value === null) stored = null;
    else if (typeof value === 'boolean') stored = value ? 1 : 0;
    else if (typeof value === 'object') stored = JSON.stringify(value);
    else stored = value as string | number;
    if (typeof stored === 'string' && library.key !== undefined && sealed.includes(field)) {
      stored = sealText(library.key, stored, `${name}/${String(values['id'])}/${field}`);
    }
    row[columnOf(field)] = stored;
  }
  return row;
}

export function fromRow<T extends TableName>(library: Library, name: T, row: Row): RecordOf<T> {
  const sealed = TABLES[name].sealed as readonly string[];
  const record: Record<string, unknown> = {};
  for (const field of fieldsOf(name)) {
    let value = row[columnOf(field)] as string | number | null;
    if (value === null) continue;
    if (typeof value === 'string' && library.key !== undefined && sealed.includes(field)) {
      const place = `${name}/${String(row['id'])}/${field}`;
      const plain = unsealText(library.key, value, place);
      if (plain === undefined) refuse('store.damaged', { path: library.path, reason: `${place} cannot be deciphered` });
      value = plain;
    }
    const kind = JSON_FIELDS.has(field) ? 'json' : FLAG_FIELDS.has(field) ? 'flag' : 'plain';
    record[field] = kind === 'json' ? (JSON.parse(value as string) as unknown) : kind === 'flag' ? value === 1 : value;
  }
  return record as RecordOf<T>;
}

const JSON_FIELDS = new Set([
  'health',
  'point',
  'recipe',
  'steps',
  'placement',
  'figures',
  'parameters',
  'request',
  'draft',
]);
const FLAG_FIELDS = new Set(['withdrawn']);

export function readRow(library: Library, name: TableName, id: string): Row | undefined {
  library.checkLock();
  return library.db.prepare(`SELECT * FROM ${name} WHERE id = ?`).get(id) as Row | undefined;
}

export function readRecord<T extends TableName>(library: Library, name: T, id: string): RecordOf<T> {
  const row = readRow(library, name, id);
  if (row === undefined) refuse('store.no-record', { kind: TABLES[name].kind, id });
  return fromRow(library, name, row);
}

function writeRow(library: Library, name: TableName, row: Row, there: boolean): void {
  const columns = Object.keys(row);
  const text = there
    ? `UPDATE ${name} SET ${columns.map((column) => `${column} = @${column}`).join(', ')} WHERE id = @id`
    : `INSERT INTO ${name} (${columns.join(', ')}) VALUES (${columns.map((column) => `@${column}`).join(', ')})`;
  library.beforeWrite();
  library.db.prepare(text).run(row);
}

function dropRow(library: Library, name: TableName, id: string): void {
  library.beforeWrite();
  library.db.prepare(`DELETE FROM ${name} WHERE id = ?`).run(id);
}

export interface Writer {
  insert<T extends TableName>(name: T, record: RecordOf<T>): RecordOf<T>;
  update<T extends TableName>(name: T, record: RecordOf<T>): void;
  remove(name: TableName, id: string): void;
}

/** Do `work` and journal it as one change, or do nothing at all. Drops what had been undone before. */
export function change<T>(library: Library, label: string, work: (writer: Writer) => T): T {
  const { db } = library;
  return db
    .transaction(() => {
      library.checkLock();
      let number = 0;
      // Work that changes no row is no step of undo, and leaves what had been undone to be redone.
      const begin = (): void => {
        library.beforeWrite();
        db.prepare('DELETE FROM changes WHERE undone = 1').run();
        const made = db.prepare('INSERT INTO changes (label, made_at) VALUES (?, ?)').run(label, library.now());
        number = Number(made.lastInsertRowid);
        db.prepare('DELETE FROM changes WHERE number <= ?').run(number - HISTORY_STEPS);
      };
      let seq = 0;
      const note = db.prepare(
        'INSERT INTO change_rows (change, seq, table_name, row_id, before, after) VALUES (?, ?, ?, ?, ?, ?)',
      );
      const write = (name: TableName, id: string, after: Row | undefined): void => {
        if (seq === 0) begin();
        const before = readRow(library, name, id);
        if (after === undefined) {
          if (before === undefined) refuse('store.no-record', { kind: TABLES[name].kind, id });
          dropRow(library, name, id);
        } else writeRow(library, name, after, before !== undefined);
        const text = (row: Row | undefined): string | null => (row === undefined ? null : JSON.stringify(row));
        library.beforeWrite();
        note.run(number, seq++, name, id, text(before), text(after));
      };
      return work({
        insert: (name, record) => {
          write(name, record.id, toRow(library, name, record));
          return record;
        },
        update: (name, record) => {
          const before = readRow(library, name, record.id);
          if (before === undefined) refuse('store.no-record', { kind: TABLES[name].kind, id: record.id });
          const after = toRow(library, name, record);
          // Sealed anew, the same words look different: it is the plain record that tells.
          const plain = (row: Row): string => JSON.stringify(fromRow(library, name, row));
          if (plain(before) !== plain(after)) write(name, record.id, after);
        },
        remove: (name, id) => write(name, id, undefined),
      });
    })
    .immediate();
}

interface JournalRow {
  readonly table_name: TableName;
  readonly row_id: string;
  readonly before: string | null;
  readonly after: string | null;
}

function sameRow(current: Row | undefined, expected: string | null): boolean {
  if (current === undefined || expected === null) return current === undefined && expected === null;
  const row = JSON.parse(expected) as Row;
  return Object.keys(row).every((column) => row[column] === current[column]);
}

function walk(library: Library, direction: 'undo' | 'redo'): string {
  const { db } = library;
  return db
    .transaction(() => {
      const step = (
        direction === 'undo'
          ? db.prepare('SELECT number, label FROM changes WHERE undone = 0 ORDER BY number DESC LIMIT 1')
          : db.prepare('SELECT number, label FROM changes WHERE undone = 1 ORDER BY number LIMIT 1')
      ).get() as { number: number; label: string } | undefined;
      if (step === undefined) refuse(direction === 'undo' ? 'store.nothing-to-undo' : 'store.nothing-to-redo', {});
      const order = direction === 'undo' ? 'DESC' : 'ASC';
      const rows = db
        .prepare(`SELECT table_name, row_id, before, after FROM change_rows WHERE change = ? ORDER BY seq ${order}`)
        .all(step.number) as JournalRow[];
      db.pragma('defer_foreign_keys = ON');
      for (const { table_name: name, row_id: id, before, after } of rows) {
        const [from, to] = direction === 'undo' ? [after, before] : [before, after];
        const current = readRow(library, name, id);
        if (!sameRow(current, from)) refuse('store.undo-conflict', { label: step.label });
        if (to === null) dropRow(library, name, id);
        else writeRow(library, name, JSON.parse(to) as Row, current !== undefined);
      }
      if ((db.pragma('foreign_key_check') as unknown[]).length > 0) {
        refuse('store.undo-conflict', { label: step.label });
      }
      library.beforeWrite();
      db.prepare('UPDATE changes SET undone = ? WHERE number = ?').run(direction === 'undo' ? 1 : 0, step.number);
      return step.label;
    })
    .immediate();
}

/** Labels of what undo would take back and redo bring back. */
export function historyOf(library: Library): { undo?: string; redo?: string } {
  const label = (text: string): string | undefined => library.db.prepare(text).pluck().get() as string | undefined;
  const undo = label('SELECT label FROM changes WHERE undone = 0 ORDER BY number DESC LIMIT 1');
  const redo = label('SELECT label FROM changes WHERE undone = 1 ORDER BY number LIMIT 1');
  return { ...(undo === undefined ? {} : { undo }), ...(redo === undefined ? {} : { redo }) };
}

/** Take back the newest change, or bring back the oldest undone one; returns its label. O(rows of the change). */
export const undoChange = (library: Library): string => walk(library, 'undo');
export const redoChange = (library: Library): string => walk(library, 'redo');
