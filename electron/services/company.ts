/**
 * Every part against every wearer: how much room it leaves at best, and how much it would have to grow. Each pair is
 * tried once and kept as a trial; it is tried again once the part, the form, the room wanted or the method has changed,
 * or the way the part is worn by more than a trial turns and shifts it anyway. A part is worn the way it was placed last in a
 * fitting, or as its file has it: upright in the form's frame.
 */
import { z } from 'zod';
import { COMPANY_LIMITS, type CompanyCell } from '../../shared-types/calls/fittings.ts';
import { some } from '../../shared-types/counts.ts';
import { fault, faultSentence, type Fault } from '../../shared-types/faults/index.ts';
import { companyPairSpecification } from '../../shared-types/operations/desk-fit.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Matrix4 } from '../../shared-types/mesh.ts';
import type { Part } from '../../shared-types/records/project.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { determinant3, invert, multiply } from '../geometry/mesh/transform.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import type { RecordOf } from '../store/tables.ts';
import { draftOf } from './fitting.ts';
import { formInput } from './make.ts';
import { tellingKept } from './kept.ts';
import type { Making } from './making.ts';
import { partInput, partState } from './part-ready.ts';

export interface CompanyForm {
  readonly id: string;
  readonly name: string;
  readonly wearerName: string;
  readonly revisionId: string;
}

export interface Company {
  readonly forms: readonly CompanyForm[];
  readonly parts: readonly Part[];
  readonly cells: readonly CompanyCell[];
}

/** The forms and parts of a project, or all of the library, made at least once. */
function gathered(library: Library, projectId: string | undefined): Pick<Company, 'forms' | 'parts'> {
  const used =
    projectId === undefined
      ? undefined
      : new Set(records.allOf(library, 'project_forms', 'WHERE project_id = ?', projectId).map((one) => one.formId));
  const wearers = new Map(records.allOf(library, 'wearers').map(({ id, name }) => [id, name]));
  const forms = records.allOf(library, 'forms').flatMap((form) => {
    const newest = records.revisionsOf(library, form.id).at(-1);
    if (newest === undefined || (used !== undefined && !used.has(form.id))) return [];
    return [{ id: form.id, name: form.name, wearerName: wearers.get(form.wearerId) ?? '', revisionId: newest.id }];
  });
  const fitted =
    projectId === undefined
      ? undefined
      : new Set(records.allOf(library, 'fittings', 'WHERE project_id = ?', projectId).map(({ partId }) => partId));
  const parts = records
    .allOf(library, 'parts')
    .filter((part) => projectId === undefined || part.projectId === projectId || fitted?.has(part.id) === true);
  return { forms, parts };
}

type Trial = RecordOf<'trials'>;
const pairOf = (partId: string, revisionId: string): string => `${partId} ${revisionId}`;

/** The method of trying; one higher whenever pairs come out otherwise than before. Trials of another are outdated. */
const METHOD = 2;

/** What a trial of the company says; a bundle may bring anything. */
const companyTrialSchema = z.object({
  leastEaseMm: z.number().optional(),
  meanEaseMm: z.number().optional(),
  company: z.object({
    method: z.literal(METHOD),
    roomMm: z.number(),
    /** Scale at which that room would be there; null where it could not be reached. */
    scale: z.number().nullable(),
    sentence: z.string().nullable(),
    /** The way the part was worn when the trial began. */
    from: z.array(z.number()).length(16),
  }),
});
type CompanyTrial = z.infer<typeof companyTrialSchema> & { readonly trialId: string };
type CompanyFigures = CompanyTrial['company'];

/** Newest company trial of every pair that is still about the part and form as they are. */
function standing(library: Library, parts: readonly Part[]): Map<string, CompanyTrial> {
  const states = new Map(parts.map((part) => [part.id, partState(part)]));
  const ways = new Map(parts.map(({ id }) => [id, wayUp(library, id)]));
  const found = new Map<string, CompanyTrial>();
  for (const trial of records.allOf(library, 'trials')) {
    const known = companyTrialSchema.safeParse(trial.figures);
    const way = ways.get(trial.partId);
    if (!known.success || way === undefined || !isWithinReach(known.data.company.from, way)) continue;
    if (trial.figures['partState'] !== states.get(trial.partId)) continue;
    found.set(pairOf(trial.partId, trial.formRevisionId), { ...known.data, trialId: trial.id });
  }
  return found;
}

