/** Measuring on the mesh against its size: girths, arcs along the skin short and long, taut arcs, sections, volumes. */
import { arcThrough } from '../../electron/geometry/measure/arc.ts';
import { tapeGirth } from '../../electron/geometry/measure/girth.ts';
import { outlineAt } from '../../electron/geometry/measure/outline.ts';
import { shortestPath } from '../../electron/geometry/measure/shortest-path.ts';
import { areaAndVolume } from '../../electron/geometry/measure/volume.ts';
import { breadthAlong } from '../../electron/geometry/measure/breadth.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { buildBvh, findNearest, nearestSlot } from '../../electron/geometry/spatial/bvh.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { benchTask, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const SIZES = [10_000, 53_000, 250_000, 1_000_000];

/** Front, left, back and top of the head at two thirds of its height, on its surface. */
function places(mesh: Mesh): { front: Vec3; left: Vec3; back: Vec3; top: Vec3; height: number } {
  const { min, max } = boundsOf(mesh.positions);
  const tree = buildBvh(mesh);
  const slot = nearestSlot();
  const on = (x: number, y: number, z: number): Vec3 => {
    findNearest(tree, x, y, z, slot);
    return [slot.x, slot.y, slot.z];
  };
  const [cx, cy] = [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2];
  const height = min[2] + 0.66 * (max[2] - min[2]);
  return {
    front: on(max[0], cy, height),
    left: on(cx, max[1], height),
    back: on(min[0], cy, height),
    top: on(cx, cy, max[2]),
    height,
  };
}

const prepared = (size: number) => {
  const mesh = headOf(size);
  return { mesh, ...places(mesh) };
};

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'girth',
    sizes: SIZES,
    prepare: prepared,
    run: ({ mesh, front, height }) => {
      const girth = tapeGirth(mesh, { point: [0, 0, height], normal: [0, 0, 1] }, [front]);
      return { lengthMm: girth?.length ?? 0 };
    },
  }),
  benchTask({
    name: 'arc-on-skin-quarter',
    sizes: SIZES,
    prepare: prepared,
    run: ({ mesh, front, left }) => {
      const path = shortestPath(mesh, front, left);
      return { lengthMm: path?.length ?? 0, withinMm: path?.within === Infinity ? -1 : (path?.within ?? 0) };
    },
  }),
  benchTask({
    name: 'arc-on-skin-front-to-back',
    sizes: SIZES,
    prepare: prepared,
    run: ({ mesh, front, back }) => {
      const path = shortestPath(mesh, front, back);
      return { lengthMm: path?.length ?? 0, withinMm: path?.within === Infinity ? -1 : (path?.within ?? 0) };
    },
  }),
  benchTask({
    name: 'arc-taut-over-the-top',
    sizes: SIZES,
    prepare: prepared,
    run: ({ mesh, front, top, back }) => {
      const arc = arcThrough(mesh, [front, top, back], new SignedField(mesh));
      return { lengthMm: arc?.length ?? 0, finenessUMm: arc?.finenessU ?? 0 };
    },
  }),
  benchTask({
    name: 'section-breadth-volume',
    sizes: SIZES,
    prepare: prepared,
    run: ({ mesh, height }) => {
      const level = { point: [0, 0, height] as Vec3, normal: [0, 0, 1] as Vec3 };
      const outline = outlineAt(mesh, level);
      const breadth = breadthAlong(mesh, [0, 1, 0], [level]);
      const above = areaAndVolume(mesh, level);
      return { areaMm2: outline?.area ?? 0, breadthMm: breadth?.length ?? 0, volumeMm3: above?.volume ?? 0 };
    },
  }),
];
