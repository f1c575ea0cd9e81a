/** Forms filled where their scan missed something, kept in a library beside the true form, with the guess told in words. */
import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import type { fillParameters } from '../../shared-types/operations/fill.ts';
import type { Form, FormRevision } from '../../shared-types/records/form.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import { readingSheetOf } from './block-form.ts';
import { byId } from './by-id.ts';
import { asJob, meshInput, type Making } from './making.ts';
import { PROGRAM_VERSION } from './program-version.ts';

type Parameters = z.input<typeof fillParameters>;

/** Also what an unfinished job keeps of itself, so that it can be run again. */
export interface FillWanted extends Omit<Parameters, 'sheet'> {
  readonly revisionId: string;
  readonly name: string;
}

export interface FilledForm {
  readonly form: Form;
  readonly revision: FormRevision;
  readonly figures: Readonly<Record<string, unknown>>;
  readonly mesh: Mesh;
}

/** The making to be filled, its form, and the parameters with the wearer's present readings. */
export function fillTask(library: Library, { revisionId, ...wanted }: Omit<FillWanted, 'name'>) {
  const revision = byId(library, 'form_revisions', revisionId, 'form');
  if (!revision.ok) return revision;
  const form = byId(library, 'forms', revision.value.formId, 'form');
  if (!form.ok) return form;
  const mesh = records.readMeshOf(library, revision.value);
  if (!mesh.ok) return mesh;
  const parameters = { ...wanted, sheet: readingSheetOf(library, form.value.wearerId) };
  return done({
    revision: revision.value,
    form: form.value,
    input: meshInput(mesh.value, form.value.name),
    parameters,
  });
}

/** Whether the newest making of a form came of filling. */
function isFilled(library: Library, formId: string): boolean {
  const makings = records.allOf(library, 'form_revisions', 'WHERE form_id = ?', formId);
  return makings.toSorted((a, b) => b.revision - a.revision)[0]?.recipe['fill'] !== undefined;
}

/** Fill one making of a form and keep the result as a form of its own; the true form stays as it is. */
export async function makeFilledForm(making: Making, wanted: FillWanted): Promise<Outcome<FilledForm>> {
  const { library } = making;
  const { name, ...rest } = wanted;
  const task = fillTask(library, rest);
  if (!task.ok) return task;
  const { revision: source, form, input, parameters } = task.value;
  const { wearerId } = form;
  const sameName = records.allOf(library, 'forms', 'WHERE wearer_id = ?', wearerId).filter((one) => one.name === name);
  const again = sameName.find(({ id }) => isFilled(library, id));
  if (again === undefined && sameName.length > 0) {
    // A guess is never laid over a form that is none.
    const reason = `There is a form "${name}" already that was not made by filling; give the filled one another name.`;
    return failed(fault('job.usage', { reason }));
  }
  const job = { verb: 'fill', request: { ...wanted }, wearerId };
  return asJob(making, job, [input], parameters, ({ mesh, figures }) => {
    const of = { name: form.name, making: source.revision, revisionId: source.id };
    const made = records.addFormRevision(library, {
      wearerId,
      name,
      scanId: source.scanId,
      recipe: { ...source.recipe, fill: { ...parameters, of } },
      steps: [...source.steps, { verb: 'fill', parameters, figures: { ...figures, of, matrix: IDENTITY } }],
      programVersion: PROGRAM_VERSION,
      mesh,
      ...(again === undefined ? {} : { formId: again.id }),
    });
    return made.ok ? done({ ...made.value, figures, mesh }) : made;
  });
}