/** What is known of every pair, for the room wanted. O(trials + pairs). */
export function companyOf(library: Library, projectId: string | undefined, roomMm: number): Company {
  const { forms, parts } = gathered(library, projectId);
  const trials = standing(library, parts);
  const ever = triedEver(library);
  const cells = parts.flatMap((part) =>
    forms.map((form) => {
      const cell = cellOf(part, form, trials.get(pairOf(part.id, form.revisionId)), roomMm);
      const isOutdated = cell.trialId === undefined && ever.has(pairOf(part.id, form.id));
      return isOutdated ? { ...cell, outdated: true } : cell;
    }),
  );
  return { forms, parts, cells };
}

/** Pairs of part and form that were tried at any time, whatever they were then. */
function triedEver(library: Library): ReadonlySet<string> {
  const formOf = new Map(records.allOf(library, 'form_revisions').map(({ id, formId }) => [id, formId]));
  const trials = records.allOf(library, 'trials').filter(({ figures }) => figures['company'] !== undefined);
  return new Set(trials.map(({ partId, formRevisionId }) => pairOf(partId, formOf.get(formRevisionId) ?? '')));
}

function cellOf(part: Part, form: CompanyForm, trial: CompanyTrial | undefined, roomMm: number): CompanyCell {
  const pair = { partId: part.id, formId: form.id };
  if (trial === undefined) return pair;
  const { trialId, company: known, leastEaseMm, meanEaseMm } = trial;
  if (known.sentence !== null) return { ...pair, trialId, sentence: known.sentence };
  if (leastEaseMm === undefined || meanEaseMm === undefined) return pair;
  const goesOn = leastEaseMm >= roomMm;
  const scale = goesOn ? 1 : known.roomMm === roomMm ? known.scale : undefined;
  // The scale for another room than the one it was tried for is not known yet.
  if (scale === undefined) return pair;
  return {
    ...pair,
    trialId,
    leastEaseMm,
    meanEaseMm,
    goesOn,
    paddingMm: Math.max(0, leastEaseMm),
    ...(scale === null ? {} : { scale }),
  };
}

/** The way a part is worn: as it was placed last in a fitting, else as its file has it. */
function wayUp(library: Library, partId: string): readonly number[] {
  const placed = records.allOf(library, 'fittings', 'WHERE part_id = ?', partId).map((one) => draftOf(one).placement);
  return placed.findLast((placement) => placement !== undefined) ?? IDENTITY;
}

/** Whether a trial begun from one way of wearing a part looked where the other would begin. */
function isWithinReach(from: readonly number[], now: readonly number[]): boolean {
  if (from.every((entry, k) => entry === now[k])) return true;
  const [a, b] = [from, now].map((matrix) => matrix as unknown as Matrix4);
  if (determinant3(a) === 0) return false;
  const between = multiply(b, invert(a));
  const size = Math.cbrt(Math.abs(determinant3(between)));
  const turn = Math.acos(Math.min(1, (between[0] + between[5] + between[10] - size) / (2 * size)));
  const shiftMm = Math.hypot(between[3], between[7], between[11]);
  return (
    determinant3(between) > 0 &&
    turn <= (COMPANY_LIMITS.limitTiltDegrees * Math.PI) / 180 &&
    shiftMm <= COMPANY_LIMITS.limitShiftMm
  );
}

/**
 * Try every pair that is not known yet, in the background; what is done stays done when it is stopped. `onKept` hears of
 * each.
 */
export async function runCompany(
  making: Making,
  projectId: string | undefined,
  roomMm: number,
  onKept?: () => void,
): Promise<Outcome<{ readonly tried: number }>> {
  const { library, watch } = making;
  const { forms, parts, cells } = companyOf(library, projectId, roomMm);
  const waiting = cells.filter(({ trialId }) => trialId === undefined);
  let [ended, tried] = [0, 0];
  let trouble: Outcome<never> | undefined;
  const workers = Array.from({ length: making.pool.threads }, async () => {
    for (let cell = waiting.shift(); cell !== undefined && trouble === undefined; cell = waiting.shift()) {
      const { partId, formId } = cell;
      const part = parts.find(({ id }) => id === partId) as Part;
      const form = forms.find(({ id }) => id === formId) as CompanyForm;
      const kept = await tryPair(making, part, form, roomMm);
      if (kept.ok) {
        tried++;
        onKept?.();
      } else trouble ??= kept;
      ended++;
      watch?.progress?.(ended / (ended + waiting.length + 1), `${part.name} on ${form.wearerName}`);
    }
  });
  await Promise.all(workers);
  const ran = watch?.signal?.aborted === true ? failed<{ tried: number }>(fault('job.cancelled', {})) : trouble;
  return tellingKept(
    ran ?? done({ tried }),
    tried === 0 ? undefined : `${some(tried, 'tried pair')} ${tried === 1 ? 'is' : 'are'}`,
  );
}

