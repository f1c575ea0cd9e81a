/** Forms from readings alone, kept in a library: their source is the sheet of readings itself, kept byte for byte. */
import { done, type Outcome } from '../../shared-types/outcome.ts';
import type { ReadingSheet } from '../../shared-types/operations/block.ts';
import type { Form, FormRevision } from '../../shared-types/records/form.ts';
import type { Scan } from '../../shared-types/records/scan.ts';
import { measureKind } from '../../shared-types/measures/index.ts';
import { sureKindOf } from '../../shared-types/usual-uncertainty.ts';
import type { SurveyChoice } from '../../shared-types/survey.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { packBlobLater } from '../store/blobs.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import { usualUncertainty } from '../store/usual-records.ts';
import { asJob, type Making } from './making.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import { readingsToCsv } from './readings-csv.ts';

/** A wearer's present sheet as the verb `block` takes it. */
export function readingSheetOf(library: Library, wearerId: string): ReadingSheet {
  const usual = usualUncertainty(library);
  return {
    readings: records.sheetOf(library, wearerId).map(({ name, kind, valueMm, uncertaintyMm }) => ({
      name,
      measured: valueMm,
      u: uncertaintyMm ?? usual[sureKindOf(kind, measureKind(name))],
    })),
  };
}

/** Also what an unfinished job keeps of itself, so that it can be run again. */
export interface BlockWanted {
  readonly wearerId: string;
  readonly name: string;
  readonly formId?: string;
  readonly survey?: SurveyChoice;
  readonly faces?: number;
  readonly all?: boolean;
}

export interface BlockedForm {
  readonly form: Form;
  readonly revision: FormRevision;
  readonly source: Scan;
  readonly figures: Readonly<Record<string, unknown>>;
  readonly mesh: Mesh;
}

/** Make a form from the wearer's present sheet of readings and keep it, with the sheet as it was. */
export async function makeBlockedForm(making: Making, wanted: BlockWanted): Promise<Outcome<BlockedForm>> {
  const { library } = making;
  const { wearerId, name, formId, survey, faces, all } = wanted;
  const sheet = readingSheetOf(library, wearerId);
  const blob = await packBlobLater(new TextEncoder().encode(readingsToCsv(records.sheetOf(library, wearerId))));
  const parameters = {
    sheet,
    ...(survey === undefined ? {} : { survey }),
    ...(faces === undefined ? {} : { faces }),
    ...(all === undefined ? {} : { all }),
  };
  const job = { verb: 'block', request: { ...wanted }, wearerId };
  return asJob(making, job, [], parameters, ({ mesh, figures }) => {
    // Kept only now: a sheet from which nothing came of it is no source of anything.
    const source = records.addPackedScan(library, { wearerId, fileName: 'measurements.csv', blob, kind: 'sheet' });
    if (!source.ok) return source;
    const made = records.addFormRevision(library, {
      wearerId,
      name,
      scanId: source.value.id,
      recipe: { block: parameters },
      steps: [{ verb: 'block', parameters, figures: { ...figures, matrix: IDENTITY } }],
      programVersion: PROGRAM_VERSION,
      mesh,
      ...(formId === undefined ? {} : { formId }),
    });
    return made.ok ? done({ ...made.value, source: source.value, figures, mesh }) : made;
  });
}
