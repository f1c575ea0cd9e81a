import { deviationSpecification } from '../../../shared-types/operations/desk.ts';
import { done } from '../../../shared-types/outcome.ts';
import { vertexNormals } from '../../geometry/mesh/quantities.ts';
import { transformMesh } from '../../geometry/mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../../geometry/spatial/bvh.ts';
import type { Operation } from '../operation.ts';

/** A vertex this near to a cut lies on it: a form is rounded to single precision, a cut to thousandths. */
const ON_CUT_MM = 0.05;
/** Vertices between two looks at the stop. */
const STRIDE = 512;

export const deviationOperation: Operation<typeof deviationSpecification> = {
  specification: deviationSpecification,
  phases: { tree: 0.5, measure: 0.5 },
  run: ([form, scan], { toForm, planes }, run) => {
    const body = transformMesh(toForm, scan.mesh);
    const tree = buildBvh(body, () => run.step('tree', 0, 1));
    const { positions: p } = form.mesh;
    const normals = vertexNormals(form.mesh);
    const count = p.length / 3;
    const perVertexMm = new Float32Array(count);
    const near = nearestSlot();
    const cuts = planes.map(([x, y, z, nx, ny, nz]) => {
      const size = Math.hypot(nx, ny, nz);
      return { x: nx / size, y: ny / size, z: nz / size, d: (x * nx + y * ny + z * nz) / size };
    });
    let sum = 0,
      measured = 0,
      largest = 0;
    for (let v = 0; v < count; v++) {
      if (v % STRIDE === 0) run.step('measure', v, count);
      const [x, y, z] = [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
      if (cuts.some((cut) => Math.abs(cut.x * x + cut.y * y + cut.z * z - cut.d) < ON_CUT_MM)) {
        perVertexMm[v] = NaN;
        continue;
      }
      findNearest(tree, x, y, z, near);
      const [dx, dy, dz] = [near.x - x, near.y - y, near.z - z];
      const outward = dx * normals[v * 3] + dy * normals[v * 3 + 1] + dz * normals[v * 3 + 2];
      const size = Math.hypot(dx, dy, dz);
      perVertexMm[v] = outward >= 0 ? size : -size;
      sum += size;
      largest = Math.max(largest, size);
      measured++;
    }
    return done({ figures: { perVertexMm, maxMm: largest, meanMm: measured === 0 ? 0 : sum / measured } });
  },
};
