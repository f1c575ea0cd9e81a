/** Work of a library that was cut off, done once more from what it was asked. */
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Making as MakingRecord } from '../../shared-types/records/making.ts';
import * as records from '../store/records.ts';
import { makeBlockedForm, type BlockWanted } from './block-form.ts';
import { makeFilledForm, type FillWanted } from './fill-form.ts';
import { given } from './given.ts';
import { makeThings } from './make.ts';
import { makeForm, makeLiner, type Making } from './making.ts';

/**
 * Run a job that a crash, a fault or a stop cut off once more, from what it was asked; or make what was cut or printed
 * once more, by the decisions it was made by. A new job or making is made of it.
 */
export async function runAgain(
  making: Making,
  jobId: string,
): Promise<Outcome<{ readonly figures: Readonly<Record<string, unknown>> }>> {
  const { library } = making;
  const older = records.allOf(library, 'makings', 'WHERE id = ?', jobId)[0];
  if (older !== undefined) return makeAgain(making, older);
  const job = records.allOf(library, 'jobs', 'WHERE id = ?', jobId)[0];
  if (job === undefined || job.state === 'running' || job.state === 'done') {
    return failed(fault('store.no-record', { kind: 'unfinished job or making', id: jobId }));
  }
  if (job.verb === 'line') return makeLiner(making, job.request as unknown as Parameters<typeof makeLiner>[1]);
  if (job.verb === 'fill') return makeFilledForm(making, job.request as unknown as FillWanted);
  if (job.verb === 'block') return makeBlockedForm(making, job.request as unknown as BlockWanted);
  const { scanId, recipe, formId, name } = job.request as Record<string, string>;
  const scan = records.allOf(library, 'scans', 'WHERE id = ?', scanId)[0];
  if (scan === undefined) return failed(fault('store.no-record', { kind: 'scan', id: scanId }));
  const bytes = records.readOriginal(library, scan);
  if (!bytes.ok) return bytes;
  const { wearerId, fileName } = scan;
  const wanted = { wearerId, name, fileName, bytes: bytes.value, recipe };
  return makeForm(making, formId === undefined ? wanted : { ...wanted, formId });
}

async function makeAgain(making: Making, older: MakingRecord): ReturnType<typeof runAgain> {
  const { kind, name, parameters, projectId, fittingId, formRevisionId, linerId, partId } = older;
  if (kind === 'paper' || Object.keys(parameters).length === 0) {
    const reason = `${name} was not made by decisions that are kept with it; make it anew.`;
    return failed(fault('job.usage', { reason }));
  }
  const source = { projectId, fittingId, formRevisionId, linerId, partId };
  const made = await makeThings(making, { kind, name, source: given(source), parameters });
  if (!made.ok) return made;
  return done({ figures: { making: made.value.making.id, ...made.value.making.figures } }, made.warnings);
}
