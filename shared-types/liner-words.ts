/** What a liner was asked to be, in a few words, so that it is told from others of the same foam. Pure. */
import { some } from './counts.ts';
import { figureNumber, figureRows, figureWord } from './step-evidence.ts';

type Asked = Readonly<Record<string, unknown>>;

/** A few words, and the length they end in. */
export interface LinerTold {
  readonly words: string;
  readonly mm?: number | undefined;
}

const under = (asked: Asked, key: string): Asked => {
  const value = asked[key];
  return typeof value === 'object' && value !== null ? (value as Asked) : {};
};

/**
 * Its zones with their room as worn, bridging, wall, openings, volumes left free and the way in, as far as asked for;
 * `asked` are the parameters of `line`, whatever made them.
 */
export function linerTold(asked: Asked): readonly LinerTold[] {
  const told: LinerTold[] = figureRows(under(asked, 'zones'), 'zones').map((zone, number) => ({
    words: figureWord(zone, 'name') ?? figureWord(zone, 'region') ?? `zone ${number + 1}`,
    mm: (figureNumber(zone, 'foamMm') ?? 0) * (1 - (figureNumber(zone, 'compression') ?? 0)),
  }));
  const bridgeMm = figureNumber(asked, 'bridgeMm');
  if (bridgeMm !== undefined) told.push({ words: 'hollows bridged at', mm: bridgeMm });
  const wallMm = figureNumber(asked, 'wallMm');
  if (wallMm !== undefined) told.push({ words: 'wall', mm: wallMm });
  const opening = openingWords(asked['opening']);
  told.push({ words: opening === undefined ? 'closed' : `open: ${opening}` });
  const free = figureRows(under(asked, 'keepOut'), 'keepOut').map((one) => figureWord(one, 'name') ?? 'a volume');
  if (free.length > 0) told.push({ words: `${free.join(', ')} left free` });
  if (asked['clear'] === true) told.push({ words: 'undercuts taken out' });
  return told;
}

/** The same as one line; `say` writes a length in mm. */
export const linerWords = (
  told: readonly LinerTold[],
  say = (mm: number): string => `${Number(mm.toFixed(2))} mm`,
): string => told.map(({ words, mm }) => (mm === undefined ? words : `${words} ${say(mm)}`)).join(' · ');

/** "1 flat, 2 drawn lines"; an opening file holds one plane, a list of planes, or planes and drawn lines. */
export function openingWords(opening: unknown): string | undefined {
  if (typeof opening !== 'object' || opening === null) return undefined;
  const { planes, curves } = opening as { planes?: readonly unknown[]; curves?: readonly unknown[] };
  const flat = Array.isArray(opening) ? opening.length : 'plane' in opening ? 1 : (planes?.length ?? 0);
  const drawn = curves?.length ?? 0;
  const words = [...(flat > 0 ? [`${flat} flat`] : []), ...(drawn > 0 ? [some(drawn, 'drawn line')] : [])];
  return words.length === 0 ? undefined : words.join(', ');
}
