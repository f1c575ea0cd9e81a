/**
 * An invented helmet: a dome that runs down into a skirt, thin walled, with a face opening; its inside is known. Origin
 * where the middle between the wearer's tragions is meant to be, x forward, y left, z up. Nobody's design.
 */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { roundToSingle } from '../geometry/mesh/transform.ts';

export interface HelmetWishes {
  /** Inner length, breadth of the dome and height over the tragions, mm. */
  readonly lengthMm?: number;
  readonly breadthMm?: number;
  readonly heightMm?: number;
  readonly wallMm?: number;
  /** How far the skirt goes below the tragions, and how much wider than the dome it is there. */
  readonly skirtMm?: number;
  readonly flareMm?: number;
  /** Half the angle of the face opening, degrees; 0 for none. Its upper edge over the tragions, mm. */
  readonly openingDegrees?: number;
  readonly browMm?: number;
  /** Lower edge of the opening over the tragions, mm; absent: the opening runs down to the rim. */
  readonly chinMm?: number;
  /** One sheet, the inner one, without a wall, as some files have it. */
  readonly sheet?: boolean;
  readonly columns?: number;
  readonly rows?: number;
  /** Millimetres in one of the file's units. */
  readonly mmPerUnit?: number;
}

export interface InventedHelmet {
  readonly mesh: Mesh;
  /** Both ends of its widest inner breadth at the rows' middle, file units, and that breadth in mm. */
  readonly breadthLeft: Vec3;
  readonly breadthRight: Vec3;
  readonly innerBreadthMm: number;
  readonly mmPerUnit: number;
}

/** Height of the widest row over the tragions, mm. */
const EQUATOR_MM = 25;
/** Plan of the dome: 2 would be an ellipse. */
const PLAN_POWER = 2.25;
/** Share of the rows in the dome. */
const DOME = 0.6;
const DEGREE = Math.PI / 180;

/** Closed and outward unless a sheet, single precision. */
export function inventHelmet(wishes: HelmetWishes = {}): InventedHelmet {
  const { lengthMm = 226, breadthMm = 190, heightMm = 146, wallMm = 3.5, skirtMm = 70, flareMm = 14 } = wishes;
  const { openingDegrees = 62, browMm = 48, chinMm, sheet = false, mmPerUnit = 1 } = wishes;
  const columns = 4 * Math.round((wishes.columns ?? 120) / 4),
    rows = wishes.rows ?? 60;
  const at = (column: number, row: number, wall: number): Vec3 => {
    const angle = (2 * Math.PI * column) / columns;
    const share = row / rows;
    const c = Math.cos(angle),
      s = Math.sin(angle);
    const plan = (Math.abs(c) ** PLAN_POWER + Math.abs(s) ** PLAN_POWER) ** (-1 / PLAN_POWER);
    const dome = Math.min(1, share / DOME);
    const below = Math.max(0, (share - DOME) / (1 - DOME));
    const u = (dome * Math.PI) / 2;
    const wide = flareMm * Math.sin((below * Math.PI) / 2);
    const r = Math.sin(u);
    return [
      (lengthMm / 2 + wall + wide / 3) * r * plan * c - 4,
      (breadthMm / 2 + wall + wide) * r * plan * s,
      EQUATOR_MM + (heightMm - EQUATOR_MM + wall) * Math.cos(u) - below * (skirtMm + EQUATOR_MM),
    ];
  };
  const rowAt = (heightMm: number): number => {
    let best = 1;
    for (let row = 1; row <= rows; row++) {
      if (Math.abs(at(0, row, 0)[2] - heightMm) < Math.abs(at(0, best, 0)[2] - heightMm)) best = row;
    }
    return best;
  };
  const [browRow, chinRow] = [rowAt(browMm), chinMm === undefined ? rows : rowAt(chinMm)];
  const halfColumns = Math.round((openingDegrees * DEGREE * columns) / (2 * Math.PI));
  const open = (column: number, row: number): boolean => {
    const fromFront = Math.min(column + 1, columns - column);
    return row >= browRow && row < chinRow && fromFront <= halfColumns;
  };
  const ring = columns * rows + 1;
  const positions: number[] = [];
  for (const wall of sheet ? [0] : [wallMm, 0]) {
    positions.push(...at(0, 0, wall));
    for (let row = 1; row <= rows; row++) for (let i = 0; i < columns; i++) positions.push(...at(i, row, wall));
  }
  const vertex = (column: number, row: number, layer: number): number =>
    layer * ring + (row === 0 ? 0 : 1 + (row - 1) * columns + (((column % columns) + columns) % columns));
  const triangles: number[] = [];
  const solid = (column: number, row: number): boolean =>
    row >= 0 && row < rows && !open(((column % columns) + columns) % columns, row);
  // The outer layer looks out; the inner one, and a sheet, looks at the wearer.
  const cell = (i: number, j: number, layer: number, outward: boolean): void => {
    const [a, b, c, d] = [
      vertex(i, j, layer),
      vertex(i, j + 1, layer),
      vertex(i + 1, j + 1, layer),
      vertex(i + 1, j, layer),
    ];
    const faces =
      j === 0
        ? [[a, b, c]]
        : [
            [a, b, c],
            [a, c, d],
          ];
    for (const [p, q, r] of faces) triangles.push(p, ...(outward ? [q, r] : [r, q]));
  };
  const edge = (p: number, q: number): void => {
    triangles.push(p, q, q + ring, p, q + ring, p + ring);
  };
  for (let i = 0; i < columns; i++) {
    for (let j = 0; j < rows; j++) {
      if (!solid(i, j)) continue;
      if (sheet) {
        cell(i, j, 0, false);
        continue;
      }
      cell(i, j, 0, true);
      cell(i, j, 1, false);
      if (!solid(i, j + 1)) edge(vertex(i + 1, j + 1, 0), vertex(i, j + 1, 0));
      if (j > 0 && !solid(i, j - 1)) edge(vertex(i, j, 0), vertex(i + 1, j, 0));
      if (!solid(i - 1, j)) edge(vertex(i, j + 1, 0), vertex(i, j, 0));
      if (!solid(i + 1, j)) edge(vertex(i + 1, j, 0), vertex(i + 1, j + 1, 0));
    }
  }
  const mesh = tidy(positions, triangles, mmPerUnit);
  const middleRow = Math.round(rows * DOME);
  const inFile = (column: number): Vec3 => at(column, middleRow, 0).map((x) => x / mmPerUnit) as unknown as Vec3;
  const [left, right] = [inFile(columns / 4), inFile((3 * columns) / 4)];
  return {
    mesh,
    breadthLeft: left,
    breadthRight: right,
    innerBreadthMm: (left[1] - right[1]) * mmPerUnit,
    mmPerUnit,
  };
}

/** Without the vertices of the opening that no face uses. */
function tidy(positions: readonly number[], triangles: readonly number[], mmPerUnit: number): Mesh {
  const to = new Map<number, number>();
  const kept: number[] = [];
  const used = triangles.map((v) => {
    let now = to.get(v);
    if (now === undefined) {
      now = kept.length / 3;
      to.set(v, now);
      kept.push(positions[3 * v] / mmPerUnit, positions[3 * v + 1] / mmPerUnit, positions[3 * v + 2] / mmPerUnit);
    }
    return now;
  });
  return roundToSingle({ positions: Float64Array.from(kept), triangles: Uint32Array.from(used) });
}
