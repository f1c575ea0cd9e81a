/** Parts made ready and tried on forms, in a library. */
import type { z } from 'zod';
import { fittingDraftSchema, type FittingDraft, type Tried } from '../../shared-types/calls/fittings.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { fitFigures } from '../../shared-types/operations/fit.ts';
import { sightFigures } from '../../shared-types/operations/sight.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Fitting } from '../../shared-types/records/making.ts';
import type { Part } from '../../shared-types/records/project.ts';
import { editFitting, finishPart } from '../store/making-records.ts';
import * as records from '../store/records.ts';
import type { Library } from '../store/connection.ts';
import type { RecordOf } from '../store/tables.ts';
import { byId } from './by-id.ts';
import { formInput } from './make.ts';
import { shareOf, type Making } from './making.ts';
import { partInput, partState, placementNow } from './part-ready.ts';

type Trial = RecordOf<'trials'>;

/** What was decided; a draft written by another version of the program, which this one cannot read, counts as none. */
export function draftOf(fitting: Fitting): FittingDraft {
  const kept = fittingDraftSchema.safeParse(fitting.draft);
  return kept.success ? kept.data : fittingDraftSchema.parse({});
}

/** Give a part its true size; the sized mesh is kept beside the file it came in. */
export async function sizePart(
  making: Making,
  part: Part,
  recipe: Record<string, unknown>,
): Promise<Outcome<{ figures: Readonly<Record<string, unknown>> }>> {
  const { library } = making;
  const bytes = records.readOriginal(library, part);
  if (!bytes.ok) return bytes;
  const sized = await sizeFile(making, { bytes: bytes.value, name: part.fileName }, recipe);
  if (!sized.ok) return sized;
  const kept = finishPart(library, part.id, { recipe, ...sized.value });
  return kept.ok ? done({ figures: sized.value.figures }, sized.warnings) : kept;
}

/** A part kept in its true size from the start, as one change: without its size it is not kept at all. */
export async function addSizedPart(
  making: Making,
  part: Omit<Parameters<typeof records.addPart>[1], 'recipe' | 'figures' | 'mesh'>,
  recipe: Record<string, unknown>,
): Promise<Outcome<Part>> {
  const sized = await sizeFile(making, { bytes: part.bytes, name: part.fileName }, recipe);
  if (!sized.ok) return sized;
  const kept = records.addPart(making.library, { ...part, recipe, ...sized.value });
  return kept.ok ? done(kept.value, sized.warnings) : kept;
}

async function sizeFile(
  { pool, watch }: Making,
  file: { readonly bytes: Uint8Array; readonly name: string },
  recipe: Record<string, unknown>,
): Promise<Outcome<{ mesh: Mesh; figures: Record<string, unknown> }>> {
  const outcome = await pool.run({ verb: 'part', inputs: [file], parameters: recipe }, watch);
  if (!outcome.ok) return outcome;
  const { mesh, figures } = outcome.value;
  if (mesh === undefined) throw new Error('part made no mesh');
  return done({ mesh, figures: { ...figures } }, outcome.warnings);
}

export interface WantedTrial {
  readonly solve?: 'place' | 'scale' | undefined;
  readonly donning: boolean;
  readonly sight: boolean;
  /** With sight: what to find room for inside. */
  readonly thing?:
    | { readonly sizeMm: readonly number[]; readonly within: string; readonly clearanceMm: number }
    | undefined;
}

/** Share of a trial's progress that the fit takes when sight comes after it. */
const FIT_SHARE = 0.75;

/** Where a trial leaves the part at the size it has: a size that was solved for is told, and not worn. */
function placeAtOwnSize(figures: Readonly<Record<string, unknown>>, placement: readonly number[]): readonly number[] {
  const own = fitFigures.shape.ownSize.safeParse(figures['ownSize']);
  return (own.success ? own.data?.placement : undefined) ?? placement;
}

/** Try a fitting's part on the newest making of its form; keeps the trial, and a solved placement as the decision. */
export async function tryFitting(making: Making, fitting: Fitting, wanted: WantedTrial): Promise<Outcome<Trial>> {
  const { library, pool, watch } = making;
  const ready = readyFor(library, fitting);
  if (!ready.ok) return ready;
  const { part, revisionId, inputs } = ready.value;
  const draft = draftOf(fitting);
  const { placement, found, leastMm, ...rest } = draft;
  const isFound = found !== undefined && placement?.every((entry, k) => entry === found.to[k]) === true;
  const start = wanted.solve !== undefined && isFound ? found.from : placement;
  const parameters = {
    ...rest,
    leastMm,
    ...(start === undefined ? {} : { place: { matrix: start } }),
    ...(wanted.solve === undefined ? {} : { solve: wanted.solve }),
    donning: wanted.donning,
  };
  const fitWatch = wanted.sight ? shareOf(watch, 0, FIT_SHARE) : (watch ?? {});
  const outcome = await pool.run({ verb: 'fit', inputs, parameters }, fitWatch);
  if (!outcome.ok) return outcome;
  const fit = fitFigures.parse(outcome.value.figures);
  const warnings = [...outcome.warnings];
  let sight: Readonly<Record<string, unknown>> | undefined;
  if (wanted.sight) {
    const { sizeMm, ...where } = wanted.thing ?? {};
    const looking = {
      placement: { placement: fit.placement },
      ...(sizeMm === undefined ? {} : { thing: sizeMm, ...where }),
    };
    const order = { verb: 'sight', inputs, parameters: looking };
    const seen = await pool.run(order, shareOf(watch, FIT_SHARE, 1));
    if (!seen.ok) return seen;
    sight = seen.value.figures;
    warnings.push(...seen.warnings);
  }
  const place = placeAtOwnSize(fit, fit.placement);
  const before = stillTrue(newestTrial(library, fitting), { part, revisionId, fit, place });
  const figures = { ...fit, ...before, ...(fit.donning === null ? {} : { donning: fit.donning }) };
  const trial = records.addTrial(library, {
    partId: part.id,
    formRevisionId: revisionId,
    placement: fit.placement,
    figures: { ...figures, ...(sight === undefined ? {} : { sight }), partState: partState(part) },
  });
  if (!trial.ok) return trial;
  if (wanted.solve !== undefined || placement === undefined) {
    // Whatever was decided meanwhile stays decided.
    const [now = fitting] = records.allOf(library, 'fittings', 'WHERE id = ?', fitting.id);
    const { found: _before, ...decided } = draftOf(now);
    const ends =
      wanted.solve === undefined ? {} : { found: { ...(start === undefined ? {} : { from: start }), to: [...place] } };
    const placed = { ...decided, placement: [...place], ...ends };
    const kept = editFitting(library, fitting.id, { draft: placed }, 'place the part');
    if (!kept.ok) return kept;
  }
  return done(trial.value, warnings);
}

