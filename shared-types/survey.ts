/**
 * Body measures of a large survey, as data: what is usual, and how measures go together.
 *
 * The numbers were computed from the individual-level public files of the US Army survey of 2012: C. C. Gordon et al.,
 * "2012 Anthropometric Survey of U.S. Army Personnel: Methods and Summary Statistics", NATICK/TR-15/007, December 2014
 * (4082 men, 1986 women, 17 to 58 years). Soldiers: no children, no elderly, and a fit population.
 */
export const SURVEY_SOURCE = 'US Army survey of 2012, NATICK/TR-15/007 (4082 men, 1986 women, 17 to 58 years)';

export type Population = 'men' | 'women';
/** 'either': half men, half women. */
export type SurveyChoice = Population | 'either';

export interface SurveyLine {
  readonly meanMm: number;
  /** With n - 1. */
  readonly sdMm: number;
  /** 5th, 50th and 95th percentile. */
  readonly percentilesMm: readonly [number, number, number];
  /** Smallest and largest in the survey, where noted down. */
  readonly seenMm?: readonly [number, number];
}

export type SurveyRow = { readonly [population in Population]: SurveyLine };

type Five = readonly [mean: number, sd: number, p5: number, p50: number, p95: number];
type Seen = readonly [number, number];

function row(men: Five, women: Five, seenMen?: Seen, seenWomen?: Seen): SurveyRow {
  const line = ([meanMm, sdMm, p5, p50, p95]: Five, seenMm: Seen | undefined): SurveyLine => ({
    meanMm,
    sdMm,
    percentilesMm: [p5, p50, p95],
    ...(seenMm === undefined ? {} : { seenMm }),
  });
  return { men: line(men, seenMen), women: line(women, seenWomen) };
}

/** By the names of the measurement sheet where it has the measure. */
export const SURVEY: Readonly<Record<string, SurveyRow>> = {
  'head circumference': row([574.4, 16, 548, 574, 601], [561.1, 19.4, 532, 560, 597], [516, 633], [500, 635]),
  'head length': row([199.5, 7, 188, 200, 211], [189.8, 7.4, 178, 190, 202], [172, 225], [168, 215]),
  'head breadth': row([154.3, 5.5, 146, 154, 163], [147.8, 5.2, 140, 147, 156], [135, 180], [131, 167]),
  'bizygomatic breadth': row([142.6, 6.2, 133, 143, 153], [133.8, 5.6, 125, 134, 143]),
  'bitragion chin arc': row([331.7, 14, 309, 332, 355], [311, 14.2, 288, 311, 335]),
  'bitragion submandibular arc': row([315.7, 16.7, 289, 315, 345], [288, 15.3, 264, 287.5, 313]),
  'interpupillary breadth': row([64, 3.4, 58.5, 64, 70], [61.7, 3.6, 55.5, 62, 67.5]),
  'face length': row([122.6, 6.7, 112, 123, 134], [113.1, 6.1, 104, 113, 123]),
  'tragion to top of head': row([131.1, 6.2, 121, 131, 141], [126.5, 6.5, 116, 127, 137]),
  'neck circumference': row([397.7, 25.8, 360, 395, 443], [329.8, 19.2, 302, 328, 363], [311, 514], [275, 424]),
  'neck circumference, base': row([434.6, 25.7, 395, 433, 479], [371.2, 19.7, 340, 370, 405]),
  'ear length': row([64.2, 4.5, 57, 64, 72], [59.4, 3.9, 53, 60, 66]),
  'ear breadth': row([36.1, 3, 31, 36, 41], [33.2, 2.8, 29, 33, 38]),
  'ear protrusion': row([23.2, 3, 19, 23, 28], [20.4, 2.7, 16, 20, 25]),
  'hand length': row([193.3, 10, 177, 193, 210], [181.1, 10.1, 165, 180, 199]),
  'hand breadth': row([88.3, 4.4, 81, 88, 96], [78.1, 3.8, 72, 78, 85]),
  'hand circumference': row([212.3, 10.2, 195, 212, 230], [186.6, 8.8, 173, 187, 202]),
  'wrist circumference': row([175.9, 9, 162, 176, 191], [154.8, 7.8, 142, 154, 168], [141, 216], [124, 183]),
  'forearm circumference, flexed': row([310.1, 22, 275, 310, 348], [264.1, 18.5, 235, 263, 296]),
  'biceps circumference, flexed': row([358.1, 34.6, 303, 357, 418], [305.6, 30.8, 259, 304, 360]),
  'chest circumference': row([1058.7, 87.4, 922, 1056, 1207], [946.9, 82.7, 824, 940, 1094], [774, 1469], [695, 1266]),
  'chest breadth': row([289.4, 18.3, 261, 289, 320], [269.3, 18.6, 241, 268, 302]),
  'chest depth': row([253.9, 26.3, 211, 253, 298], [247.4, 27.3, 205, 245, 296]),
  'biacromial breadth': row([415.7, 19.2, 384, 415, 447], [365.4, 18.3, 335, 365, 396]),
  'bideltoid breadth': row([510.4, 32.5, 459, 509, 567], [450.3, 28.7, 406, 450, 499]),
  'shoulder circumference': row([1178.6, 63.6, 1080, 1176, 1288], [1028.2, 52.9, 944, 1027, 1119]),
  'waist circumference': row([940.6, 111.7, 768, 937, 1131], [860.9, 99.9, 710, 852, 1040]),
  'calf circumference': row([392.3, 29.7, 346, 392, 443], [373.3, 28.5, 328, 372, 423]),
  'ankle circumference': row([229.3, 14.6, 206, 228, 254], [215.7, 14.9, 193, 215, 242]),
  stature: row([1756.2, 68.6, 1648, 1755, 1870], [1628.5, 64.2, 1525, 1626, 1740]),
};

