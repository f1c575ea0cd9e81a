import { fillPreviewSpecification } from '../../../shared-types/operations/fill-preview.ts';
import { done } from '../../../shared-types/outcome.ts';
import { FILL_FORM_PHASES, fillForm } from '../fill.ts';
import type { Operation } from '../operation.ts';

/** The whole work of `fill`: what is shown is what would be made. */
export const fillPreviewOperation: Operation<typeof fillPreviewSpecification> = {
  specification: fillPreviewSpecification,
  phases: FILL_FORM_PHASES,
  run: ([input], parameters, run) => {
    const filled = fillForm(input, parameters, run);
    if (!filled.ok) return filled;
    const { mesh, figures, movedMm, warnings } = filled.value;
    return done({ mesh, figures: { told: figures, movedMm } }, warnings);
  },
};
