/** Places of a finished liner to look at: where its wall is thinnest, where it misses most, what it closes. Pure. */
import type { Vec3 } from './mesh.ts';
import { figureNumber } from './step-evidence.ts';
import { LINER_TOLERANCE_MM, TOLD_TOLERANCES } from './tolerances.ts';

type Figures = Readonly<Record<string, unknown>>;

export interface LinerPlace {
  readonly id: 'wall' | 'miss' | 'gap';
  /** What there is, and the length it ends in. */
  readonly words: string;
  readonly mm: number;
  /** Absent in liners of before places were kept. */
  readonly at?: Vec3 | undefined;
  /** Why it should be looked at. */
  readonly doubt?: string | undefined;
}

/** `asked`: the parameters it was made with. The wall's thinnest place is one always, the others only where they are doubtful. */
export function linerPlaces(figures: Figures, asked: Figures): readonly LinerPlace[] {
  const number = (name: string): number | undefined => figureNumber(figures, name);
  const toleranceMm = figureNumber(asked, 'toleranceMm') ?? LINER_TOLERANCE_MM;
  const places: LinerPlace[] = [];
  const worst = number('maxAbsErrorMm') ?? 0;
  if (worst > toleranceMm) {
    const p99 = number('p99AbsErrorMm');
    const most = p99 === undefined ? '' : `; 99 in 100 points lie within ${p99.toFixed(2)} mm`;
    places.push({
      id: 'miss',
      words: 'misses most,',
      mm: worst,
      at: pointIn(figures, 'maxAbsErrorAt'),
      doubt: `In places it misses its thickness by up to ${worst.toFixed(2)} mm, more than the ${toleranceMm} mm asked for${most}.`,
    });
  }
  // What is missing round enclosed pockets was left out on purpose.
  const missing = number('pocketsDropped') === 0 ? (number('missingMaxMm') ?? 0) : 0;
  if (missing > TOLD_TOLERANCES * toleranceMm && missing > worst) {
    const wide = number('missingGapMm');
    places.push({
      id: 'gap',
      words: wide === undefined ? 'closes a gap, off by' : 'closes a gap of',
      mm: wide ?? missing,
      at: pointIn(figures, 'missingAt'),
      doubt: `It closes a gap${wide === undefined ? '' : ` ${wide.toFixed(1)} mm wide`}, and ends there up to ${missing.toFixed(1)} mm away from where the foam would.`,
    });
  }
  const [wall, wallMm] = [number('wallMinMm'), figureNumber(asked, 'wallMm')];
  if (wall !== undefined) {
    const isThin = wallMm !== undefined && wall < wallMm - TOLD_TOLERANCES * toleranceMm;
    places.push({
      id: 'wall',
      words: 'wall at its thinnest,',
      mm: wall,
      at: pointIn(figures, 'wallMinAt'),
      doubt: isThin ? `In places the wall is only ${wall.toFixed(2)} mm thick, not ${wallMm} mm.` : undefined,
    });
  }
  return places;
}

function pointIn(figures: Figures, name: string): Vec3 | undefined {
  const at = figures[name];
  if (!Array.isArray(at) || at.length !== 3) return undefined;
  return at.map(Number) as unknown as Vec3;
}