/** Where a statement about two measures comes from. */
export type Ground =
  /** Computed from the survey's own files. */
  | 'survey'
  /** Follows from a published figure of the survey, to first order. */
  | 'derived'
  /** Follows from the shape of the neutral form. */
  | 'shape'
  /** Own modest assumption; no source read. */
  | 'assumed';

/** How one measure follows others: mean and slopes, with what is left over. */
export interface Relation {
  readonly name: string;
  readonly ground: Ground;
  /** Why these numbers, in words for people. */
  readonly why: string;
  readonly on: Readonly<Record<Population, readonly { readonly name: string; readonly slope: number }[]>>;
  /** Value where the others have their means. */
  readonly meanMm: Readonly<Record<Population, number>>;
  /** Standard deviation of what the others do not tell. */
  readonly residualMm: Readonly<Record<Population, number>>;
}

const both = <T>(make: (population: Population) => T): Record<Population, T> => ({
  men: make('men'),
  women: make('women'),
});

/** A surveyed measure that goes with one other by a correlation. */
function correlated(
  name: string,
  on: string,
  r: Readonly<Record<Population, number>>,
  ground: Ground,
  why: string,
): Relation {
  const [own, other] = [SURVEY[name], SURVEY[on]];
  return {
    name,
    ground,
    why,
    on: both((p) => [{ name: on, slope: (r[p] * own[p].sdMm) / other[p].sdMm }]),
    meanMm: both((p) => own[p].meanMm),
    residualMm: both((p) => own[p].sdMm * Math.sqrt(1 - r[p] ** 2)),
  };
}

/** The correlation that makes the ratio of two measures scatter as published: to first order in small scatters. */
function correlationByRatio(name: string, on: string, ratio: number, ratioSd: number): Record<Population, number> {
  return both((p) => {
    const [a, b] = [SURVEY[name][p].sdMm / SURVEY[name][p].meanMm, SURVEY[on][p].sdMm / SURVEY[on][p].meanMm];
    return (a * a + b * b - (ratioSd / ratio) ** 2) / (2 * a * b);
  });
}

/** Half the bitragion breadth, the height over it and the straight way from tragion to vertex, at the means. */
function vertexTriangle(population: Population): { across: number; height: number; straight: number } {
  const across = SURVEY['bizygomatic breadth'][population].meanMm / 2;
  const height = SURVEY['tragion to top of head'][population].meanMm;
  return { across, height, straight: Math.hypot(across, height, VERTEX_BEHIND_MM) };
}
const VERTEX_BEHIND_MM = 7;

const assumed = (r: number): Record<Population, number> => both(() => r);

