/** What each step of a making did, in plain words, from the figures that were kept with it. Pure. */
import type { TicketStep } from './records/form.ts';
import { countText, some } from './counts.ts';

export interface StepEvidence {
  readonly verb: string;
  readonly title: string;
  readonly sentences: readonly string[];
  /** What calls for a second look. */
  readonly doubts: readonly string[];
}

export interface LengthCheck {
  readonly name: string;
  readonly kind: 'span' | 'girth' | 'arc';
  readonly role: string;
  readonly onFormMm: number;
  readonly measuredMm: number;
  readonly uTogetherMm: number;
  readonly differenceMm: number;
  readonly agrees: boolean;
}

type Figures = Readonly<Record<string, unknown>>;

const TITLES: Readonly<Record<string, string>> = {
  mend: 'Mended',
  trim: 'Trimmed',
  stand: 'Stood upright',
  true: 'Made true to size',
  lighten: 'Made light',
  form: 'The finished form',
  block: 'Made from readings alone',
  fill: 'Filled where the scan missed',
};

/** Makings of an older version may lack a figure; then its sentence is left out, never made up. */
export const figureNumber = (figures: Figures, name: string): number | undefined => {
  const value = figures[name];
  return typeof value === 'number' && Number.isFinite(value) ? value : undefined;
};
export const figureWord = (figures: Figures, name: string): string | undefined => {
  const value = figures[name];
  return typeof value === 'string' ? value : undefined;
};
export const figureRows = (figures: Figures, name: string): readonly Figures[] => {
  const value = figures[name];
  return Array.isArray(value) ? (value as Figures[]) : [];
};
const words = (figures: Figures, name: string): readonly string[] => {
  const value = figures[name];
  return Array.isArray(value) ? value.filter((one) => typeof one === 'string') : [];
};
const mm = (value: number): string => `${value.toFixed(value < 0.1 ? 3 : 2)} mm`;

export function evidenceOf(step: TicketStep): StepEvidence {
  const { verb, figures } = step;
  const say = SAY[verb] ?? (() => ({ sentences: [], doubts: [] }));
  return { verb, title: TITLES[verb] ?? verb, ...say(figures) };
}

