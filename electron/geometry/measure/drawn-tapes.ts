/** Where the tape of each girth of a making lies on the form. Pure. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { FormRevision } from '../../../shared-types/records/form.ts';
import { transformPoint } from '../mesh/transform.ts';
import { isMatrix, isPoint } from './drawn-spans.ts';
import { planeThrough, tapeGirth } from './girth.ts';

export interface DrawnTape {
  readonly name: string;
  /** The closed tape, in the form's coordinates, mm; xyz triples. */
  readonly tape: Float64Array;
}

/**
 * Taken again on the form, in the plane of the recipe's three points. A girth whose plane misses the form, or a making
 * without a way from its scan, gives none; arcs are not drawn. O(girths * faces).
 */
export function drawnTapesOf(revision: Pick<FormRevision, 'recipe' | 'steps'>, form: Mesh): readonly DrawnTape[] {
  const matrix = revision.steps.find((step) => step.verb === 'form')?.figures['matrix'];
  const { girths } = revision.recipe;
  if (!isMatrix(matrix) || !Array.isArray(girths)) return [];
  return girths.flatMap(({ name, through }: Record<string, unknown>): DrawnTape[] => {
    if (typeof name !== 'string' || !Array.isArray(through) || through.length !== 3 || !through.every(isPoint))
      return [];
    const points = through.map((point) => transformPoint(matrix, point)) as [Vec3, Vec3, Vec3];
    const plane = planeThrough(...points);
    const girth = plane === undefined ? undefined : tapeGirth(form, plane, points);
    return girth === undefined ? [] : [{ name, tape: girth.tape }];
  });
}
