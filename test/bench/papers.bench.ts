/** The pictures and pages of a fitting sheet over a form of so many faces, and a measurement sheet of the whole body. */
import { fittingSheet } from '../../electron/papers/fitting-sheet.ts';
import { writePdf } from '../../electron/papers/write-pdf.ts';
import { formPictures } from '../../electron/geometry/picture/form-pictures.ts';
import { onSheet, standingOf } from '../../electron/services/fitting-pictures.ts';
import { measurementPaper } from '../../electron/services/papers.ts';
import { REGION_NAMES } from '../../shared-types/measures/index.ts';
import { benchTask, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const NOTHING_DRAWN = { spans: [], tapes: [] };

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'paper-fitting-sheet',
    sizes: [10_000, 53_000],
    prepare: headOf,
    run: async (mesh) => {
      const pictures = onSheet(formPictures(mesh, NOTHING_DRAWN), standingOf({ steps: [] }), new Map());
      const sheet = { title: 'Bench', under: '', facts: [], pictures, lengths: [], chapters: [], cautions: [] };
      const bytes = await writePdf(fittingSheet(sheet, 'a4'));
      return { bytes: bytes.length };
    },
  }),
  benchTask({
    name: 'paper-measurement-sheets',
    sizes: [1],
    prepare: () => undefined,
    run: async () => {
      const { document } = measurementPaper('a4', REGION_NAMES);
      const bytes = await writePdf(document);
      return { pages: document.pages.length, bytes: bytes.length };
    },
  }),
];
