/** Where the tape of each girth and arc of a making lies on the form. Pure. */
import { IDENTITY, transformPoint } from '../mesh/transform.ts';
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { levelSchema } from '../../../shared-types/recipe.ts';
import type { FormRevision } from '../../../shared-types/records/form.ts';
import { SignedField } from '../offset/signed-field.ts';
import { arcThrough } from './arc.ts';
import { isMatrix, isPoint } from './drawn-spans.ts';
import { planeThrough, tapeGirth } from './girth.ts';
import { levelFrame, levelOn } from './level.ts';

export interface DrawnTape {
  readonly name: string;
  /** The tape, in the form's coordinates, mm; xyz triples. */
  readonly tape: Float64Array;
  /** A girth: the last point is joined to the first. */
  readonly isClosed: boolean;
}

type Told = Readonly<Record<string, unknown>>;
const listOf = (value: unknown): readonly Told[] => (Array.isArray(value) ? (value as Told[]) : []);

/**
 * Taken again on the form: girths in the plane of the recipe's three points, levels where they are told to lie on a
 * form that stands upright, arcs through their points, taut or along the skin as they were read. What misses the form,
 * or a making without a way from its scan, gives none; `tick` is called every few milliseconds. O(girths * faces + arcs * faces near them).
 */
export function drawnTapesOf(
  revision: Pick<FormRevision, 'recipe' | 'steps'>,
  form: Mesh,
  tick: () => void = () => undefined,
): readonly DrawnTape[] {
  const matrix = revision.steps.find((step) => step.verb === 'form')?.figures['matrix'];
  if (!isMatrix(matrix)) return [];
  const { girths, levels, arcs, landmarks } = revision.recipe;
  const each = (value: unknown, taken: (one: Told) => DrawnTape[]): DrawnTape[] =>
    listOf(value).flatMap((one) => {
      tick();
      return taken(one);
    });
  let body: SignedField | undefined;
  const field = (): SignedField => (body ??= new SignedField(form, tick));
  return [
    ...each(girths, ({ name, through }) => girthTape(form, name, pointsOn(matrix, through), tick)),
    ...each(levels, (level) => levelTape(form, level, landmarks, matrix, tick)),
    ...each(arcs, (arc) => arcTape(form, arc, matrix, field, tick)),
  ];
}

const pointsOn = (matrix: Matrix4, points: unknown): Vec3[] =>
  Array.isArray(points) && points.every(isPoint) ? points.map((point) => transformPoint(matrix, point)) : [];

function girthTape(form: Mesh, name: unknown, points: readonly Vec3[], tick: () => void): DrawnTape[] {
  if (typeof name !== 'string' || points.length !== 3) return [];
  const plane = planeThrough(points[0], points[1], points[2]);
  const girth = plane === undefined ? undefined : tapeGirth(form, plane, points, tick);
  return girth === undefined ? [] : [{ name, tape: girth.tape, isClosed: true }];
}

function levelTape(form: Mesh, told: Told, landmarks: unknown, matrix: Matrix4, tick: () => void): DrawnTape[] {
  const level = levelSchema.safeParse(told);
  if (!level.success) return [];
  const at = (name: string): Vec3 | undefined => pointsOn(matrix, [(landmarks as Told | undefined)?.[name]])[0];
  const found = levelOn(form, level.data, at, levelFrame(IDENTITY), tick);
  return found === undefined ? [] : girthTape(form, level.data.name, found(1).through, tick);
}

function arcTape(
  form: Mesh,
  { name, along, taut }: Told,
  matrix: Matrix4,
  field: () => SignedField,
  tick: () => void,
): DrawnTape[] {
  const points = pointsOn(matrix, along);
  if (typeof name !== 'string' || points.length < 2) return [];
  const arc = arcThrough(form, points, taut === true ? field() : undefined, tick);
  return arc === undefined ? [] : [{ name, tape: arc.points, isClosed: false }];
}
