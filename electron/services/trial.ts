/** A part tried on forms: where it was put, and the gap that it leaves. */
import { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { easeOf } from '../geometry/fit/ease.ts';
import { invert, multiply, transformMesh } from '../geometry/mesh/transform.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import type { RecordOf } from '../store/tables.ts';
import { partInput, partState, placementNow, troubleOfPlacement } from './part-ready.ts';

export type Trial = RecordOf<'trials'>;

/**
 * Keep that a part was tried on the newest making of a form. `placement` leads from the part as the library gives it
 * (in true millimetres once it is made ready, until then as its file has it) to the form; without `figures` the gap is
 * measured here.
 */
export function tryPart(
  library: Library,
  tried: { partId: string; formId: string; placement: Matrix4; figures?: Record<string, unknown> },
): Outcome<Trial> {
  const { partId, formId, placement } = tried;
  const part = records.findOne(library, 'parts', partId);
  if (!part.ok) return part;
  const revision = records.revisionsOf(library, formId).at(-1);
  if (revision === undefined) return failed(fault('store.no-record', { kind: 'form', id: formId }));
  const trouble = troubleOfPlacement(part.value, placement);
  if (trouble !== undefined) return failed(trouble);
  let { figures } = tried;
  if (figures === undefined) {
    const worn = partInput(library, part.value.id);
    if (!worn.ok) return worn;
    const form = records.readMeshOf(library, revision);
    if (!form.ok) return form;
    const placed = transformMesh(multiply(placement, invert(worn.value.fromFile)), worn.value.mesh);
    figures = { ...easeOf(placed, form.value) };
  }
  return records.addTrial(library, {
    partId: part.value.id,
    formRevisionId: revision.id,
    placement: [...placement],
    figures: { ...figures, partState: partState(part.value) },
  });
}

const matrixSchema = z.array(z.number()).length(16);
const placementSchema = z.union([
  matrixSchema,
  z.object({ placement: matrixSchema }),
  z.object({ matrix: matrixSchema }),
]);

/** A placement as a person or another verb wrote it: 16 numbers, alone or under "placement" or "matrix". */
export function placementOf(raw: unknown): Outcome<Matrix4> {
  const parsed = placementSchema.safeParse(raw);
  if (!parsed.success) return failed(fault('job.usage', { reason: 'A placement is 16 numbers, row by row.' }));
  const { data } = parsed;
  return done(Array.isArray(data) ? data : 'placement' in data ? data.placement : data.matrix);
}

/** What trials are asked for by a name: a part, a form or a wearer, in that order. */
export function findTried(
  library: Library,
  text: string,
): Outcome<{ readonly partId?: string; readonly formId?: string; readonly wearerId?: string }> {
  for (const [table, key] of [
    ['parts', 'partId'],
    ['forms', 'formId'],
    ['wearers', 'wearerId'],
  ] as const) {
    const found = records.findOne(library, table, text);
    if (found.ok) return done({ [key]: found.value.id });
    if (found.fault.code !== 'store.no-record') return found;
  }
  return failed(fault('store.no-record', { kind: 'part, form or wearer', id: text }));
}

export interface ListedTrial {
  readonly id: string;
  readonly part: string;
  readonly wearer: string;
  readonly form: string;
  readonly revision: number;
  /** A newer making of the form is there, or the part has another size since: try again. */
  readonly outdated: boolean;
  readonly on: string;
  /** From the part as it is now; absent where that cannot be told. */
  readonly placement?: readonly number[];
  readonly figures: Readonly<Record<string, unknown>>;
}

/** Every trial of a part, or on a form, or of a wearer; oldest first. O(trials). */
export function trialsOf(
  library: Library,
  of: { readonly partId?: string; readonly formId?: string; readonly wearerId?: string },
): ListedTrial[] {
  const parts = new Map(records.allOf(library, 'parts').map((part) => [part.id, part]));
  const wearers = new Map(records.allOf(library, 'wearers').map((wearer) => [wearer.id, wearer.name]));
  const forms = new Map(records.allOf(library, 'forms').map((form) => [form.id, form]));
  const newest = new Map<string, number>();
  const revisions = new Map<string, { formId: string; revision: number }>();
  const rows = library.db.prepare('SELECT id, form_id AS formId, revision FROM form_revisions').all() as {
    id: string;
    formId: string;
    revision: number;
  }[];
  for (const row of rows) {
    revisions.set(row.id, row);
    newest.set(row.formId, Math.max(row.revision, newest.get(row.formId) ?? 0));
  }
  return records.allOf(library, 'trials').flatMap((trial) => {
    const { formId, revision } = revisions.get(trial.formRevisionId) ?? { formId: '', revision: 0 };
    const form = forms.get(formId);
    const part = parts.get(trial.partId);
    if (form === undefined || part === undefined) return [];
    if (of.partId !== undefined && of.partId !== trial.partId) return [];
    if (of.formId !== undefined && of.formId !== formId) return [];
    if (of.wearerId !== undefined && of.wearerId !== form.wearerId) return [];
    const placement = placementNow(library, part, trial);
    const then = trial.figures['partState'];
    return [
      {
        id: trial.id,
        part: part.name,
        wearer: wearers.get(form.wearerId) ?? '',
        form: form.name,
        revision,
        outdated: revision < (newest.get(formId) ?? revision) || (then !== undefined && then !== partState(part)),
        on: trial.createdAt,
        ...(placement.ok ? { placement: placement.value } : {}),
        figures: trial.figures,
      },
    ];
  });
}
