/**
 * What is odd about a wearer's lengths: alone, against what the survey of 2012 met, and against each other. Each doubt is one
 * sentence that names what to measure again; none forbids anything, since bodies differ.
 */
import type { KnownLength } from '../../../shared-types/contract.ts';
import { splitSide } from '../../../shared-types/measures/index.ts';
import { HEAD_RELATIONS, SURVEY, type Population } from '../../../shared-types/survey.ts';

const POPULATIONS: readonly Population[] = ['men', 'women'];

/** Standard deviations of the survey from which on something is said: about one sound pair in 400 on each side. */
const FAR = 3;

interface Ratio {
  readonly of: string;
  readonly to: string | readonly [string, string];
  /** Mean and standard deviation in the survey. */
  readonly men: readonly [number, number];
  readonly women: readonly [number, number];
}

/** Computed from the survey's individual files (survey.ts); an ellipse stands for two breadths. */
const RATIOS: readonly Ratio[] = [
  {
    of: 'head circumference',
    to: ['head length', 'head breadth'],
    men: [1.0291, 0.0115],
    women: [1.054, 0.0205],
  },
  { of: 'bitragion chin arc', to: 'bizygomatic breadth', men: [2.33, 0.09], women: [2.33, 0.09] },
  { of: 'hand circumference', to: 'hand breadth', men: [2.406, 0.047], women: [2.388, 0.054] },
  { of: 'bideltoid breadth', to: 'biacromial breadth', men: [1.23, 0.06], women: [1.23, 0.06] },
  { of: 'chest circumference', to: ['chest breadth', 'chest depth'], men: [1.238, 0.032], women: [1.165, 0.029] },
];

/** Perimeter of an ellipse by its two diameters (Ramanujan 1914, second form; here good to 1 in 10^6). */
export function ellipsePerimeter(lengthMm: number, breadthMm: number): number {
  const [a, b] = [lengthMm / 2, breadthMm / 2];
  const h = ((a - b) / (a + b)) ** 2;
  return Math.PI * (a + b) * (1 + (3 * h) / (10 + Math.sqrt(4 - 3 * h)));
}

type Lengths = ReadonlyMap<string, KnownLength>;

const listed = (names: readonly string[]): string =>
  names.length < 2 ? (names[0] ?? '') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;

/** Measure again first what lies farthest from the survey's mean. */
function againOf(names: readonly string[], lengths: Lengths): string {
  const odd = (name: string): number => {
    const row = SURVEY[name];
    const mm = lengths.get(name)?.mm;
    if (row === undefined || mm === undefined) return 0;
    return Math.min(...POPULATIONS.map((p) => Math.abs(mm - row[p].meanMm) / row[p].sdMm));
  };
  const [first, ...others] = names.toSorted((a, b) => odd(b) - odd(a));
  return `measure the ${first} again, then the ${listed(others)}.`;
}

function ratioDoubt({ of, to, ...populations }: Ratio, lengths: Lengths): string | undefined {
  const names = typeof to === 'string' ? [to] : to;
  const length = lengths.get(of);
  const others = names.flatMap((name) => lengths.get(name) ?? []);
  if (length === undefined || others.length < names.length) return undefined;
  const base = others.length === 1 ? others[0].mm : ellipsePerimeter(others[0].mm, others[1].mm);
  const ratio = length.mm / base;
  const relativeU = Math.hypot(length.uMm / length.mm, ...others.map(({ uMm, mm }) => uMm / mm / others.length));
  const least = Math.min(...POPULATIONS.map((p) => populations[p][0] - FAR * populations[p][1])) * (1 - 2 * relativeU);
  const most = Math.max(...POPULATIONS.map((p) => populations[p][0] + FAR * populations[p][1])) * (1 + 2 * relativeU);
  if (ratio >= least && ratio <= most) return undefined;
  const way = ratio < least ? 'little' : 'much';
  return `${length.mm.toFixed(0)} mm of ${of} is ${way} for ${withLengths(others)}; by the 2012 survey it would lie between ${(least * base).toFixed(0)} and ${(most * base).toFixed(0)} mm: ${againOf([of, ...names], lengths)}`;
}

const withLengths = (lengths: readonly KnownLength[]): string =>
  listed(lengths.map(({ name, mm }) => `${splitSide(name).name} ${mm.toFixed(0)} mm`));

/** The head's girth against the survey's regression on length and breadth, which tells more than their ellipse. */
function girthDoubt(lengths: Lengths): string | undefined {
  const relation = HEAD_RELATIONS.find(({ name }) => name === 'head circumference');
  const girth = lengths.get('head circumference');
  if (relation === undefined || girth === undefined) return undefined;
  const expected = POPULATIONS.map((p) => {
    let mm = relation.meanMm[p];
    let square = girth.uMm ** 2 + relation.residualMm[p] ** 2;
    for (const { name, slope } of relation.on[p]) {
      const other = lengths.get(name);
      if (other === undefined) return undefined;
      mm += slope * (other.mm - SURVEY[name][p].meanMm);
      square += (slope * other.uMm) ** 2;
    }
    return { mm, uMm: Math.sqrt(square) };
  }).filter((one) => one !== undefined);
  if (expected.length === 0 || expected.some(({ mm, uMm }) => Math.abs(girth.mm - mm) <= FAR * uMm)) return undefined;
  const [low, high] = [Math.min(...expected.map(({ mm }) => mm)), Math.max(...expected.map(({ mm }) => mm))];
  const names = relation.on.men.map(({ name }) => name);
  const others = names.flatMap((name) => lengths.get(name) ?? []);
  return `${girth.mm.toFixed(0)} mm of head circumference does not go with ${withLengths(others)}, for which the 2012 survey gives ${low.toFixed(0)} to ${high.toFixed(0)} mm: ${againOf(['head circumference', ...names], lengths)}`;
}

/** One limb against the other: our own judgement, no source. */
const SIDES_APART = 0.12;

function sidesDoubt(length: KnownLength, all: readonly KnownLength[]): string | undefined {
  const { name, side } = splitSide(length.name);
  if (side !== 'right') return undefined;
  const left = all.find((one) => one.name === `${name}, left` && one.kind === length.kind);
  if (left === undefined) return undefined;
  const apart = Math.abs(length.mm - left.mm);
  if (apart <= SIDES_APART * Math.max(length.mm, left.mm) + 2 * Math.hypot(length.uMm, left.uMm)) return undefined;
  return `The ${name} is ${left.mm.toFixed(0)} mm on the left and ${length.mm.toFixed(0)} mm on the right, which is far apart: measure both again.`;
}

/**
 * What is odd about these lengths taken together: the name of a length and a sentence. Lengths of one limb are compared
 * with lengths of the same. O(lengths).
 */
export function togetherDoubts(all: readonly KnownLength[]): ReadonlyMap<string, string> {
  const doubts = new Map<string, string>();
  const sides = Map.groupBy(all, ({ name }) => splitSide(name).side ?? '');
  for (const [side, some] of sides) {
    const lengths = new Map(some.map((one) => [splitSide(one.name).name, one]));
    const note = (name: string, doubt: string | undefined): void => {
      const full = side === '' ? name : `${name}, ${side}`;
      if (doubt !== undefined && !doubts.has(full)) doubts.set(full, doubt);
    };
    note('head circumference', girthDoubt(lengths));
    for (const ratio of RATIOS) note(ratio.of, ratioDoubt(ratio, lengths));
  }
  for (const length of all) {
    const doubt = sidesDoubt(length, all);
    if (doubt !== undefined && !doubts.has(length.name)) doubts.set(length.name, doubt);
  }
  return doubts;
}
