/** Whether a thing of given size has room between the body and a part. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { findNearest, nearestSlot, castRay, type Bvh } from '../spatial/bvh.ts';
import { windingNumber, type WindingTree } from '../spatial/winding.ts';

export interface RoomFound {
  /** Middle of the thing, and the directions of its length, breadth and height. */
  readonly centre: Vec3;
  readonly axes: readonly [Vec3, Vec3, Vec3];
  /** Least distance of its surface from body or part, mm, as sampled. */
  readonly clearanceMm: number;
}

/** Points on the thing's surface stand this far apart, mm. */
const SAMPLE_MM = 4;
/** Middles tried stand this far apart, mm; in a larger region farther, so that there are no more than so many. */
const MIDDLE_MM = 6;
const MOST_MIDDLES = 200_000;
/** Turns about the upright and nods tried, degrees. */
const TURNS_DEG = [0, 30, 60, 90, 120, 150];
const NODS_DEG = [-30, 0, 30];

/** Middles at which the thing is turned about, the roomiest first. */
const MOST_TRIES = 600;
/** Samples between two ticks. */
const TICK_SAMPLES = 256;

interface Region {
  readonly min: Vec3;
  readonly max: Vec3;
}

/** How far apart the middles tried in a region stand, mm. */
export function middleStepMm({ min, max }: Region): number {
  const volume = [0, 1, 2].reduce((product, k) => product * Math.max(MIDDLE_MM, max[k] - min[k]), 1);
  return Math.max(MIDDLE_MM, Math.cbrt(volume / MOST_MIDDLES));
}

/**
 * A place for a box (length forward, breadth across, height up before it is turned) with its middle in the region given:
 * outside the body, under the part and outside its material, `clearanceMm` from both; the first that holds it, beginning
 * where there is most room. Undefined when none of the places tried does. A place found is one; where none is found
 * there may still be one between the places tried. The part's winding is given only when it is closed.
 * O(places · log faces + tries · surface samples · log faces).
 */
export function findRoom(
  box: readonly [length: number, breadth: number, height: number],
  region: Region,
  part: { readonly tree: Bvh; readonly winding?: WindingTree },
  form: { readonly tree: Bvh; readonly winding: WindingTree },
  clearanceMm: number,
  tick?: () => void,
): RoomFound | undefined {
  const samples = surfaceOf(box);
  // What lies between two samples can be nearer by half the diagonal of their square.
  const between = SAMPLE_MM / Math.SQRT2;
  const slot = nearestSlot();
  const clearAt = (x: number, y: number, z: number): number => {
    findNearest(form.tree, x, y, z, slot);
    const clear = slot.distance;
    return findNearest(part.tree, x, y, z, slot, clear) ? Math.min(clear, slot.distance) : clear;
  };
  const least = Math.min(...box) / 2 + clearanceMm;
  const middles: { at: Vec3; clear: number }[] = [];
  const step = middleStepMm(region);
  for (let x = region.min[0]; x <= region.max[0]; x += step) {
    for (let y = region.min[1]; y <= region.max[1]; y += step) {
      for (let z = region.min[2]; z <= region.max[2]; z += step) {
        tick?.();
        const clear = clearAt(x, y, z);
        if (clear < least || !isUnder(part.tree, x, y, z) || windingNumber(form.winding, x, y, z) > 1 / 2) continue;
        if (part.winding !== undefined && windingNumber(part.winding, x, y, z) > 1 / 2) continue;
        middles.push({ at: [x, y, z], clear });
      }
    }
  }
  middles.sort((a, b) => b.clear - a.clear);
  for (const { at } of middles.slice(0, MOST_TRIES)) {
    for (const turn of TURNS_DEG) {
      for (const nod of NODS_DEG) {
        const axes = axesOf(turn, nod);
        let clear = Infinity;
        // The middle lies outside both, so a surface that reached into one would pass its skin near some sample.
        for (const [i, [a, b, c]] of samples.entries()) {
          if (i % TICK_SAMPLES === 0) tick?.();
          const [x, y, z] = [0, 1, 2].map((k) => at[k] + a * axes[0][k] + b * axes[1][k] + c * axes[2][k]);
          clear = Math.min(clear, clearAt(x, y, z));
          if (clear < clearanceMm + between) break;
        }
        if (clear >= clearanceMm + between) return { centre: at, axes, clearanceMm: clear - between };
      }
    }
  }
  return undefined;
}

/** Whether the part is in the way, going outward from the middle of the head. */
function isUnder(part: Bvh, x: number, y: number, z: number): boolean {
  const length = Math.hypot(x, y, z);
  if (length === 0) return true;
  return castRay(part, x, y, z, x / length, y / length, z / length, { face: -1, t: 0 });
}

/** The whole of a part's bounds as a region. */
export function regionOf(part: Mesh): Region {
  const { min, max } = boundsOf(part.positions);
  return { min, max };
}

function axesOf(turnDeg: number, nodDeg: number): [Vec3, Vec3, Vec3] {
  const [ct, st] = [Math.cos((turnDeg * Math.PI) / 180), Math.sin((turnDeg * Math.PI) / 180)];
  const [cn, sn] = [Math.cos((nodDeg * Math.PI) / 180), Math.sin((nodDeg * Math.PI) / 180)];
  return [
    [ct * cn, st * cn, -sn],
    [-st, ct, 0],
    [ct * sn, st * sn, cn],
  ];
}

function surfaceOf(box: readonly [number, number, number]): Vec3[] {
  const steps = box.map((size) => Math.max(1, Math.ceil(size / SAMPLE_MM)));
  const points: Vec3[] = [];
  for (let i = 0; i <= steps[0]; i++) {
    for (let j = 0; j <= steps[1]; j++) {
      for (let k = 0; k <= steps[2]; k++) {
        const onSurface = i % steps[0] === 0 || j % steps[1] === 0 || k % steps[2] === 0;
        if (!onSurface) continue;
        points.push([
          (i / steps[0] - 1 / 2) * box[0],
          (j / steps[1] - 1 / 2) * box[1],
          (k / steps[2] - 1 / 2) * box[2],
        ]);
      }
    }
  }
  // Corners first: they strike first.
  return points.sort((a, b) => Math.hypot(...b) - Math.hypot(...a));
}
