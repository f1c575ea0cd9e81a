/** Openings of a solid, flat or along closed lines drawn on it, as the desks keep them and as the verbs take them. Pure. */
import type { PlannedCut } from '../../shared-types/calls/plans.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { DrawnLine } from './drawing.ts';

/** Fewer places make no closed line. */
export const LEAST_PLACES = 3;

/** Closed lines, and of each whether the larger of its sides is cut out. */
export interface DrawnCurves {
  readonly curves: readonly (readonly Vec3[])[];
  readonly largerGoes?: readonly boolean[] | undefined;
}

/** Those of them for which `keeps` is true. */
export function curvesWhere(
  { curves, largerGoes = [] }: DrawnCurves,
  keeps: (curve: readonly Vec3[], number: number) => boolean,
): { readonly curves: DrawnCurves['curves']; readonly largerGoes: readonly boolean[] } {
  const kept = curves.flatMap((curve, number) => (keeps(curve, number) ? [number] : []));
  return {
    curves: kept.map((number) => curves[number]),
    largerGoes: kept.map((number) => largerGoes[number] ?? false),
  };
}

/** The drawn openings as lines of a view, by their number. */
export const openingLines = (curves: readonly (readonly Vec3[])[]): DrawnLine[] =>
  curves.map((places, number) => ({ id: String(number), name: `Line ${number + 1}`, places, isClosed: true }));

/** Fair lines by the ids of the drawn ones: what shows them names only lines that close, in their order. */
export function fairLines(
  curves: readonly (readonly Vec3[])[],
  fair: readonly ArrayLike<number>[],
): ReadonlyMap<string, ArrayLike<number>> {
  const closed = openingLines(curves).filter(({ places }) => places.length >= LEAST_PLACES);
  return new Map(fair.slice(0, closed.length).map((line, at) => [closed[at].id, line]));
}

/** The parameter `opening` of line and shell; lines that do not close are left out. */
export function openingParameter(cuts: readonly PlannedCut[], drawn: DrawnCurves): { readonly opening?: unknown } {
  const planes = cuts.map(({ point, normal }) => [...point, ...normal]);
  const { curves, largerGoes } = curvesWhere(drawn, (curve) => curve.length >= LEAST_PLACES);
  if (planes.length + curves.length === 0) return {};
  if (planes.length === 1 && curves.length === 0) return { opening: { plane: planes[0] } };
  const lines = curves.map((points, number) => ({ points, ...(largerGoes[number] ? { goes: 'larger' } : {}) }));
  return { opening: { planes, curves: lines } };
}
