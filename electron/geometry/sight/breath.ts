/**
 * Air before the face under a part, and how open it is: figures to reason with. They say nothing about what anyone may
 * breathe; no geometry can.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf } from '../mesh/quantities.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { castRay, type Bvh } from '../spatial/bvh.ts';
import { windingNumber, type WindingTree } from '../spatial/winding.ts';

export interface Breath {
  /** Share of the directions before nose and mouth in which nothing is in the way, 0 to 1. */
  readonly openShare: number;
  /** Area of the openings as met by those directions, mm²: at each, at the distance the part has round about. */
  readonly openAreaMm2: number;
  /** Air between face and part from which less than a quarter of all directions lead outside, mm³. */
  readonly enclosedMm3: number;
  /** Edge of the cells the air was counted in, mm. */
  readonly cellMm: number;
}

/** Points spread evenly over a ball, golden angle apart (a Fibonacci lattice). */
function evenly(count: number): Vec3[] {
  const golden = Math.PI * (3 - Math.sqrt(5));
  return Array.from({ length: count }, (_, i) => {
    const z = 1 - (2 * i + 1) / count;
    const r = Math.sqrt(1 - z * z);
    return [r * Math.cos(golden * i), r * Math.sin(golden * i), z] as const;
  });
}

const LOOKS = 4096;
const CELL_LOOKS = 64;
/** Air counts as enclosed where fewer than this share of directions lead out. */
const ENCLOSED_BELOW = 1 / 4;
/** Beyond this nothing of the part is in the way any more, mm. */
const FAR_MM = 2000;

/**
 * How much of the half-space before the mouth is open, and through how large an opening: the sum of solid angle times
 * squared distance, where the distance of an open direction is that of the nearest blocked ones beside it. Exact for a
 * ball about the mouth; on others an opening seen askew counts smaller than it is. The area is 0 where nothing at all is
 * in the way: there is no opening then. O(directions² + directions · log faces).
 */
export function openBefore(part: Bvh, mouth: Vec3, tick?: () => void): { share: number; areaMm2: number } {
  const looks = evenly(LOOKS).filter(([x]) => x > 0);
  const reach = new Float64Array(looks.length).fill(NaN);
  const hit = { face: -1, t: 0 };
  for (const [i, [x, y, z]] of looks.entries()) {
    if (i % 256 === 0) tick?.();
    if (castRay(part, mouth[0], mouth[1], mouth[2], x, y, z, hit, 0, FAR_MM)) reach[i] = hit.t;
  }
  const blocked = looks.flatMap((look, i) => (Number.isNaN(reach[i]) ? [] : [{ look, away: reach[i] }]));
  const solid = (4 * Math.PI) / LOOKS;
  let [open, areaMm2] = [0, 0];
  for (const [i, [x, y, z]] of looks.entries()) {
    if (!Number.isNaN(reach[i])) continue;
    open++;
    if (i % 16 === 0) tick?.();
    let [nearest, away] = [-2, 0];
    for (const one of blocked) {
      const along = one.look[0] * x + one.look[1] * y + one.look[2] * z;
      if (along > nearest) [nearest, away] = [along, one.away];
    }
    areaMm2 += solid * away * away;
  }
  return { share: open / looks.length, areaMm2 };
}

/**
 * Air between face and part: cells outside the body, not in the part's material, in the box from the ears forward and
 * from the brow down to the part's edge, no farther than {@link AROUND_MM} from the body's own box, and nearly closed in
 * by body and part. The part's winding is given only when it is closed. O(cells · directions · log faces).
 */
export function enclosedAir(
  part: { readonly mesh: Mesh; readonly tree: Bvh; readonly winding?: WindingTree },
  form: { readonly mesh: Mesh; readonly tree: Bvh; readonly winding: WindingTree },
  cellMm: number,
  tick?: () => void,
): number {
  const [own, body] = [boundsOf(part.mesh.positions), boundsOf(form.mesh.positions)];
  const min = own.min.map((x, k) => Math.max(x, body.min[k] - AROUND_MM));
  const max = own.max.map((x, k) => Math.min(x, body.max[k] + AROUND_MM));
  const looks = evenly(CELL_LOOKS);
  const hit = { face: -1, t: 0 };
  let cells = 0;
  for (let x = Math.max(0, min[0]) + cellMm / 2; x < max[0]; x += cellMm) {
    for (let y = min[1] + cellMm / 2; y < max[1]; y += cellMm) {
      for (let z = min[2] + cellMm / 2; z < Math.min(BROW_MM, max[2]); z += cellMm) {
        tick?.();
        if (windingNumber(form.winding, x, y, z) > 1 / 2) continue;
        if (part.winding !== undefined && windingNumber(part.winding, x, y, z) > 1 / 2) continue;
        let out = 0;
        for (const [dx, dy, dz] of looks) {
          if (castRay(part.tree, x, y, z, dx, dy, dz, hit, 0, FAR_MM)) continue;
          if (!castRay(form.tree, x, y, z, dx, dy, dz, hit, 0, FAR_MM)) out++;
        }
        if (out < ENCLOSED_BELOW * looks.length) cells++;
      }
    }
  }
  return cells * cellMm ** 3;
}

/** Air farther from the body than this is not before the face, whatever the part reaches to, mm. */
const AROUND_MM = 200;
/** Height over the Frankfurt plane up to which air counts as before the face, mm. */
const BROW_MM = 45;
