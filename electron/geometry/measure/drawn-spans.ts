/** Where each span of a making lies on the form, from its recipe and the way that leads from the scan to the form. Pure. */
import { transformPoint } from '../mesh/transform.ts';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import type { FormRevision } from '../../../shared-types/records/form.ts';
import { checksOf } from '../../../shared-types/step-evidence.ts';

export interface DrawnSpan {
  readonly name: string;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly onFormMm: number;
  /** Does it agree with the hand's reading? */
  readonly agrees: boolean;
}

export function isPoint(value: unknown): value is Vec3 {
  return Array.isArray(value) && value.length === 3 && value.every((one) => Number.isFinite(one));
}

export function isMatrix(value: unknown): value is Matrix4 {
  return Array.isArray(value) && value.length === 16 && value.every((one) => Number.isFinite(one));
}

/** Spans in the form's coordinates, mm; without a way or without points there are none. */
export function drawnSpansOf(revision: Pick<FormRevision, 'recipe' | 'steps'>): readonly DrawnSpan[] {
  const matrix = revision.steps.find((step) => step.verb === 'form')?.figures['matrix'];
  const spans = revision.recipe['spans'];
  if (!isMatrix(matrix) || !Array.isArray(spans)) return [];
  const checks = new Map(checksOf(revision.steps).map((check) => [check.name, check]));
  return spans.flatMap((span: Record<string, unknown>) => {
    const { name, from, to } = span;
    const check = typeof name === 'string' ? checks.get(name) : undefined;
    if (check === undefined || !isPoint(from) || !isPoint(to)) return [];
    return [
      {
        name: check.name,
        from: transformPoint(matrix, from),
        to: transformPoint(matrix, to),
        onFormMm: check.onFormMm,
        agrees: check.agrees,
      },
    ];
  });
}
