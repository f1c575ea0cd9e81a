/**
 * An invented bought part: the visor of an open helmet, a thin closed shell that curves round the face, in its own
 * unit, with the one dimension its maker states: pivot to pivot.
 */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { roundToSingle } from '../geometry/mesh/transform.ts';

export interface InventedVisor {
  readonly mesh: Mesh;
  /** The two pivots, in the file's own unit. */
  readonly pivotLeft: Vec3;
  readonly pivotRight: Vec3;
  readonly pivotToPivotMm: number;
  /** Millimetres in one of the file's units. */
  readonly mmPerUnit: number;
}

const ACROSS = 96;
const DOWN = 24;
const DEGREE = Math.PI / 180;
/** Front of the pivots to the brow, and the shell, mm. */
const DEPTH_MM = 118;
const WALL_MM = 3;

/** Closed, outward, in units of `mmPerUnit` mm; x forward, z up, origin between the pivots. */
export function inventVisor(pivotToPivotMm: number, mmPerUnit: number): InventedVisor {
  const outer = pivotToPivotMm / 2;
  const at = (turn: number, drop: number, wall: number): Vec3 => {
    // Half an oval seen from above, bulging in the middle of its height, its lower edge swept back at the cheeks.
    const angle = (turn - 0.5) * Math.PI;
    const bulge = 5 * Math.sin(Math.PI * drop) * Math.cos(angle) ** 2;
    const x = (DEPTH_MM - wall + bulge) * Math.cos(angle);
    const y = (outer - wall) * Math.sin(angle);
    const top = 34 + 10 * Math.cos(angle);
    const bottom = -26 - 16 * Math.cos(angle) ** 2;
    const lean = 8 * DEGREE * (drop - 0.5) * Math.cos(angle);
    return [x - 60 * lean, y, top + (bottom - top) * drop];
  };
  const positions: number[] = [];
  const row = DOWN + 1;
  const layer = (ACROSS + 1) * row;
  for (const wall of [0, WALL_MM]) {
    for (let i = 0; i <= ACROSS; i++) for (let j = 0; j <= DOWN; j++) positions.push(...at(i / ACROSS, j / DOWN, wall));
  }
  const triangles: number[] = [];
  const quad = (a: number, b: number, c: number, d: number): void => {
    triangles.push(a, b, c, a, c, d);
  };
  const vertex = (i: number, j: number, inner: 0 | 1): number => inner * layer + i * row + j;
  for (let i = 0; i < ACROSS; i++) {
    for (let j = 0; j < DOWN; j++) {
      quad(vertex(i, j, 0), vertex(i, j + 1, 0), vertex(i + 1, j + 1, 0), vertex(i + 1, j, 0));
      quad(vertex(i, j, 1), vertex(i + 1, j, 1), vertex(i + 1, j + 1, 1), vertex(i, j + 1, 1));
    }
    quad(vertex(i, 0, 0), vertex(i + 1, 0, 0), vertex(i + 1, 0, 1), vertex(i, 0, 1));
    quad(vertex(i, DOWN, 0), vertex(i, DOWN, 1), vertex(i + 1, DOWN, 1), vertex(i + 1, DOWN, 0));
  }
  for (let j = 0; j < DOWN; j++) {
    quad(vertex(0, j, 0), vertex(0, j, 1), vertex(0, j + 1, 1), vertex(0, j + 1, 0));
    quad(vertex(ACROSS, j, 0), vertex(ACROSS, j + 1, 0), vertex(ACROSS, j + 1, 1), vertex(ACROSS, j, 1));
  }
  const mesh = roundToSingle({
    positions: Float64Array.from(positions, (mm) => mm / mmPerUnit),
    triangles: Uint32Array.from(triangles),
  });
  const middle = DOWN / 2;
  const point = (i: number): Vec3 => {
    const p = vertex(i, middle, 0) * 3;
    return [mesh.positions[p], mesh.positions[p + 1], mesh.positions[p + 2]];
  };
  return { mesh, pivotLeft: point(ACROSS), pivotRight: point(0), pivotToPivotMm, mmPerUnit };
}
