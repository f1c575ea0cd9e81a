import { formPicturesSpecification } from '../../../shared-types/operations/desk-pictures.ts';
import { done } from '../../../shared-types/outcome.ts';
import { drawnSpansOf } from '../../geometry/measure/drawn-spans.ts';
import { drawnTapesOf } from '../../geometry/measure/drawn-tapes.ts';
import { formPictures } from '../../geometry/picture/form-pictures.ts';
import type { Operation } from '../operation.ts';

export const formPicturesOperation: Operation<typeof formPicturesSpecification> = {
  specification: formPicturesSpecification,
  phases: { tapes: 0.3, draw: 0.7 },
  run: ([form], revision, run) => {
    const spans = drawnSpansOf(revision);
    const tapes = drawnTapesOf(revision, form.mesh, () => run.step('tapes', 0.5, 1));
    run.step('tapes', 1, 1);
    const pictures = formPictures(form.mesh, { spans, tapes }, () => run.step('draw', 0.5, 1));
    return done({ figures: { pictures } });
  },
};
