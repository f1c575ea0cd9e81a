/** A wearer's sheet as a table (RFC 4180), one reading a line; lengths in mm. */
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { readingSchema, type Reading } from '../../shared-types/records/reading.ts';

const COLUMNS = ['kind', 'name', 'value_mm', 'uncertainty_mm', 'instrument', 'taken_by', 'taken_on'] as const;
const FIELDS = ['kind', 'name', 'valueMm', 'uncertaintyMm', 'instrument', 'takenBy', 'takenOn'] as const;
const given = readingSchema.pick({
  kind: true,
  name: true,
  valueMm: true,
  uncertaintyMm: true,
  instrument: true,
  takenBy: true,
  takenOn: true,
});
export type GivenReading = ReturnType<typeof given.parse>;

/** A cell that a spreadsheet would take for a formula is marked as text. */
function cell(value: string | number | undefined): string {
  if (value === undefined) return '';
  const text = typeof value === 'number' ? String(value) : /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

export function readingsToCsv(readings: readonly Reading[]): string {
  const lines = readings.map((reading) => FIELDS.map((field) => cell(reading[field])).join(','));
  return [COLUMNS.join(','), ...lines, ''].join('\r\n');
}

/** Cells of each record with the line it starts on; undefined for a quote that never closes. */
function recordsOf(text: string): { line: number; cells: string[] }[] | undefined {
  const found: { line: number; cells: string[] }[] = [];
  const pattern = /("(?:[^"]|"")*"|[^",\r\n]*)(,|\r\n|\n|\r|$)/y;
  let line = 1;
  let current = { line, cells: [] as string[] };
  let at = text.startsWith('\ufeff') ? 1 : 0;
  while (at < text.length || current.cells.length > 0) {
    pattern.lastIndex = at;
    const match = pattern.exec(text);
    if (match === null) return undefined;
    at = pattern.lastIndex;
    const raw = match[1];
    line += raw.split('\n').length - 1;
    current.cells.push(raw.startsWith('"') ? raw.slice(1, -1).replaceAll('""', '"') : raw.trim());
    if (match[2] !== ',') {
      if (current.cells.some((one) => one !== '')) found.push(current);
      line++;
      current = { line, cells: [] };
      if (at >= text.length) break;
    }
  }
  return found;
}

/** Readings of a table with our column names in any order, the optional ones left out or empty. All or none. */
export function readingsFromCsv(text: string): Outcome<GivenReading[]> {
  const rows = recordsOf(text);
  const bad = (line: number, reason: string): Outcome<never> => failed(fault('csv.bad-row', { line, reason }));
  if (rows === undefined) return bad(1, 'a quotation mark is out of place');
  const head = rows[0];
  if (head === undefined) return bad(1, 'the table is empty');
  for (const column of ['kind', 'name', 'value_mm'] as const) {
    if (!head.cells.includes(column)) return bad(head.line, `there is no column ${column}`);
  }
  const readings: GivenReading[] = [];
  for (const { line, cells } of rows.slice(1)) {
    const raw: Record<string, unknown> = {};
    for (const [index, column] of COLUMNS.entries()) {
      const text = cells[head.cells.indexOf(column)];
      if (text === undefined || text === '') continue;
      raw[FIELDS[index]] = column.endsWith('_mm') ? Number(text) : text.replace(/^'(?=[=+\-@])/, '');
    }
    const parsed = given.safeParse(raw);
    if (!parsed.success) {
      const issue = parsed.error.issues[0];
      return bad(line, `${issue?.path.join('.') ?? ''}: ${issue?.message ?? 'not valid'}`);
    }
    readings.push(parsed.data);
  }
  return done(readings);
}