/** What an earlier trial found of sight and of the way on and off, where part, form, place and room wanted are the same. */
function stillTrue(
  earlier: Trial | undefined,
  now: {
    readonly part: Part;
    readonly revisionId: string;
    readonly fit: z.output<typeof fitFigures>;
    readonly place: readonly number[];
  },
): Readonly<Record<string, unknown>> {
  const { part, revisionId, fit, place } = now;
  if (earlier?.formRevisionId !== revisionId || earlier.figures['partState'] !== partState(part)) return {};
  if (earlier.placement.some((entry, k) => entry !== place[k])) return {};
  const { sight, donning, neededMm } = earlier.figures;
  return {
    ...(sight === undefined ? {} : { sight }),
    ...(donning === undefined || neededMm !== fit.neededMm ? {} : { donning }),
  };
}

/** The gap at every vertex as the part lies by its newest trial, or by the decision before there is one. */
export async function easeOfFitting(making: Making, fitting: Fitting) {
  const { library, pool, watch } = making;
  const ready = readyFor(library, fitting);
  if (!ready.ok) return ready;
  const placement = draftOf(fitting).placement ?? newestTrial(library, fitting)?.placement;
  if (placement === undefined) {
    return failed(fault('job.usage', { reason: 'The part has no place on the form yet; try it on first.' }));
  }
  return pool.run({ verb: 'ease-map', inputs: ready.value.inputs, parameters: { placement } }, watch);
}

function readyFor(library: Library, fitting: Fitting) {
  const [part] = records.allOf(library, 'parts', 'WHERE id = ?', fitting.partId);
  if (part === undefined)
    return failed(fault('store.no-record', { kind: 'part', id: fitting.partId ?? 'of this fitting' }));
  const revision = records.revisionsOf(library, fitting.formId).at(-1);
  if (revision === undefined)
    return failed(fault('store.no-record', { kind: 'making of the form', id: fitting.formId }));
  const worn = partInput(library, part.id);
  if (!worn.ok) return worn;
  const form = formInput(library, revision.id);
  if (!form.ok) return form;
  return done({ part, revisionId: revision.id, inputs: [worn.value, form.value] });
}

/** How a part is worn on a form: as decided in their newest fitting, else as it was tried last. */
export function wornPlacement(library: Library, partId: string, formId: string): readonly number[] | undefined {
  return fittingOf(library, partId, formId)?.placement ?? newestTrial(library, { partId, formId })?.placement;
}

/** The newest fitting of a part on a form, and the place decided there. */
export function fittingOf(library: Library, partId: string, formId: string) {
  const fitting = records
    .allOf(library, 'fittings', 'WHERE part_id = ?', partId)
    .findLast((one) => one.formId === formId);
  return fitting === undefined ? undefined : { fitting, placement: draftOf(fitting).placement };
}

/**
 * The newest trial of a fitting's part on any making of its form, its placement from the part as it is now; those of
 * the company's table do not count.
 */
export function newestTrial(
  library: Library,
  { partId, formId }: Pick<Fitting, 'partId' | 'formId'>,
): Trial | undefined {
  if (partId === undefined) return undefined;
  const revisions = new Set(records.revisionsOf(library, formId).map(({ id }) => id));
  const trial = records
    .allOf(library, 'trials', 'WHERE part_id = ?', partId)
    .findLast((one) => revisions.has(one.formRevisionId) && one.figures['company'] === undefined);
  const part = byId(library, 'parts', partId, 'part');
  if (trial === undefined || !part.ok) return undefined;
  const place = placeAtOwnSize(trial.figures, trial.placement);
  const placement = placementNow(library, part.value, { ...trial, placement: [...place] });
  return placement.ok ? { ...trial, placement: [...placement.value] } : undefined;
}

/** A trial as the screens read it: figures that are not of this program's verbs are left out. */
export function triedOf(library: Library, fitting: Fitting): Tried | undefined {
  const trial = newestTrial(library, fitting);
  if (trial === undefined) return undefined;
  const fit = fitFigures.safeParse(trial.figures);
  const sight = sightFigures.safeParse(trial.figures['sight']);
  const [part] = records.allOf(library, 'parts', 'WHERE id = ?', fitting.partId);
  const newest = records.revisionsOf(library, fitting.formId).at(-1);
  return {
    trialId: trial.id,
    on: trial.createdAt,
    placement: [...trial.placement],
    ...(fit.success ? { fit: fit.data } : {}),
    ...(sight.success ? { sight: sight.data } : {}),
    outdated:
      trial.formRevisionId !== newest?.id || (part !== undefined && trial.figures['partState'] !== partState(part)),
  };
}
