/** Volumes left free as they are first placed on the body. Pure. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { KeepOutShape, PlannedKeepOut } from './liner-plan.ts';

const FIRST_REACH_MM = 12;
const FIRST_CLEARANCE_MM = 2;

/**
 * Spectacles, mm: height and depth of the front, how far it stands before the bridge of the nose, thickness and height of
 * the sides, and how far they lie off the head. Common practice, no source: measure the pair that is worn.
 */
const FRONT = { highMm: 45, deepMm: 24, beforeMm: 4 } as const;
const SIDE = { thickMm: 6, highMm: 14, offMm: 1 } as const;
/** The sides lie beside the head where it is widest within so much of their height; heads are at least so wide there. */
const BESIDE_MM = 15;
const LEAST_HALF_MM = 60;
/** The sides end at the ears: the origin of a head's form. */
const EARS_X = 0;

/** What a press on the body at `at`, whose surface looks along `normal`, places; `count`: how many there are. */
export function placedKeepOuts(
  shape: KeepOutShape,
  at: Vec3,
  normal: Vec3,
  positions: Float32Array | undefined,
  count: number,
): PlannedKeepOut[] {
  if (shape === 'spectacles') return spectacles(at, positions);
  const centre = at.map((c, k) => c + FIRST_REACH_MM * normal[k]) as unknown as Vec3;
  return [
    {
      id: crypto.randomUUID(),
      name: `${shape} ${count + 1}`,
      kind: shape,
      centre,
      reachMm: FIRST_REACH_MM,
      clearanceMm: FIRST_CLEARANCE_MM,
    },
  ];
}

/** A front before the bridge of the nose, and two sides back to the ears, as far apart as the head is wide there. */
function spectacles([x, , z]: Vec3, positions: Float32Array | undefined): PlannedKeepOut[] {
  let halfMm = LEAST_HALF_MM;
  for (let v = 0; positions !== undefined && v < positions.length; v += 3) {
    const [px, py, pz] = [positions[v], positions[v + 1], positions[v + 2]];
    // Between ears and eyes: the ears themselves stand out farther.
    if (Math.abs(pz - z) < BESIDE_MM && px > EARS_X + 2 * BESIDE_MM && px < x) halfMm = Math.max(halfMm, Math.abs(py));
  }
  const sideMm = halfMm + SIDE.offMm + SIDE.thickMm / 2;
  const middleMm = x + FRONT.beforeMm;
  const box = (name: string, centre: Vec3, halvesMm: Vec3): PlannedKeepOut => ({
    id: crypto.randomUUID(),
    name,
    kind: 'box',
    centre,
    reachMm: FIRST_REACH_MM,
    halvesMm,
    clearanceMm: FIRST_CLEARANCE_MM,
  });
  const side = (name: string, y: number): PlannedKeepOut =>
    box(name, [(middleMm + EARS_X) / 2, y, z], [(middleMm - EARS_X) / 2, SIDE.thickMm / 2, SIDE.highMm / 2]);
  return [
    box(
      'spectacles, front',
      [middleMm, 0, z - FRONT.highMm / 4],
      [FRONT.deepMm / 2, sideMm + SIDE.thickMm / 2, FRONT.highMm / 2],
    ),
    side('spectacles, left side', sideMm),
    side('spectacles, right side', -sideMm),
  ];
}
