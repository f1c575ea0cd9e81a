/** The neutral head as a light, exactly mirror-symmetric mesh, with what is needed to find its landmarks again. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { done, type Outcome } from '../../../shared-types/outcome.ts';
import { QUIET_RUN, tickingRun, type RunContext } from '../../../shared-types/progress.ts';
import { findTwins, nextHalfedge, OPEN } from '../mesh/twins.ts';
import { lighten } from '../simplify/lighten.ts';
import { leftHalf, withMirror, type MirroredMesh } from './mirrored.ts';
import { neutralField } from './neutral-field.ts';
import { polygonise, type Field } from './polygonise.ts';

export interface NeutralHead {
  /** In the form frame, mm; coordinates in single precision. */
  readonly mesh: MirroredMesh;
  /** Vertices on the middle line. */
  readonly middle: Uint32Array;
  /** Edges on the middle line, vertex pairs. */
  readonly middleEdges: Uint32Array;
}

/** The dense surface the light one is made from. */
const DENSE_FACES = 30_000;
const OUTSIDE: Vec3 = [260, 0, 60];
const TICK_ASKED = 2048;

/**
 * The neutral head with about `faces` faces (never more), closed, manifold, mirror-symmetric about y = 0 to the last
 * bit. Steps the phases of `lighten`. A few seconds of one core at most.
 */
export function neutralHead(faces: number, run: RunContext = QUIET_RUN): Outcome<NeutralHead> {
  let asked = 0;
  const field: Field = (x, y, z) => {
    if (++asked % TICK_ASKED === 0) run.step('prepare', 0, 1);
    return neutralField(x, y, z);
  };
  const looking = tickingRun(() => run.step('prepare', 0, 1));
  const half = leftHalf(polygonise(field, OUTSIDE, Math.max(DENSE_FACES, 3 * faces), looking));
  run.step('prepare', 0, 1);
  const light = lighten(half, { faces: faces >> 1 }, run);
  if (!light.ok) return light;
  const { positions, triangles } = light.value.mesh;
  const { twin } = findTwins(triangles, positions.length / 3);
  const border = new Uint8Array(positions.length / 3);
  const edges: number[] = [];
  twin.forEach((other, halfedge) => {
    if (other !== OPEN) return;
    const ends = [triangles[halfedge], triangles[nextHalfedge(halfedge)]];
    edges.push(...ends);
    for (const vertex of ends) border[vertex] = 1;
  });
  const mesh = withMirror({ positions, triangles }, border);
  const middle = Uint32Array.from(new Set(edges)).sort();
  return done({ mesh, middle, middleEdges: Uint32Array.from(edges) });
}
