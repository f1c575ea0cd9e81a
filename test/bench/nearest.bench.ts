/** Nearest-surface queries near the surface, ours and those of a general-purpose library on the same mesh. */
import { BufferAttribute, BufferGeometry, Vector3 } from 'three';
import { MeshBVH, SAH } from 'three-mesh-bvh';
import { buildBvh, findNearest, nearestSlot } from '../../electron/geometry/spatial/bvh.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';
import { benchTask, most, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const QUERIES = 100_000;
const SIZES = [10_000, 53_000, 250_000, 1_000_000];

/** Points within 3 mm of the surface. */
function pointsNear(mesh: Mesh): Float64Array {
  const random = seeded(7);
  const points = new Float64Array(QUERIES * 3);
  const vertexCount = mesh.positions.length / 3;
  for (let q = 0; q < QUERIES; q++) {
    const vertex = Math.floor(random() * vertexCount);
    for (let k = 0; k < 3; k++) points[q * 3 + k] = mesh.positions[vertex * 3 + k] + (random() - 0.5) * 3.4;
  }
  return points;
}

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'search-tree-build',
    sizes: SIZES,
    prepare: headOf,
    run: (mesh) => {
      buildBvh(mesh);
    },
  }),
  benchTask({
    name: 'nearest-100k-queries',
    sizes: SIZES,
    // 250,000 a second.
    bars: { 53_000: most({ cpuSeconds: QUERIES / 250_000 }) },
    prepare: (size) => {
      const mesh = headOf(size);
      return { tree: buildBvh(mesh), points: pointsNear(mesh) };
    },
    run: ({ tree, points }) => {
      const out = nearestSlot();
      let sum = 0;
      for (let i = 0; i < points.length; i += 3) {
        findNearest(tree, points[i], points[i + 1], points[i + 2], out);
        sum += out.distance;
      }
      return { meanMm: sum / QUERIES };
    },
  }),
  benchTask({
    name: 'nearest-100k-queries-peer',
    sizes: SIZES,
    prepare: (size) => {
      const mesh = headOf(size);
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', new BufferAttribute(Float32Array.from(mesh.positions), 3));
      geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
      return { tree: new MeshBVH(geometry, { strategy: SAH }), points: pointsNear(mesh) };
    },
    run: ({ tree, points }) => {
      const target = { point: new Vector3(), distance: 0, faceIndex: 0 };
      const at = new Vector3();
      let sum = 0;
      for (let i = 0; i < points.length; i += 3) {
        tree.closestPointToPoint(at.set(points[i], points[i + 1], points[i + 2]), target);
        sum += target.distance;
      }
      return { meanMm: sum / QUERIES };
    },
  }),
];