const SAY: Readonly<Record<string, (figures: Figures) => { sentences: string[]; doubts: string[] }>> = {
  mend(figures) {
    const sentences: string[] = [];
    const doubts: string[] = [];
    const dropped = figureRows(figures, 'dropped').length;
    const filled = figureRows(figures, 'filled');
    const largest = Math.max(0, ...filled.map((hole) => figureNumber(hole, 'perimeterMm') ?? 0));
    sentences.push(
      `${dropped === 0 ? 'No debris' : `${some(dropped, 'piece')} of debris`} dropped, ${
        filled.length === 0
          ? 'no hole to fill'
          : `${some(filled.length, 'hole')} filled, the largest ${largest.toFixed(0)} mm round`
      }.`,
    );
    const most = figureNumber(figures, 'movedMaxMm');
    const mean = figureNumber(figures, 'movedMeanMm');
    if (most !== undefined && mean !== undefined) {
      sentences.push(`The surface moved by ${mm(mean)} on average and ${mm(most)} at most.`);
    }
    const left = figureNumber(figures, 'holesLeft') ?? 0;
    if (left > 0) doubts.push(`${some(left, 'hole')} left open.`);
    const skin = figures['reskinned'] as Figures | null | undefined;
    const resolution = figureNumber(skin ?? {}, 'resolutionMm');
    if (resolution !== undefined) {
      const reason = skin?.['reason'];
      const why = typeof reason === 'string' ? `: ${reason}` : '';
      doubts.push(`A new skin of ${mm(resolution)} was laid over the scan${why}.`);
    }
    return { sentences, doubts };
  },
  trim(figures) {
    const cuts = figureRows(figures, 'cut').length;
    const area = figureNumber(figures, 'cappedAreaMm2');
    const closed = area === undefined || area === 0 ? '' : `, closed flat (${(area / 100).toFixed(0)} cm²)`;
    return { sentences: [cuts === 0 ? 'Nothing was cut off.' : `${some(cuts, 'cut')}${closed}.`], doubts: [] };
  },
  stand(figures) {
    const method = figures['method'];
    if (method === 'frankfurt') {
      return { sentences: ['By three landmarks, the Frankfurt plane level, the origin between the ears.'], doubts: [] };
    }
    if (method === 'limb') {
      return { sentences: ['By its joints: along it toward the trunk, the origin in the lower joint.'], doubts: [] };
    }
    if (method === 'torso') {
      return { sentences: ['By breastbone and spine, the origin at the foot of the neck.'], doubts: [] };
    }
    if (method === 'part') return { sentences: ['By the three points chosen on it.'], doubts: [] };
    if (method === 'landmarks') return { sentences: ['By the landmarks that were set.'], doubts: [] };
    const sure = figureNumber(figures, 'confidence');
    return {
      sentences: [],
      doubts: [
        `By a guess${sure === undefined ? '' : ` (sure to ${Math.round(100 * sure)} %)`}; set the landmarks to be certain.`,
      ],
    };
  },
  true(figures) {
    const sentences: string[] = [];
    const factor = figureNumber(figures, 'factor');
    const expanded = figureNumber(figures, 'expandedPercent');
    if (factor !== undefined) {
      const sure = expanded === undefined ? '' : `, sure to ±${expanded.toFixed(2)} % (95 %)`;
      sentences.push(`One number of the scan is ${Number(factor.toPrecision(6))} mm${sure}.`);
    }
    const used = figureRows(figures, 'residuals').filter((one) => one['role'] === 'used').length;
    if (used > 0) sentences.push(`${some(used, 'length')} took part.`);
    const doubts = words(figures, 'outliers').map((name) => `The reading of ${name} does not belong to the others.`);
    return { sentences: [...sentences, ...words(figures, 'advice')], doubts };
  },
  lighten(figures) {
    const sentences: string[] = [];
    const faces = figureNumber(figures, 'faces');
    const before = figureNumber(figures, 'facesBefore');
    if (faces !== undefined) {
      sentences.push(`${countText(faces)} faces${before === undefined ? '' : ` of ${countText(before)}`}.`);
    }
    const most = figureNumber(figures, 'maxDeviationMm');
    const mean = figureNumber(figures, 'meanDeviationMm');
    if (most !== undefined && mean !== undefined) {
      sentences.push(
        `It lies ${mm(mean)} from the dense surface on average, ${mm(most)} at most, looked at both ways.`,
      );
    }
    return { sentences, doubts: [] };
  },
  form(figures) {
    const sentences: string[] = [];
    const doubts: string[] = [];
    const size = figures['sizeMm'];
    if (Array.isArray(size) && size.length === 3 && size.every((one) => typeof one === 'number')) {
      const [deep, wide, high] = size as number[];
      sentences.push(`${deep.toFixed(0)} mm deep, ${wide.toFixed(0)} mm wide, ${high.toFixed(0)} mm high.`);
    }
    const health = figures['health'] as Figures | undefined;
    if (health !== undefined) {
      const cuts = figureNumber(health, 'selfIntersections') ?? 0;
      if (health['watertight'] === true && cuts === 0) {
        sentences.push('Closed, one side out, and nowhere cutting itself: proven on what is written to the file.');
      } else
        doubts.push(
          `Not sound: ${cuts} places cut one another, ${figureNumber(health, 'openEdges') ?? 0} edges are open.`,
        );
      const volume = figureNumber(health, 'volumeMm3');
      if (volume !== undefined) sentences.push(`${(volume / 1e6).toFixed(2)} litres.`);
    }
    return { sentences, doubts };
  },
  block(figures) {
    const [noScan = '', ...advice] = words(figures, 'advice');
    const sound = figures['watertight'] === true && figureNumber(figures, 'selfIntersections') === 0;
    const sentences = [
      ...(sound ? ['Closed, one side out, and nowhere cutting itself: proven on what is written to the file.'] : []),
      ...(typeof figures['source'] === 'string' ? [`What was not read follows the ${figures['source']}.`] : []),
      ...advice,
    ];
    return { sentences, doubts: noScan === '' ? [] : [noScan] };
  },
  fill(figures) {
    const [guessed = '', ...advice] = words(figures, 'advice');
    const of = figures['of'] as Figures | undefined;
    const moved = (figures['moved'] ?? {}) as Figures;
    const [most, mean] = [figureNumber(moved, 'maxMm'), figureNumber(moved, 'meanMm')];
    const kept = (figures['kept'] ?? {}) as Figures;
    const [points, movedMax] = [figureNumber(kept, 'vertices'), figureNumber(kept, 'movedMaxMm')];
    const sentences = [
      ...(of === undefined
        ? []
        : [`Made from ${String(of['name'])}, making ${String(of['making'])}, which stays as it is.`]),
      ...(most === undefined || mean === undefined
        ? []
        : [`The patch lies ${mm(mean)} from the surface it replaces on average, ${mm(most)} at most.`]),
      ...(points === undefined || movedMax === undefined
        ? []
        : [`${some(points, 'point')} outside it moved by ${movedMax === 0 ? 'nothing' : mm(movedMax)}.`]),
      ...readingsOfFill(figures).map(
        ({ name, onFormMm, measuredMm, uTogetherMm }) =>
          `${name}: read ${measuredMm.toFixed(1)} mm ± ${uTogetherMm.toFixed(1)}, on the filled form ${onFormMm.toFixed(1)} mm.`,
      ),
      ...advice,
    ];
    return { sentences, doubts: guessed === '' ? [] : [guessed] };
  },
};