async function tryPair(making: Making, part: Part, form: CompanyForm, roomMm: number): Promise<Outcome<Trial>> {
  const { library, pool, watch } = making;
  const from = wayUp(library, part.id);
  // The part may have been sized anew since the table was asked for; from here to the keeping its state is this one.
  const [now = part] = records.allOf(library, 'parts', 'WHERE id = ?', part.id);
  const body = formInput(library, form.revisionId);
  if (!body.ok) return body;
  const { signal } = watch ?? {};
  const stop = signal === undefined ? {} : { signal };
  const keep = (
    placement: readonly number[],
    figures: Record<string, unknown>,
    company: Omit<CompanyFigures, 'method' | 'roomMm' | 'from'>,
  ): Outcome<Trial> =>
    records.addTrial(library, {
      partId: part.id,
      formRevisionId: form.revisionId,
      placement: [...placement],
      figures: { ...figures, company: { ...company, method: METHOD, roomMm, from }, partState: partState(now) },
    });
  const failing = (trouble: Fault): Outcome<Trial> =>
    isOfThePair(trouble) ? keep(from, {}, { scale: null, sentence: faultSentence(trouble) }) : failed(trouble);
  const worn = partInput(library, part.id);
  if (!worn.ok) return failing(worn.fault);
  // Without a size every figure would be about some other part.
  if (now.madeSha256 === undefined && !('unit' in worn.value && worn.value.unit !== undefined)) {
    return keep(from, {}, { scale: null, sentence: SIZE_UNKNOWN });
  }
  const order = {
    verb: 'company-pair',
    inputs: [worn.value, body.value],
    parameters: { ...COMPANY_LIMITS, from, roomMm },
  };
  const tried = await pool.run(order, stop);
  if (!tried.ok) return failing(tried.fault);
  const { placement, scale, ...ease } = companyPairSpecification.figures.parse(tried.value.figures);
  return keep(placement, ease, { scale, sentence: null });
}

const SIZE_UNKNOWN =
  'Its true size is not known; open the part in the studio and give it one known length or its unit, or bring it in with --known or --unit.';

/** Troubles of the program or the library say nothing about the pair: it stays untried, and the run ends. */
const isOfThePair = ({ code }: Fault): boolean =>
  !/^(job|store)\./.test(code) || ['job.usage', 'job.out-of-memory', 'store.damaged-blob'].includes(code);

/** The table as CSV (RFC 4180): one line for each pair. */
export function companyCsv({ forms, parts, cells }: Company): string {
  const quoted = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const number = (value: number | undefined, digits: number): string => value?.toFixed(digits) ?? '';
  const lines = cells.map((cell) => {
    const part = parts.find(({ id }) => id === cell.partId);
    const form = forms.find(({ id }) => id === cell.formId);
    const goesOn = cell.goesOn === undefined ? '' : cell.goesOn ? 'yes' : 'no';
    return [
      quoted(part?.name ?? ''),
      quoted(form?.wearerName ?? ''),
      quoted(form?.name ?? ''),
      goesOn,
      number(cell.leastEaseMm, 1),
      number(cell.meanEaseMm, 1),
      number(cell.paddingMm, 1),
      number(cell.scale === undefined ? undefined : 100 * cell.scale, 1),
      quoted(
        cell.sentence ?? (cell.outdated === true ? 'outdated' : cell.trialId === undefined ? 'not tried yet' : ''),
      ),
    ].join(',');
  });
  const head = 'part,wearer,form,goes on,least ease mm,mean ease mm,room for padding mm,scale %,remark';
  return `${[head, ...lines].join('\r\n')}\r\n`;
}
