/**
 * Letters as strokes, drawn for this program: for names raised on printed pieces, where a nozzle draws strokes too.
 * Latin capitals, figures and a few signs; marks above a letter (acute, diaeresis, ring and so on) are drawn apart.
 */

/** Strokes on a grid 4 wide and 6 high, as pairs of digits x, y; `|` lifts the pen. */
const STROKES: Readonly<Record<string, string>> = {
  A: '00 26 40|12 32',
  B: '00 06 26 35 34 23 03|23 32 31 20 00',
  C: '45 36 16 05 01 10 30 41',
  D: '00 06 26 45 41 20 00',
  E: '40 00 06 46|03 33',
  F: '00 06 46|03 33',
  G: '45 36 16 05 01 10 30 41 43 23',
  H: '00 06|40 46|03 43',
  I: '10 30|20 26|16 36',
  J: '01 10 20 31 36',
  K: '00 06|46 03 40',
  L: '06 00 40',
  M: '00 06 23 46 40',
  N: '00 06 40 46',
  O: '10 01 05 16 36 45 41 30 10',
  P: '00 06 36 45 44 33 03',
  Q: '10 01 05 16 36 45 41 30 10|22 40',
  R: '00 06 36 45 44 33 03|23 40',
  S: '01 10 30 41 42 33 13 04 05 16 36 45',
  T: '20 26|06 46',
  U: '06 01 10 30 41 46',
  V: '06 20 46',
  W: '06 10 23 30 46',
  X: '00 46|06 40',
  Y: '06 23 46|23 20',
  Z: '06 46 00 40',
  '0': '10 01 05 16 36 45 41 30 10|01 45',
  '1': '05 26 20|00 40',
  '2': '05 16 36 45 44 00 40',
  '3': '05 16 36 45 44 33 42 41 30 10 01|13 33',
  '4': '30 36 02 42',
  '5': '46 06 03 33 42 41 30 10 01',
  '6': '45 36 16 05 01 10 30 41 42 33 13 02',
  '7': '06 46 10',
  '8': '13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33',
  '9': '01 10 30 41 45 36 16 05 04 13 33 44',
  '-': '13 33',
  '+': '13 33|22 24',
  '.': '20 21',
  ':': '21 22|24 25',
  '/': '00 46',
  '(': '30 12 14 36',
  ')': '10 32 34 16',
  '&': '42 20 10 01 02 25 26 16 15 40',
};

/** Letters drawn like another, or like two. */
const LIKE: Readonly<Record<string, string>> = {
  Æ: 'AE',
  Œ: 'OE',
  Ø: 'O',
  Ð: 'D',
  Þ: 'P',
  ẞ: 'SS',
  Ł: 'L',
  Đ: 'D',
  Ħ: 'H',
  Ŧ: 'T',
  ı: 'I',
  '–': '-',
  '—': '-',
  '·': '.',
};

/** Marks by their combining character, drawn above (y 7 and 8) or below. */
const MARKS: Readonly<Record<string, string>> = {
  '\u0300': '18 37',
  '\u0301': '17 38',
  '\u0302': '17 28 37',
  '\u0303': '17 18 37 38',
  '\u0304': '17 37',
  '\u0306': '18 27 38',
  '\u0307': '27 28',
  '\u0308': '17 18|37 38',
  '\u030a': '27 18 28 27',
  '\u030b': '17 28|27 38',
  '\u030c': '18 27 38',
};

/** Advance from one letter to the next, and height of a capital, in grid steps. */
const ADVANCE = 6;
const CAPITAL = 6;

export interface Writing {
  /** Polylines, x to the right from 0, y up from the base line: x, y, x, y, mm. */
  readonly strokes: readonly (readonly number[])[];
  readonly widthMm: number;
  /** Characters that have no strokes here and were left out. */
  readonly missing: readonly string[];
}

const parse = (code: string): number[][] =>
  code.split('|').map((run) => run.split(' ').flatMap((pair) => [Number(pair[0]), Number(pair[1])]));

/** The text in capitals `heightMm` high. O(characters). */
export function write(text: string, heightMm: number): Writing {
  const step = heightMm / CAPITAL;
  const strokes: number[][] = [];
  const missing: string[] = [];
  let at = -1;
  const simple = Array.from(text.toLocaleUpperCase('en'), (one) => (LIKE[one] ?? one).normalize('NFD')).join('');
  for (const character of simple) {
    const mark = MARKS[character];
    if (mark === undefined) at++;
    const code = mark ?? STROKES[character];
    if (code === undefined) {
      if (character.trim() !== '') {
        missing.push(character);
        at--;
      }
      continue;
    }
    for (const run of parse(code)) strokes.push(run.map((c, i) => step * (i % 2 === 0 ? c + at * ADVANCE : c)));
  }
  return { strokes, widthMm: Math.max(0, (at + 1) * ADVANCE - 2) * step, missing };
}
