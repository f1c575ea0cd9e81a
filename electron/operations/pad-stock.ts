/** The maker's stock of foam: what each sheet is taken for, which sheets serve which pad, and what that rests on. */
import type { z } from 'zod';
import type { padFigures, stockSheetSchema } from '../../shared-types/operations/pad.ts';
import { chooseStack, type FoamSheet, type FoamStack } from '../geometry/pad/foam-stack.ts';

export type StockGiven = z.output<typeof stockSheetSchema>;
type PadFigures = z.output<typeof padFigures>['pads'];

/** What a pad needs of the stock. */
export interface PadNeed {
  readonly gap: { readonly meanMm: number; readonly areaMm2: number };
  readonly doubled: boolean;
  /** Sheets of the stock it may be made of; any of them when undefined. */
  readonly foams?: readonly number[] | undefined;
}

/** Pressure at a quarter pressed, kPa, where the stock does not state it (reference-values.md 5.1, middles of ranges). */
const USUAL_KPA: readonly { readonly word: RegExp; readonly kPa: number; readonly what: string }[] = [
  { word: /\beva\b/i, kPa: 100, what: 'EVA craft sheet' },
  { word: /neoprene|rubber/i, kPa: 24, what: 'closed sponge rubber' },
  { word: /polyethylene|\bpe\b/i, kPa: 40, what: 'closed-cell polyethylene of 33 kg/m³' },
  { word: /polyurethane|\bpu\b|open|soft/i, kPa: 2.2, what: 'soft open-cell polyurethane' },
];
/** Sheets of a stock that states no size (common practice, no source). */
const SHEET_MM = [1000, 500] as const;
/** What a stack of a sheet not yet used has to be better by, mm: each is tried, and the least foam bought wins. */
const NEW_SHEET_MM = [0, 0.6, 2];
export function foamOf(sheet: StockGiven): FoamSheet {
  const usual = USUAL_KPA.find(({ word }) => word.test(sheet.material));
  return {
    material: sheet.material,
    nominalMm: sheet.nominalMm,
    thicknessMm: sheet.measuredMm ?? sheet.nominalMm,
    compression: sheet.compression,
    quarterKPa: sheet.kPaAt25 ?? usual?.kPa,
  };
}

/** A stack for each pad; of several ways to choose, the one for which the least area of foam has to be bought. */
export function leastBought(
  stock: readonly FoamSheet[],
  given: readonly StockGiven[],
  pads: readonly PadNeed[],
): readonly FoamStack[] {
  let best: readonly FoamStack[] = [];
  let least = Infinity;
  for (const newSheetMm of NEW_SHEET_MM) {
    const used = new Set<number>();
    const stacks: FoamStack[] = [];
    // The largest first: what it needs is there for the others.
    const order = pads.map((_, i) => i).sort((a, b) => pads[b].gap.areaMm2 - pads[a].gap.areaMm2);
    for (const i of order) {
      const stack = fromSheets(stock, pads[i].foams, (own, numbers) => {
        const usedOwn = numbers.flatMap((sheet, at) => (used.has(sheet) ? [at] : []));
        return chooseStack(own, pads[i].gap.meanMm, new Set(usedOwn), newSheetMm);
      }) as FoamStack;
      for (const sheet of stack.sheets) used.add(sheet);
      stacks[i] = stack;
    }
    const needed = new Float64Array(stock.length);
    for (const [i, stack] of stacks.entries()) {
      for (const sheet of stack.sheets) needed[sheet] += pads[i].gap.areaMm2 * (pads[i].doubled ? 2 : 1);
    }
    let bought = 0;
    for (const [sheet, area] of needed.entries()) {
      const [width, height] = sheetSize(given[sheet]);
      bought += Math.ceil(area / (width * height)) * width * height;
    }
    if (bought < least) [least, best] = [bought, stacks];
  }
  return best;
}

/** A stack chosen of some sheets of the stock only, with its sheets by their numbers in the whole stock. */
export function fromSheets<S extends FoamStack>(
  stock: readonly FoamSheet[],
  foams: readonly number[] | undefined,
  choose: (own: readonly FoamSheet[], numbers: readonly number[]) => S | undefined,
): S | undefined {
  const numbers = foams ?? Array.from(stock.keys());
  const stack = choose(
    numbers.map((sheet) => stock[sheet]),
    numbers,
  );
  return stack === undefined ? undefined : { ...stack, sheets: stack.sheets.map((at) => numbers[at]) };
}

export const sheetSize = (sheet: StockGiven): readonly [number, number] => [
  sheet.sheetWidthMm ?? SHEET_MM[0],
  sheet.sheetHeightMm ?? SHEET_MM[1],
];

export const sheetName = (sheet: FoamSheet): string => `${sheet.material} ${sheet.nominalMm} mm`;

export function assumptionsOf(
  stock: readonly FoamSheet[],
  given: readonly StockGiven[],
  figures: PadFigures,
): string[] {
  const used = new Set(figures.flatMap((pad) => pad.stack.map((sheet) => `${sheet.material} ${sheet.nominalMm}`)));
  const said = ['The part does not yield, and foam gives in proportion to pressure up to a quarter of its thickness.'];
  for (const [i, foam] of stock.entries()) {
    if (!used.has(`${foam.material} ${foam.nominalMm}`)) continue;
    if (given[i].kPaAt25 !== undefined) {
      said.push(`${sheetName(foam)}: ${given[i].kPaAt25} kPa at a quarter pressed, as your stock list says.`);
    } else if (foam.quarterKPa === undefined) {
      said.push(`${sheetName(foam)}: its stiffness is not known, so its pressure is not told.`);
    } else {
      const usual = USUAL_KPA.find(({ word }) => word.test(foam.material));
      said.push(
        `${sheetName(foam)}: taken as ${usual?.what}, about ${foam.quarterKPa} kPa at a quarter pressed; makes differ by half and more.`,
      );
    }
  }
  return said;
}
