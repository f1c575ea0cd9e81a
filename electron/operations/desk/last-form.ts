/**
 * What previews of one form have in common, kept in the thread from one to the next: while a slider moves, only wishes
 * change. Results do not depend on it: a form counts as the same where all its numbers are.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { SignedField } from '../../geometry/offset/signed-field.ts';
import type { Built } from '../../geometry/offset/roomy-field.ts';
import { readyNear } from '../../geometry/spatial/bvh.ts';
import { SweptBody } from '../../geometry/offset/swept-body.ts';

/** Larger forms are not kept: 200 bytes a face. */
const MOST_FACES = 100_000;

interface Kept {
  /** Of its own, since whose form it was may change it. */
  readonly form: Mesh;
  readonly field: SignedField;
  way: Vec3 | undefined;
  swept: SweptBody | undefined;
}

let last: Kept | undefined;

/** The form's field and, for a way in, its swept room, as they were built last or anew; for the next call too. O(n log n), O(n) again. */
export function builtOf(mesh: Mesh, way: Vec3 | undefined, tick: () => void): Built {
  const one = last !== undefined && isSameMesh(last.form, mesh) ? last : begun(mesh, tick);
  if (way !== undefined && one.way?.every((c, k) => c === way[k]) !== true) {
    one.swept = new SweptBody(mesh, way, tick);
    one.way = way;
  }
  last = mesh.triangles.length / 3 > MOST_FACES ? undefined : one;
  return { field: one.field, swept: way === undefined ? undefined : one.swept };
}

function begun(mesh: Mesh, tick: () => void): Kept {
  // Too large to be kept: nothing is copied or laid out for later.
  if (mesh.triangles.length / 3 > MOST_FACES) {
    return { form: mesh, field: new SignedField(mesh, tick), way: undefined, swept: undefined };
  }
  const form = { positions: mesh.positions.slice(), triangles: mesh.triangles.slice() };
  const field = new SignedField(form, tick);
  readyNear(field.tree);
  return { form, field, way: undefined, swept: undefined };
}

function isSameMesh(a: Mesh, b: Mesh): boolean {
  return isSameList(a.triangles, b.triangles) && isSameList(a.positions, b.positions);
}

function isSameList(a: ArrayLike<number>, b: ArrayLike<number>): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}
