/**
 * Which sheets of foam together fill a gap, and how hard they press. Foam is taken as a spring that gives in proportion
 * (secant stiffness between 0 and a quarter of its thickness), sheets lie one on another and carry the same pressure.
 */
import type { OverArea } from './gap.ts';

export interface FoamSheet {
  readonly material: string;
  readonly nominalMm: number;
  /** As measured, unloaded. */
  readonly thicknessMm: number;
  /** Share of its thickness it gives under wear. */
  readonly compression: number;
  /** Pressure at which it has given a quarter of its thickness, where it is known, kPa. */
  readonly quarterKPa: number | undefined;
}

export interface FoamStack {
  /** Sheets by number in the stock, from the body outward. */
  readonly sheets: readonly number[];
  /** Thickness together, unloaded and under wear, mm. */
  readonly freeMm: number;
  readonly wornMm: number;
  /** Room from which on each sheet is there: 0 for those that cover the whole pad. */
  readonly fromGapMm: readonly number[];
}

export const MOST_SHEETS = 4;
/** What one more sheet in a stack has to win to be worth cutting and gluing, mm (common practice, no source). */
const SHEET_WORTH_MM = 0.4;

/**
 * The stack that touches over a gap of `gapMm` and is then pressed about half as much as its foam gives under wear.
 * `newSheetMm`: what a stack of a sheet not in `used` has to be better by. Undefined for an empty stock.
 * O(stock^4) at most.
 */
export function chooseStack(
  stock: readonly FoamSheet[],
  gapMm: number,
  used: ReadonlySet<number>,
  newSheetMm: number,
): FoamStack | undefined {
  let best: FoamStack | undefined;
  let least = Infinity;
  const sheets: number[] = [];
  const extend = (from: number, freeMm: number, wornMm: number): void => {
    if (sheets.length > 0) {
      const fresh = new Set(sheets.filter((sheet) => !used.has(sheet))).size;
      const off = Math.abs(gapMm - (freeMm + wornMm) / 2) + SHEET_WORTH_MM * (sheets.length - 1) + newSheetMm * fresh;
      if (off < least)
        [least, best] = [off, { sheets: sheets.slice(), freeMm, wornMm, fromGapMm: sheets.map(() => 0) }];
    }
    if (sheets.length === MOST_SHEETS) return;
    for (let sheet = from; sheet < stock.length; sheet++) {
      const { thicknessMm, compression } = stock[sheet];
      if (wornMm + thicknessMm * (1 - compression) > 2 * gapMm + thicknessMm) continue;
      sheets.push(sheet);
      extend(sheet, freeMm + thicknessMm, wornMm + thicknessMm * (1 - compression));
      sheets.pop();
    }
  };
  extend(0, 0, 0);
  if (best === undefined) return undefined;
  // The softest lies against the body.
  const soft = (sheet: number): number => stock[sheet].quarterKPa ?? 1 / Math.max(stock[sheet].compression, 1 / 64);
  return { ...best, sheets: best.sheets.toSorted((a, b) => soft(a) - soft(b) || a - b) };
}

export interface PadContact {
  /** Share of the area where the stack is touched at all. */
  readonly contactShare: number;
  /** Room left on the mean where it is not: gap less unloaded stack, not below 0. */
  readonly easeMm: number;
  /** How much the stack gives, as a share of its thickness: mean and passed by a tenth of the area. */
  readonly meanShare: number;
  readonly p90Share: number;
  /** kPa over the touched area, mean, and passed by a tenth of the whole area; undefined when a stiffness is not known. */
  readonly meanKPa: number | undefined;
  readonly p90KPa: number | undefined;
}

/** How a stack fills the gap over an area. O(faces log faces). */
export function contactOf(stock: readonly FoamSheet[], stack: FoamStack, gap: OverArea): PadContact {
  const count = gap.value.length;
  const pressed = new Float64Array(count);
  const share = new Float64Array(count);
  const kPa = new Float64Array(count);
  let total = 0,
    touched = 0,
    force = 0,
    give = 0,
    ease = 0;
  for (const [face, area] of gap.area.entries()) {
    let free = 0,
      soft = 0;
    for (const [i, sheet] of stack.sheets.entries()) {
      if (gap.value[face] < stack.fromGapMm[i]) continue;
      const { quarterKPa, thicknessMm } = stock[sheet];
      free += thicknessMm;
      soft += quarterKPa === undefined ? NaN : thicknessMm / (4 * quarterKPa);
    }
    pressed[face] = Math.max(0, free - gap.value[face]);
    share[face] = free > 0 ? pressed[face] / free : 0;
    kPa[face] = pressed[face] > 0 ? pressed[face] / soft : 0;
    total += area;
    if (pressed[face] > 0) touched += area;
    give += area * share[face];
    force += area * kPa[face];
    ease += area * Math.max(0, gap.value[face] - free);
  }
  const p90KPa = passedByTenth(kPa, gap.area, total);
  return {
    contactShare: touched / total,
    easeMm: ease / total,
    meanShare: give / total,
    p90Share: passedByTenth(share, gap.area, total),
    meanKPa: Number.isNaN(force) ? undefined : touched > 0 ? force / touched : 0,
    p90KPa: Number.isNaN(force) ? undefined : p90KPa,
  };
}

function passedByTenth(value: Float64Array, area: Float64Array, total: number): number {
  const order = Array.from(value.keys()).sort((i, j) => value[j] - value[i]);
  let passed = 0;
  for (const face of order) {
    passed += area[face];
    if (passed >= total / 10) return value[face];
  }
  return 0;
}
