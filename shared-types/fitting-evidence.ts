/** What was measured on liners, on parts tried on and through their openings, in plain words, from the figures kept. Pure. */
import { countText } from './counts.ts';
import { linerPlaces } from './liner-places.ts';
import { figureNumber, figureRows, figureWord } from './step-evidence.ts';

export interface Evidence {
  readonly sentences: readonly string[];
  /** What calls for a second look. */
  readonly doubts: readonly string[];
  /** What to set the figures against. */
  readonly notes?: readonly string[];
}

type Figures = Readonly<Record<string, unknown>>;

/** A figure that is missing leaves out its sentence. */
export function linerEvidence(liner: {
  readonly foamMm: number;
  readonly parameters: Figures;
  readonly figures: Figures;
}): Evidence {
  const { foamMm, parameters, figures } = liner;
  const sentences: string[] = [];
  const doubts = linerPlaces(figures, parameters).flatMap(({ doubt }) => doubt ?? []);
  const value = (name: string): number | undefined => figureNumber(figures, name);
  const [least, most, mean, worst] = ['minMm', 'maxMm', 'meanAbsErrorMm', 'maxAbsErrorMm'].map(value);
  if (least !== undefined && most !== undefined) {
    sentences.push(`It lies ${least.toFixed(2)} to ${most.toFixed(2)} mm from the form; asked for were ${foamMm} mm.`);
  }
  if (mean !== undefined && worst !== undefined) {
    sentences.push(
      `Off by ${mean.toFixed(3)} mm on average and ${worst.toFixed(2)} mm at most, in ${countText(value('samples') ?? 0)} samples.`,
    );
  }
  const bridge = figureNumber(parameters, 'bridgeMm');
  if (bridge !== undefined) sentences.push(`Hollows that a ball of ${bridge} mm radius cannot enter are bridged.`);
  const [wallLeast, wallMost, foam, volume] = ['wallMinMm', 'wallMaxMm', 'foamVolumeMm3', 'volumeMm3'].map(value);
  if (wallLeast !== undefined && wallMost !== undefined) {
    sentences.push(`A wall of ${wallLeast.toFixed(2)} to ${wallMost.toFixed(2)} mm outside it.`);
  }
  for (const zone of figureRows(figures, 'zones')) {
    const [wanted, from, to] = ['thicknessMm', 'minMm', 'maxMm'].map((name) => figureNumber(zone, name));
    if (wanted === undefined || from === undefined || to === undefined) continue;
    const bought = figureNumber(zone, 'boughtVolumeMm3');
    const toBuy = bought === undefined ? '' : `, ${(bought / 1e6).toFixed(2)} litres to buy`;
    sentences.push(
      `Zone "${String(zone['name'])}": ${from.toFixed(2)} to ${to.toFixed(2)} mm, asked for ${wanted} mm${toBuy}.`,
    );
  }
  for (const opening of figureRows(figures, 'openings')) {
    const [round, narrow, wide] = ['rimLengthMm', 'leastWidthMm', 'mostWidthMm'].map((name) =>
      figureNumber(opening, name),
    );
    if (round === undefined || narrow === undefined || wide === undefined) continue;
    const kind = opening['kind'] === 'curve' ? 'along a drawn line' : 'flat';
    sentences.push(
      `Opened ${kind}: ${round.toFixed(0)} mm round inside, ${narrow.toFixed(0)} by ${wide.toFixed(0)} mm across.`,
    );
  }
  for (const row of figureRows(figures, 'standsOff')) {
    const [most, area] = ['addedMaxMm', 'areaMm2'].map((name) => figureNumber(row, name));
    if (most === undefined || area === undefined || area === 0) continue;
    const why = figureWord(row, 'keepOut') ?? 'the way in';
    sentences.push(
      `For ${why} it stands off by up to ${most.toFixed(1)} mm more, over ${(area / 100).toFixed(0)} cm²: it holds nothing there.`,
    );
  }
  if (foam !== undefined) sentences.push(`${(foam / 1e6).toFixed(2)} litres of foam between form and liner.`);
  if (volume !== undefined) sentences.push(`${(volume / 1000).toFixed(0)} cm³ of solid.`);
  const cuts = value('selfIntersections') ?? 0;
  if (figures['watertight'] === true && cuts === 0) sentences.push('Closed, and nowhere cutting itself.');
  else doubts.push('Not a sound solid: look at it closely before printing.');
  const donning = figures['donning'] as Figures | null | undefined;
  const deepest = figureNumber(donning ?? {}, 'deepestMm');
  const give = figureNumber(donning ?? {}, 'giveMm');
  if (deepest !== undefined && give !== undefined) {
    const words = `On its way over the body the foam must give ${deepest.toFixed(1)} mm at most; ${give} mm were allowed.`;
    (donning?.['passes'] === true ? sentences : doubts).push(words);
  }
  return { sentences, doubts };
}

