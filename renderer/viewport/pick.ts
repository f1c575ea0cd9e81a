/** Where a ray meets what is shown, the highest point nearby, and the faces around a point. */
import { DoubleSide, Matrix3, Matrix4, Ray, Sphere, Vector3, Box3 } from 'three';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Body } from './body.ts';
import type { Hit } from './view-types.ts';

/** A point within this many mm of the pointer's is near enough to snap to. */
export const SNAP_MM = 9;

export interface Sieve {
  /** What is not drawn cannot be hit. */
  readonly isHidden: (point: Vector3) => boolean;
  readonly bodies: Iterable<Body>;
}

export function isDrawnAt(body: Body, wipeAt: number | undefined, x: number): boolean {
  if (!body.isShown) return false;
  return wipeAt === undefined || body.wipeSide === 0 || body.wipeSide * (x - wipeAt) >= 0;
}

/** The nearest drawn hit, or undefined; meshes whose tree is not there yet are passed over. */
export function hitOf(from: Vec3, along: Vec3, { bodies, isHidden }: Sieve): Hit | undefined {
  let best: { hit: Hit; distance: number } | undefined;
  for (const body of bodies) {
    const tree = body.groundwork?.tree;
    if (tree === undefined) continue;
    const back = body.matrix.clone().invert();
    const ray = new Ray(new Vector3(...from), new Vector3(...along)).applyMatrix4(back);
    ray.direction.normalize();
    let start = 0;
    // what lies in front may be cut away: go on behind it
    for (let turn = 0; turn < 32; turn++) {
      const found = tree.raycastFirst(ray, DoubleSide, start);
      if (found === null) break;
      const point = found.point.clone().applyMatrix4(body.matrix);
      if (isHidden(point)) {
        start = found.distance + 1e-3;
        continue;
      }
      const distance = point.distanceTo(new Vector3(...from));
      if (best === undefined || distance < best.distance) {
        const face = found.faceIndex as number;
        best = { distance, hit: hitAt(body, point, face, false) };
      }
      break;
    }
  }
  return best?.hit;
}

function corners(body: Body, face: number): [Vector3, Vector3, Vector3] {
  const { positions, mesh } = body;
  return [0, 1, 2].map((k) =>
    new Vector3().fromArray(positions as unknown as number[], mesh.triangles[face * 3 + k] * 3),
  ) as [Vector3, Vector3, Vector3];
}

function hitAt(body: Body, point: Vector3, face: number, snapped: boolean): Hit {
  const [a, b, c] = corners(body, face);
  const normal = b.sub(a).cross(c.sub(a)).applyNormalMatrix(new Matrix3().getNormalMatrix(body.matrix)).normalize();
  const inMesh = point.clone().applyMatrix4(body.toMesh());
  return {
    slot: body.slot,
    point: point.toArray(),
    pointInMesh: inMesh.toArray(),
    normal: normal.toArray(),
    face,
    snapped,
  };
}

/** The faces whose boxes come within `radius` (mm in the view) of a point. */
export function facesAround(body: Body, point: Vec3, radius: number): number[] {
  const tree = body.groundwork?.tree;
  if (tree === undefined) return [];
  const back = new Matrix4().copy(body.matrix).invert();
  const sphere = new Sphere(new Vector3(...point), radius).applyMatrix4(back);
  const found: number[] = [];
  tree.shapecast({
    intersectsBounds: (box: Box3) => sphere.intersectsBox(box),
    intersectsTriangle: (_triangle, face) => {
      found.push(face);
      return false;
    },
  });
  return found;
}

/**
 * The highest point nearby: among the vertices within SNAP_MM the one farthest along the surface's mean normal there,
 * again from that one until it stays (a nose's tip, a chin). Not a fit of the surface: it is good to the mesh's own
 * vertex spacing.
 */
export function snapped(body: Body, hit: Hit): Hit {
  let at = new Vector3(...hit.point);
  let face = hit.face;
  const start = at.clone();
  let direction: Vector3 | undefined;
  for (let turn = 0; turn < 12; turn++) {
    const faces = facesAround(body, at.toArray(), SNAP_MM);
    if (faces.length === 0) break;
    if (direction === undefined) {
      const mean = new Vector3();
      for (const near of faces) {
        const [a, b, c] = corners(body, near);
        mean.add(b.sub(a).cross(c.sub(a)));
      }
      direction = mean.applyNormalMatrix(new Matrix3().getNormalMatrix(body.matrix)).normalize();
    }
    let best = at.dot(direction);
    let next: Vector3 | undefined;
    for (const near of faces) {
      for (const corner of corners(body, near)) {
        corner.applyMatrix4(body.matrix);
        if (corner.distanceTo(at) > SNAP_MM || corner.distanceTo(start) > 2 * SNAP_MM) continue;
        const height = corner.dot(direction);
        if (height > best + 1e-6) {
          best = height;
          next = corner;
          face = near;
        }
      }
    }
    if (next === undefined) break;
    at = next;
  }
  return hitAt(body, at, face, true);
}