/**
 * The head's measures, each after those it follows. Girth on length and breadth and the correlation of these two are
 * the survey's; the survey's files hold more correlations, but only these were at hand.
 */
export const HEAD_RELATIONS: readonly Relation[] = [
  {
    name: 'head length',
    ground: 'survey',
    why: 'Mean and scatter of the survey.',
    on: both(() => []),
    meanMm: both((p) => SURVEY['head length'][p].meanMm),
    residualMm: both((p) => SURVEY['head length'][p].sdMm),
  },
  correlated(
    'head breadth',
    'head length',
    { men: 0.18, women: 0.22 },
    'survey',
    'Length and breadth are nearly independent (r 0.18 and 0.22 in the survey).',
  ),
  {
    name: 'head circumference',
    ground: 'survey',
    why: 'Regression of the survey on length and breadth, residual 6.2 mm (men) and 10.9 mm (women).',
    on: {
      men: [
        { name: 'head length', slope: 1.711 },
        { name: 'head breadth', slope: 1.225 },
      ],
      women: [
        { name: 'head length', slope: 1.771 },
        { name: 'head breadth', slope: 1.283 },
      ],
    },
    meanMm: both((p) => SURVEY['head circumference'][p].meanMm),
    residualMm: { men: 6.2, women: 10.9 },
  },
  correlated(
    'bizygomatic breadth',
    'head breadth',
    assumed(0.4),
    'assumed',
    'Mean and scatter of the survey; that it goes with head breadth (r 0.4) is assumed.',
  ),
  {
    name: 'bitragion breadth',
    ground: 'assumed',
    why: 'Not in the public survey: assumed equal to the bizygomatic breadth, give or take 4 mm.',
    on: both(() => [{ name: 'bizygomatic breadth', slope: 1 }]),
    meanMm: both((p) => SURVEY['bizygomatic breadth'][p].meanMm),
    residualMm: both(() => 4),
  },
  correlated(
    'tragion to top of head',
    'head length',
    assumed(0.3),
    'assumed',
    'Mean and scatter of the survey; that it goes with head length (r 0.3) is assumed.',
  ),
  correlated(
    'face length',
    'head length',
    assumed(0.2),
    'assumed',
    'Mean and scatter of the survey; that it goes with head length (r 0.2) is assumed.',
  ),
  correlated(
    'bitragion chin arc',
    'bizygomatic breadth',
    correlationByRatio('bitragion chin arc', 'bizygomatic breadth', 2.33, 0.09),
    'derived',
    'From the survey’s ratio to the bizygomatic breadth, 2.33 ± 0.09.',
  ),
  correlated(
    'bitragion submandibular arc',
    'bitragion chin arc',
    assumed(0.6),
    'assumed',
    'Mean and scatter of the survey; that it goes with the chin arc (r 0.6) is assumed.',
  ),
  correlated(
    'neck circumference',
    'head circumference',
    assumed(0.3),
    'assumed',
    'Mean and scatter of the survey; that it goes with the head circumference (r 0.3) is assumed.',
  ),
  correlated(
    'interpupillary breadth',
    'bizygomatic breadth',
    assumed(0.3),
    'assumed',
    'Mean and scatter of the survey; that it goes with the bizygomatic breadth (r 0.3) is assumed.',
  ),
  {
    name: 'tragion to vertex',
    ground: 'shape',
    why: 'By Pythagoras from the height of the head over the tragions and half the bitragion breadth, the vertex some 7 mm behind them; give or take 1 mm.',
    on: both((p) => {
      const { across, height, straight } = vertexTriangle(p);
      return [
        { name: 'tragion to top of head', slope: height / straight },
        { name: 'bitragion breadth', slope: across / 2 / straight },
      ];
    }),
    meanMm: both((p) => vertexTriangle(p).straight),
    residualMm: both(() => 1),
  },
  {
    name: 'bitragion coronal arc',
    ground: 'shape',
    why: 'Not in the public survey: taken on the neutral form at the survey’s means; give or take 7 mm beside head breadth and height.',
    on: both(() => [
      { name: 'head breadth', slope: 1.1 },
      { name: 'tragion to top of head', slope: 1.7 },
    ]),
    meanMm: { men: 349.5, women: 339 },
    residualMm: both(() => 7),
  },
];