const texts = (value: unknown): string[] =>
  Array.isArray(value) ? value.filter((one): one is string => typeof one === 'string') : [];

/** The gap that a part in place leaves, where it pinches, and how it is put on. */
export function easeEvidence(figures: Figures): Evidence {
  const pinches = texts(figureRows(figures, 'pinches').map((pinch) => pinch['sentence']));
  const said = texts(figures['sentences']).filter((sentence) => !pinches.includes(sentence));
  const sentences: string[] = said.length > 0 ? said : gapSentences(figures);
  const doubts: string[] = [...pinches];
  const inside = figureNumber(figures, 'insideShare') ?? 0;
  if (inside > 0) doubts.push(`${(100 * inside).toFixed(inside < 0.1 ? 1 : 0)} % of it lies inside the body.`);
  const samples = figureNumber(figures, 'samples');
  if (samples !== undefined) sentences.push(`Taken at ${countText(samples)} points of the part.`);
  const donning = figures['donning'] as Figures | null | undefined;
  const passes = (donning?.['best'] as Figures | undefined)?.['passes'] === true;
  if (typeof donning?.['sentence'] === 'string') (passes ? sentences : doubts).push(donning['sentence']);
  return { sentences, doubts };
}

function gapSentences(figures: Figures): string[] {
  const [least, mean] = [figureNumber(figures, 'leastEaseMm'), figureNumber(figures, 'meanEaseMm')];
  const sentences = mean === undefined ? [] : [`Ease ${mean.toFixed(1)} mm on average.`];
  if (least !== undefined) {
    sentences.push(
      least < 0
        ? `It cuts ${(-least).toFixed(1)} mm into the body at its tightest.`
        : `Least ease ${least.toFixed(1)} mm.`,
    );
  }
  return sentences;
}

/** Ease by region of the body, in words and mm: region, least, mean. */
export const easeByRegion = (figures: Figures): readonly (readonly [string, string, string])[] =>
  figureRows(figures, 'regions').flatMap((row) => {
    const [least, mean] = [figureNumber(row, 'leastMm'), figureNumber(row, 'meanMm')];
    return least === undefined || mean === undefined
      ? []
      : [[String(row['region']), `${least.toFixed(1)} mm`, `${mean.toFixed(1)} mm`] as const];
  });

/** What can be seen and breathed through a part, if that was looked at. */
export function sightEvidence(figures: Figures): Evidence {
  const sentences: string[] = [];
  const limits = figures['limitsDeg'] as Figures | undefined;
  const [left, right, up, down] = ['left', 'right', 'up', 'down'].map((side) => figureNumber(limits ?? {}, side));
  if (left !== undefined && right !== undefined && up !== undefined && down !== undefined) {
    const u = figureNumber(figures, 'limitUDeg');
    const sure = u === undefined ? '' : `, each to about ±${u.toFixed(0)}°`;
    sentences.push(
      `Seen are ${left.toFixed(0)}° to the left, ${right.toFixed(0)}° to the right, ${up.toFixed(0)}° up and ${down.toFixed(0)}° down${sure}.`,
    );
  }
  const ahead = figureRows(figures, 'floor').find((one) => one['azimuthDeg'] === 0);
  const nearest = ahead === undefined ? undefined : figureNumber(ahead, 'nearestMm');
  if (nearest !== undefined) sentences.push(`The nearest floor seen ahead lies ${(nearest / 1000).toFixed(1)} m off.`);
  const mouth = figureNumber(figures, 'mouthOpenAreaMm2');
  if (mouth !== undefined) sentences.push(`${(mouth / 100).toFixed(1)} cm² are open before the mouth.`);
  const mass = figureNumber(figures, 'massG');
  if (mass !== undefined) sentences.push(`It weighs about ${mass.toFixed(0)} g.`);
  const doubts = figures['eyesGuessed'] === true ? ['Where the eyes are was guessed.'] : [];
  return { sentences, doubts, notes: texts(figures['guidance']) };
}
