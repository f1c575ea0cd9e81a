/** Where the window stood last time, kept in a small file of its own; a broken or missing file means the default. */
import { readFileSync, writeFileSync } from 'node:fs';

export interface Place {
  readonly x?: number;
  readonly y?: number;
  readonly width: number;
  readonly height: number;
  readonly maximized: boolean;
}

interface Area {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export const DEFAULT_PLACE: Place = { width: 1360, height: 860, maximized: false };
/** So much of the window must lie on some screen to be grasped. */
const GRASP = 120;

export function readPlace(file: string, screens: readonly Area[]): Place {
  let kept: Record<string, unknown>;
  try {
    kept = JSON.parse(readFileSync(file, 'utf8')) as Record<string, unknown>;
  } catch {
    return DEFAULT_PLACE;
  }
  const number = (key: string): number => (Number.isFinite(kept?.[key]) ? Math.round(kept[key] as number) : NaN);
  const [x, y, width, height] = [number('x'), number('y'), number('width'), number('height')] as const;
  if (!(width >= GRASP && width <= 16_384 && height >= GRASP && height <= 16_384)) return DEFAULT_PLACE;
  const size = { width, height, maximized: kept['maximized'] === true };
  const within = (from: number, length: number, begin: number, span: number): boolean =>
    Math.min(from + length, begin + span) - Math.max(from, begin) >= GRASP;
  const onScreen = screens.some((s) => within(x, width, s.x, s.width) && within(y, height, s.y, s.height));
  return onScreen ? { x, y, ...size } : size;
}

export function keepPlace(file: string, place: Place): void {
  try {
    writeFileSync(file, JSON.stringify(place));
  } catch {
    // A full or read-only disk costs the place of the window, nothing else.
  }
}
