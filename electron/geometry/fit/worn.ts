/** A body and a part made ready for trying on: their search trees, built once for many questions. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf, type Bounds } from '../mesh/quantities.ts';
import { SignedField } from '../offset/signed-field.ts';
import { looksLikeHead, regionOf } from '../register/body-regions.ts';
import { buildBvh, type Bvh } from '../spatial/bvh.ts';

export interface FittingBody {
  readonly mesh: Mesh;
  readonly field: SignedField;
  readonly bounds: Bounds;
  /** Whether it is shaped and stands as a head form does. */
  readonly isHead: boolean;
  /** The region of a point of the body, in plain words. */
  region(at: Vec3): string;
}

/** The form must be closed and outward, mm, in the form frame. O(n log n). */
export function fittingBody(form: Mesh, tick?: () => void): FittingBody {
  const bounds = boundsOf(form.positions);
  const isHead = looksLikeHead(bounds);
  return {
    mesh: form,
    field: new SignedField(form, tick),
    bounds,
    isHead,
    region: (at) => regionOf(at, bounds, isHead),
  };
}

export interface WornPart {
  /** In true millimetres, in the part's own coordinates. */
  readonly mesh: Mesh;
  readonly tree: Bvh;
}

/** Any mesh with faces will do: a sheet, a double wall, a solid. O(n log n). */
export function wornPart(mesh: Mesh, tick?: () => void): WornPart {
  return { mesh, tree: buildBvh(mesh, tick) };
}
