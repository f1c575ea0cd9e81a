/** Measures of people who do not exist, drawn from the survey with its correlations, and readings of them with error. */
import { HEAD_RELATIONS, type Population } from '../../shared-types/survey.ts';
import { seeded } from '../../electron/invented/seeded.ts';

/** What a maker reads; the straight way to the vertex follows from two others and is left out. */
const READ = HEAD_RELATIONS.map(({ name }) => name).filter((name) => name !== 'tragion to vertex');
const TAPE_U_MM = 3;
const CALLIPER_U_MM = 1.5;

export interface DrawnHead {
  readonly population: Population;
  readonly truth: Readonly<Record<string, number>>;
  readonly readings: { name: string; measured: number; u: number }[];
}

/** One to all of the readings of one drawn person, in an order of chance. */
export function drawHead(seed: number): DrawnHead {
  const random = seeded(seed);
  const population: Population = seed % 2 === 0 ? 'men' : 'women';
  const truth: Record<string, number> = {};
  for (const { name, on, meanMm, residualMm } of HEAD_RELATIONS) {
    truth[name] = on[population].reduce(
      (sum, other) => {
        const mean = HEAD_RELATIONS.find((one) => one.name === other.name)?.meanMm[population] ?? 0;
        return sum + other.slope * (truth[other.name] - mean);
      },
      meanMm[population] + residualMm[population] * random.normal(),
    );
  }
  const chosen = READ.map((name) => ({ name, at: random.between(0, 1) }))
    .sort((a, b) => a.at - b.at)
    .slice(0, 1 + Math.floor(random.between(0, READ.length)));
  const readings = chosen.map(({ name }) => {
    const u = /arc|circumference/.test(name) ? TAPE_U_MM : CALLIPER_U_MM;
    return { name, measured: Math.round(10 * (truth[name] + u * random.normal())) / 10, u };
  });
  return { population, truth, readings };
}
