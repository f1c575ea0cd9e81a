/** Figures as short aligned text, every length with its unit. What unit a figure has stands in its name. */

const UNITS: readonly (readonly [ending: RegExp, unit: string])[] = [
  [/Mm3$/, 'mm³'],
  [/Mm2$/, 'mm²'],
  [/Mm$/, 'mm'],
  [/Percent$/, '%'],
  [/Deg$/, '°'],
  [/Rad$/, 'rad'],
  [/Seconds$/, 's'],
  [/Ms$/, 'ms'],
  [/Grams$/, 'g'],
  [/(?<=[mM]ass)G$/, 'g'],
  [/KPa$/, 'kPa'],
  [/NCm$/, 'N·cm'],
];

/** `maxDeviationMm` gives ["max deviation", "mm"]. */
export function nameAndUnit(key: string): readonly [name: string, unit: string] {
  const found = UNITS.find(([ending]) => ending.test(key));
  const bare = found === undefined ? key : key.replace(found[0], '');
  const name = bare.replace(/([a-z0-9])([A-Z])/g, '$1 $2').toLowerCase();
  return [name === '' ? key : name, found?.[1] ?? ''];
}

const grouped = (digits: string): string => digits.replace(/\B(?=(\d{3})+(?!\d))/g, ',');

/** A number as a person reads it: whole if whole, else about four figures and never more than needed. */
export function plainNumber(value: number): string {
  if (!Number.isFinite(value)) return String(value);
  const size = Math.abs(value);
  if (size >= 1e15) return value.toExponential(3);
  if (Number.isInteger(value)) return grouped(String(value));
  if (size !== 0 && size < 0.001) return value.toExponential(1);
  const decimals = size >= 1000 ? 1 : size >= 100 ? 2 : size >= 1 ? 3 : 4;
  const [whole = '', part = ''] = value.toFixed(decimals).split('.');
  const rest = part.replace(/0+$/, '');
  return grouped(whole) + (rest === '' ? '' : `.${rest}`);
}

function scalar(value: string | number | boolean | null): string {
  if (value === null) return 'none';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return typeof value === 'number' ? plainNumber(value) : value;
}

const LARGE_MM3 = 10_000;
const LARGE_MM2 = 10_000;

/** Large areas and volumes in cm² and cm³, which people can picture. */
function measured(value: number, unit: string): string {
  if (unit === 'mm³' && Math.abs(value) >= LARGE_MM3) return `${plainNumber(value / 1000)} cm³`;
  if (unit === 'mm²' && Math.abs(value) >= LARGE_MM2) return `${plainNumber(value / 100)} cm²`;
  return `${plainNumber(value)}${unit === '' || unit === '°' ? unit : ` ${unit}`}`;
}

type Row = readonly [indent: number, name: string, text: string];

/** While the unit of a file is only guessed, its lengths are the file's own numbers, not millimetres. */
const fileUnits = (unit: string): string => unit.replace('mm', 'file unit');

/** `around`: the unit in the name of what the figures stand in, for those that name none of their own. */
function rowsOf(
  figures: Readonly<Record<string, unknown>>,
  indent: number,
  guessed: boolean,
  most: number,
  around = '',
): Row[] {
  const guess = figures['unitGuess'] as { mmPerUnit?: number } | undefined;
  const own = guessed || (guess?.mmPerUnit !== undefined && guess.mmPerUnit !== 1);
  return Object.entries(figures).flatMap(([key, value]): Row[] => {
    const [name, mm] = nameAndUnit(key);
    const unit = (own ? fileUnits(mm) : mm) || around;
    if (value === undefined) return [];
    if (typeof value === 'number') return [[indent, name, measured(value, unit)]];
    if (value === null || typeof value !== 'object') return [[indent, name, scalar(value as string | boolean | null)]];
    if (!Array.isArray(value)) {
      return [[indent, name, ''], ...rowsOf(value as Record<string, unknown>, indent + 1, own, most, unit)];
    }
    if (value.length === 0) return [[indent, name, 'none']];
    if (value.length === 16 && value.every((x) => typeof x === 'number')) return matrixRows(indent, name, value);
    if (value.some((x) => typeof x === 'string' && x.length > SENTENCE)) {
      return value.map((x, at): Row => [indent, at === 0 ? name : '', String(x)]);
    }
    if (value.every((x) => x === null || typeof x !== 'object')) {
      const told = value.slice(0, Math.max(most, SHORT)).map((x) => scalar(x as string | number | boolean | null));
      const list = [...told, ...(told.length < value.length ? [`and ${value.length - told.length} more`] : [])].join(
        ', ',
      );
      return [[indent, name, unit === '' ? list : `${list} ${unit}`]];
    }
    return [[indent, name, `${value.length}`], ...listRows(value as Record<string, unknown>[], indent + 1, own, most)];
  });
}

const MOST_LISTED = 12;
/** A list of numbers no longer than this is always told whole. */
const SHORT = 16;
/** Words longer than this are sentences, each with a line of its own, letters. */
const SENTENCE = 40;

/** What an entry has to say: in one line, what there is none of is left out. */
function said(entry: Readonly<Record<string, unknown>>): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(entry).flatMap(([key, value]) => {
      if (value === null) return [];
      if (typeof value !== 'object' || Array.isArray(value)) return [[key, value]];
      const inner = said(value as Record<string, unknown>);
      return Object.keys(inner).length === 0 ? [] : [[key, inner]];
    }),
  );
}

/** One line for each entry: its parts with their names, the long tail only counted. */
function listRows(
  entries: readonly Readonly<Record<string, unknown>>[],
  indent: number,
  own: boolean,
  most: number,
): Row[] {
  const rows = entries.slice(0, most).map((entry, index): Row => {
    const { name, ...rest } = said(entry);
    const parts = rowsOf(rest, 0, own, most).map(([, label, text]) => (text === '' ? `${label}:` : `${label} ${text}`));
    return [indent, typeof name === 'string' ? name : `${index + 1}`, parts.join(', ').replaceAll(':, ', ': ')];
  });
  const left = entries.length - rows.length;
  return left > 0 ? [...rows, [indent, 'and', `${left} more`]] : rows;
}

function matrixRows(indent: number, name: string, m: readonly number[]): Row[] {
  return [0, 4, 8, 12].map((at) => [
    indent,
    at === 0 ? name : '',
    m
      .slice(at, at + 4)
      .map((x) => (Number.isInteger(x) ? String(x) : x.toPrecision(7)).padStart(13))
      .join(''),
  ]);
}

/** The figures, one a line, values in a column of their own; of long lists only the first `most`. */
export function figuresText(figures: Readonly<Record<string, unknown>>, most = MOST_LISTED): string {
  const rows = rowsOf(figures, 0, false, most);
  const column = Math.min(48, Math.max(...rows.map(([indent, name]) => indent * 2 + name.length)) + 2);
  return rows
    .map(([indent, name, text]) => `${('  '.repeat(indent) + name).padEnd(column - 2)}  ${text}`.trimEnd())
    .join('\n');
}
