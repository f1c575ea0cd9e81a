/** Meshes to look at on the liner desk: volumes left free, and an arrow. Pure. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { halvesOf, type PlannedKeepOut } from './liner-plan.ts';

const AROUND = 24;
const RINGS = 12;

interface DeskMesh {
  readonly positions: Float32Array;
  readonly triangles: Uint32Array;
}

export function keepOutMesh(keepOut: PlannedKeepOut): DeskMesh {
  const { kind, centre, reachMm } = keepOut;
  if (kind === 'box') return boxMesh(centre, halvesOf(keepOut));
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let ring = 0; ring <= RINGS; ring++) {
    const rise = (Math.PI * ring) / RINGS;
    for (let i = 0; i < AROUND; i++) {
      const turn = (2 * Math.PI * i) / AROUND;
      const direction = [Math.sin(rise) * Math.cos(turn), Math.sin(rise) * Math.sin(turn), Math.cos(rise)];
      for (let k = 0; k < 3; k++) positions.push(centre[k] + reachMm * direction[k]);
    }
  }
  for (let ring = 0; ring < RINGS; ring++) {
    for (let i = 0; i < AROUND; i++) {
      const a = ring * AROUND + i,
        b = ring * AROUND + ((i + 1) % AROUND);
      triangles.push(a, a + AROUND, b, b, a + AROUND, b + AROUND);
    }
  }
  return { positions: Float32Array.from(positions), triangles: Uint32Array.from(triangles) };
}

const UPRIGHT: readonly (readonly number[])[] = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];
/** Corner `i` lies on the far side of axis `k` where bit `k` is set. */
const BOX_FACES = [
  [0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6],
  [0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7],
  [0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5],
].flat();

/** A box about `centre`, reaching `halvesMm` either way along each of three unit `axes`. */
export function boxMesh(centre: readonly number[], halvesMm: readonly number[], axes = UPRIGHT): DeskMesh {
  const positions: number[] = [];
  for (let i = 0; i < 8; i++) {
    for (let c = 0; c < 3; c++) {
      positions.push(
        axes.reduce((sum, axis, k) => sum + ((i >> k) & 1 ? halvesMm[k] : -halvesMm[k]) * axis[c], centre[c]),
      );
    }
  }
  return { positions: Float32Array.from(positions), triangles: Uint32Array.from(BOX_FACES) };
}

/** Radius of the arrow at each place along it, from the tip back, mm. */
const ARROW = [
  [0, 0],
  [22, 9],
  [22, 3.5],
  [55, 3.5],
  [55, 0],
] as const;

/** An arrow that ends at `tip` and points along a unit `direction`, which is one of the axes. */
export function arrowMesh(tip: Vec3, direction: Vec3): DeskMesh {
  const axis = direction.findIndex((c) => c !== 0);
  const [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
  const positions: number[] = [];
  const triangles: number[] = [];
  for (const [back, radius] of ARROW) {
    for (let i = 0; i < AROUND; i++) {
      const turn = (2 * Math.PI * i) / AROUND;
      const point = tip.map((c, k) => c - back * direction[k]);
      point[u] += radius * Math.cos(turn);
      point[v] += direction[axis] * radius * Math.sin(turn);
      positions.push(...point);
    }
  }
  for (let ring = 0; ring + 1 < ARROW.length; ring++) {
    for (let i = 0; i < AROUND; i++) {
      const a = ring * AROUND + i,
        b = ring * AROUND + ((i + 1) % AROUND);
      triangles.push(a, b, a + AROUND, b, b + AROUND, a + AROUND);
    }
  }
  return { positions: Float32Array.from(positions), triangles: Uint32Array.from(triangles) };
}
