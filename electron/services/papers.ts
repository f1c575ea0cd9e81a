/** Every paper that can be asked for, by its kind: composed here, written as PDF by `writePdf`. */
import { fault } from '../../shared-types/faults/index.ts';
import { REGIONS, type RegionName } from '../../shared-types/measures/index.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { PaperDocument, PaperSize } from '../../shared-types/paper.ts';
import type { FormRevision } from '../../shared-types/records/form.ts';
import { captureCard } from '../papers/capture-card.ts';
import { fittingSheet } from '../papers/fitting-sheet.ts';
import { measurementSheet } from '../papers/measurement-sheet.ts';
import { missingLetters, writePdf } from '../papers/write-pdf.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import { byId } from './by-id.ts';
import { fittingSheetOf } from './fitting-paper.ts';
import { picturesOf } from './fitting-pictures.ts';
import type { Making } from './making.ts';

export interface Paper {
  /** With the ending of a PDF. */
  readonly fileName: string;
  readonly document: PaperDocument;
}

/** A paper as PDF, with a warning when a name holds letters that cannot be printed. */
export async function printed({ document }: Paper): Promise<{
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly warnings: readonly Warning[];
}> {
  const bytes = await writePdf(document);
  const missing = missingLetters(document);
  const sentence = `The papers have no letters for "${missing}": they are printed as empty boxes; write them in by hand.`;
  return { bytes, warnings: missing === '' ? [] : [{ code: 'paper.letters', sentence }] };
}

const fileNameOf = (name: string): string => `${name.replace(/[^\p{L}\p{N} ._-]+/gu, '-').trim() || 'paper'}.pdf`;

export function measurementPaper(size: PaperSize, names: readonly RegionName[], wearerName?: string): Paper {
  const regions = names.map((name) => REGIONS[name]);
  const document = measurementSheet({
    regions,
    size,
    ...(wearerName === undefined ? {} : { wearerName }),
  });
  return { fileName: fileNameOf(['measurements', ...names, wearerName ?? ''].join(' ')), document };
}

export const capturePaper = (size: PaperSize): Paper => ({ fileName: 'capture card.pdf', document: captureCard(size) });

/** The fitting sheet of one making of a form; its pictures are drawn in a thread, and can be stopped there. */
export async function fittingPaper(making: Making, revisionId: string, size: PaperSize): Promise<Outcome<Paper>> {
  const { library } = making;
  const revision = byId(library, 'form_revisions', revisionId, 'form');
  if (!revision.ok) return revision;
  const pictures = await picturesOf(making, revision.value);
  if (!pictures.ok) return pictures;
  const sheet = fittingSheetOf(library, revision.value, pictures.value);
  if (!sheet.ok) return sheet;
  return done({ fileName: fileNameOf(`fitting ${sheet.value.title}`), document: fittingSheet(sheet.value, size) });
}

/** The newest making of the form of this name, or of the newest form of the wearer of this name. */
export function findRevision(library: Library, name: string): Outcome<FormRevision> {
  const form = records.findOne(library, 'forms', name);
  if (!form.ok && form.fault.code !== 'store.no-record') return form;
  let formId = form.ok ? form.value.id : undefined;
  if (formId === undefined) {
    const wearer = records.findOne(library, 'wearers', name);
    if (!wearer.ok) {
      const isNone = wearer.fault.code === 'store.no-record';
      return isNone ? failed(fault('store.no-record', { kind: 'form or wearer', id: name })) : wearer;
    }
    formId = records.allOf(library, 'forms', 'WHERE wearer_id = ?', wearer.value.id).at(-1)?.id;
  }
  const revision = formId === undefined ? undefined : records.revisionsOf(library, formId).at(-1);
  return revision === undefined
    ? failed(fault('store.no-record', { kind: 'making of a form of', id: name }))
    : done(revision);
}
