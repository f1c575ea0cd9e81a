/** A head form with hair over its crown, filled: the neutral head carved, bent to what is seen and read, set in and proven. */
import { fillOperation } from '../../electron/operations/fill.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot } from '../../electron/geometry/spatial/bvh.ts';
import { inventHead } from '../../electron/invented/head.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { input } from '../operations/samples.ts';
import { benchTask, type BenchTask } from './harness.ts';

const HAIR_MM = 20;
const REACH_MM = 60;

interface Head {
  readonly truth: Mesh;
  readonly form: Mesh;
  readonly topMm: number;
}

function hairy(faces: number): Head {
  const truth = inventHead({ seed: 81 }).mesh(faces);
  const topMm = boundsOf(truth.positions).max[2];
  const positions = truth.positions.slice();
  for (let v = 0; v < positions.length; v += 3) {
    const inside = REACH_MM - Math.hypot(positions[v], positions[v + 1], positions[v + 2] - topMm);
    if (inside > 0) positions[v + 2] += HAIR_MM * Math.min(1, inside / 15);
  }
  return { truth, form: { positions: positions.map(Math.fround), triangles: truth.triangles }, topMm };
}

function fill({ truth, form, topMm }: Head, isRead: boolean): Record<string, number> {
  const zones = [{ name: 'hair', points: [[0, 0, topMm + HAIR_MM]], radiusMm: REACH_MM + HAIR_MM }];
  const readings = isRead ? [{ name: 'tragion to top of head', measured: topMm, u: 1.5 }] : [];
  const made = runOperation(fillOperation, [input(form)], { patch: { zones }, sheet: { readings } });
  if (!made.ok || made.value.mesh === undefined) throw new Error('not filled');
  const { figures, mesh } = made.value;
  const tree = buildBvh(truth);
  const slot = nearestSlot();
  let [max, sum] = [0, 0];
  const { vertices: kept } = figures.kept;
  const count = mesh.positions.length / 3;
  for (let v = kept; v < count; v++) {
    findNearest(tree, mesh.positions[v * 3], mesh.positions[v * 3 + 1], mesh.positions[v * 3 + 2], slot);
    max = Math.max(max, slot.distance);
    sum += slot.distance;
  }
  return {
    missMaxMm: max,
    missMeanMm: sum / (count - kept),
    within95Mm: figures.guess.within95Mm,
    selfIntersections: figures.health.selfIntersections,
  };
}

export const tasks: readonly BenchTask[] = [
  benchTask({ name: 'fill-crown', sizes: [5000, 9500, 30_000], prepare: hairy, run: (head) => fill(head, true) }),
  benchTask({ name: 'fill-crown-unread', sizes: [9500], prepare: hairy, run: (head) => fill(head, false) }),
];
