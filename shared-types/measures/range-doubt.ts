/** What is odd about a length by itself, against what adults are expected to have. */
import { measureKind } from './index.ts';

/** What a reader can have done to a length, and the factor that undoes it. The likelier comes first. */
const SLIPS: readonly (readonly [question: string, factor: number])[] = [
  ['was it read in inches?', 25.4],
  ['was it read in centimetres?', 10],
  ['was it read in millimetres and written as centimetres?', 0.1],
  ['was it read in centimetres and written as inches?', 10 / 25.4],
  ['are two readings added up in it?', 0.5],
  ['was only half way round measured?', 2],
];

const NO_SLIP = 'no mix-up of units explains it, so measure it again.';

/** The slip that explains a length outside its range, as a question; undefined where it lies within, or none is known. */
function slipOf(name: string, mm: number): string | undefined {
  const [least, most] = measureKind(name)?.range?.mm ?? [-Infinity, Infinity];
  if (mm >= least && mm <= most) return undefined;
  return SLIPS.find(([, factor]) => mm * factor >= least && mm * factor <= most)?.[0] ?? NO_SLIP;
}

/** A length outside its range, with the slip that would explain it. */
export function rangeDoubt(name: string, mm: number): string | undefined {
  const range = measureKind(name)?.range;
  const question = slipOf(name, mm);
  if (range === undefined || question === undefined) return undefined;
  const within = {
    seen: `all that the 2012 survey of adults met`,
    widened: `what the 2012 survey lets one expect of an adult`,
    judged: `what one expects of an adult`,
  }[range.from];
  return `${mm.toFixed(mm < 100 ? 1 : 0)} mm lies outside ${range.mm[0]} to ${range.mm[1]} mm, ${within}: ${question}`;
}

/** The doubts about several lengths, those that one slip explains in one sentence. */
export function rangeDoubts(lengths: readonly { readonly name: string; readonly mm: number }[]): string[] {
  const bySlip = new Map<string, { readonly name: string; readonly mm: number }[]>();
  for (const one of lengths) {
    const slip = slipOf(one.name, one.mm);
    if (slip !== undefined) bySlip.set(slip, [...(bySlip.get(slip) ?? []), one]);
  }
  return [...bySlip].flatMap(([slip, odd]) => {
    const [{ name, mm }] = odd;
    if (odd.length === 1 || slip === NO_SLIP)
      return odd.map((one) => `"${one.name}": ${rangeDoubt(one.name, one.mm) ?? ''}`);
    const others = odd.length === 2 ? `"${odd[1].name}"` : `${odd.length - 1} other lengths`;
    return [
      `"${name}" (${mm.toFixed(1)} mm) and ${others} lie outside what one expects of an adult, and one slip would explain all of them: ${slip}`,
    ];
  });
}