/** Each length taken again on the finished form, against the hand's reading. */
export function checksOf(steps: readonly TicketStep[]): readonly LengthCheck[] {
  const filled = steps.findLast((step) => step.verb === 'fill');
  if (filled === undefined) return checksBeforeFill(steps);
  const now = readingsOfFill(filled.figures);
  const before = checksBeforeFill(steps).filter(({ name }) => now.every((one) => one.name !== name));
  return [...before.map((one) => ({ ...one, role: `${one.role}, before the fill` })), ...now];
}

function checksBeforeFill(steps: readonly TicketStep[]): readonly LengthCheck[] {
  const blocked = steps.find((step) => step.verb === 'block');
  if (blocked !== undefined) return readingsOf(blocked.figures);
  const figures = steps.find((step) => step.verb === 'form')?.figures ?? {};
  return figureRows(figures, 'checks').flatMap((one) => {
    const [onFormMm, measuredMm, uTogetherMm, differenceMm] = [
      figureNumber(one, 'onFormMm'),
      figureNumber(one, 'measuredMm'),
      figureNumber(one, 'uTogetherMm'),
      figureNumber(one, 'differenceMm'),
    ];
    if (onFormMm === undefined || measuredMm === undefined || differenceMm === undefined) return [];
    return [
      {
        name: String(one['name']),
        kind: one['kind'] === 'girth' || one['kind'] === 'arc' ? one['kind'] : 'span',
        role: String(one['role']),
        onFormMm,
        measuredMm,
        uTogetherMm: uTogetherMm ?? 0,
        differenceMm,
        agrees: one['agrees'] === true,
      },
    ];
  });
}

/** Of a filled form: the readings in which the patch has a part. */
const readingsOfFill = (figures: Figures): LengthCheck[] =>
  readingsOf(figures).flatMap((one) =>
    one.role === 'used' ? [{ ...one, role: 'met by the fill' }] : one.role === 'left out' ? [one] : [],
  );

/** Of a form from readings alone, or filled: what was read, and whether it was met. */
function readingsOf(figures: Figures): LengthCheck[] {
  return figureRows(figures, 'measures').flatMap((one): LengthCheck[] => {
    const [onFormMm, measuredMm, uMm] = ['formMm', 'measuredMm', 'uMm'].map((field) => figureNumber(one, field));
    if (onFormMm === undefined || measuredMm === undefined || uMm === undefined) return [];
    const name = String(one['name']);
    return [
      {
        name,
        kind: name.endsWith('circumference') ? 'girth' : name.endsWith('arc') ? 'arc' : 'span',
        role: one['role'] === 'given' ? 'used' : String(one['role']),
        onFormMm,
        measuredMm,
        uTogetherMm: uMm,
        differenceMm: onFormMm - measuredMm,
        agrees: Math.abs(measuredMm - onFormMm) <= 2 * uMm,
      },
    ];
  });
}

export interface FillTold {
  /** The places that are guessed. */
  readonly patch: readonly string[];
  /** The person may differ by so much, 95 of 100 times: at the worst place, and usually. */
  readonly within95Mm: number;
  readonly usually95Mm: number;
}

/** Of a filled form: what of it is guessed. */
export function filledOf(steps: readonly TicketStep[]): FillTold | undefined {
  const figures = steps.findLast((step) => step.verb === 'fill')?.figures;
  const guess = (figures?.['guess'] ?? {}) as Figures;
  const [within95Mm, usually95Mm] = [figureNumber(guess, 'within95Mm'), figureNumber(guess, 'usually95Mm')];
  if (figures === undefined || within95Mm === undefined || usually95Mm === undefined) return undefined;
  return { patch: words(figures, 'patch'), within95Mm, usually95Mm };
}

export interface GuessedLength {
  readonly name: string;
  readonly onFormMm: number;
  /** The person may differ by so much, 95 of 100 times. */
  readonly within95Mm: number;
  readonly why: string;
}

/** Of a form from readings alone: what nobody read. */
export function guessedOf(steps: readonly TicketStep[]): readonly GuessedLength[] {
  const figures = steps.find((step) => step.verb === 'block')?.figures ?? {};
  return figureRows(figures, 'measures').flatMap((one): GuessedLength[] => {
    const [onFormMm, within95Mm] = [figureNumber(one, 'formMm'), figureNumber(one, 'within95Mm')];
    if (one['role'] !== 'guessed' || onFormMm === undefined || within95Mm === undefined) return [];
    return [{ name: String(one['name']), onFormMm, within95Mm, why: typeof one['why'] === 'string' ? one['why'] : '' }];
  });
}
