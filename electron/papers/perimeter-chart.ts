/** How far one eye sees in every direction, as a perimeter chart: the middle is straight ahead, rings stand 30° apart. */
import type { PaperItem } from '../../shared-types/paper.ts';
import { FAINT, HAIRLINE_MM } from './page-flow.ts';

export interface PerimeterChart {
  readonly caption: string;
  /**
   * Degrees from straight ahead, at even steps all round: from the wearer's left over up, right and down. What is clear
   * through the part, and what would be without it.
   */
  readonly clearDeg: readonly number[];
  readonly naturalDeg: readonly number[];
}

const RING_DEG = 30;
const OUTER_DEG = 120;
const RING_POINTS = 72;
const LABEL_MM = 2.2;

/** As the wearer sees it, left at the left, in a square of `sizeMm` whose upper left corner is at `x`, `y`. O(directions). */
export function perimeterItems(chart: PerimeterChart, x: number, y: number, sizeMm: number): PaperItem[] {
  const { caption, clearDeg, naturalDeg } = chart;
  const [middleX, middleY] = [x + sizeMm / 2, y + sizeMm / 2];
  const mmPerDegree = sizeMm / 2 / OUTER_DEG;
  const place = (share: number, degrees: number): [number, number] => {
    const [angle, reach] = [2 * Math.PI * share, Math.min(degrees, OUTER_DEG) * mmPerDegree];
    return [middleX - reach * Math.cos(angle), middleY - reach * Math.sin(angle)];
  };
  const loop = (degrees: readonly number[]): number[] =>
    degrees.flatMap((reach, index) => place(index / degrees.length, reach));
  const items: PaperItem[] = [
    { kind: 'line', points: loop(naturalDeg), closed: true, penMm: HAIRLINE_MM, grey: 0.5, fillGrey: 0.85 },
    { kind: 'line', points: loop(clearDeg), closed: true, penMm: 0.4, fillGrey: 1 },
  ];
  for (let degrees = RING_DEG; degrees <= OUTER_DEG; degrees += RING_DEG) {
    const points = loop(Array.from({ length: RING_POINTS }, () => degrees));
    items.push({ kind: 'line', points, closed: true, penMm: 0.1, grey: 0.5, dashMm: [0.8, 0.8] });
    const at = [middleX + degrees * mmPerDegree - 0.4, middleY - 0.6] as const;
    items.push({ kind: 'text', text: `${degrees}°`, at, sizeMm: LABEL_MM, align: 'right', grey: FAINT });
  }
  for (const [a, b] of [
    [place(0, OUTER_DEG), place(0.5, OUTER_DEG)],
    [place(0.25, OUTER_DEG), place(0.75, OUTER_DEG)],
  ] as const) {
    items.push({ kind: 'line', points: [...a, ...b], penMm: 0.1, grey: 0.5 });
  }
  items.push({ kind: 'text', text: caption, at: [middleX, y + sizeMm + 3.4], sizeMm: LABEL_MM * 1.2, align: 'middle' });
  return items;
}
