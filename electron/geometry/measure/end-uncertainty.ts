/**
 * How well the surface itself fixes the end of a span: across the surface no better than the mesh is fine, along its
 * normal no better than it is smooth.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { eigenSymmetric } from '../register/similarity.ts';

/** Vertices looked at around the point: enough for a fit, few enough to stay local. */
const NEIGHBOURS = 24;
const FEWEST = 10;
/** Of those within the radius asked for, at most so many are fitted. */
const MOST = 64;
/** Share of the radius from which what looks like roughness is an edge, a fold or the other side of a thin wall. */
const FOLDED = 0.1;
/** Share of the spacing within which a point counts as a vertex: what rounding to single precision does to it. */
const AT_VERTEX = 2 ** -10;
/** Vertices gone through between two ticks: a few milliseconds. */
const TICK_ITEMS = 24_576;

export interface SurfaceNear {
  /** Unit normal (either way) of the plane through the nearby vertices. */
  readonly normal: Vec3;
  /** Distance from vertex to vertex hereabouts, mesh units: that of evenly spread points as dense as these. */
  readonly spacing: number;
  /** Standard deviation of the nearby vertices from the smooth (second-order) surface through them, mesh units. */
  readonly roughness: number;
  /** The point is a vertex of the mesh, so that nothing lies between it and what the mesh knows. */
  readonly atVertex: boolean;
}

/**
 * The surface near a point, from the vertices within `radius` of it, or the 24 nearest where those reach farther: noise
 * that is smooth from vertex to vertex shows only over a stretch. Undefined for meshes of fewer than 10 vertices.
 * O(vertices). What lies close behind a thin fold is taken for the same surface.
 */
export function surfaceNear(mesh: Mesh, point: Vec3, tick?: () => void, radius = 0): SurfaceNear | undefined {
  const { positions: p } = mesh;
  const count = p.length / 3;
  if (count < FEWEST) return undefined;
  // The nearest ones, kept sorted: insertion, as few get in.
  const nearest: number[] = [];
  const squares: number[] = [];
  const within: number[] = [];
  let limit = Infinity;
  for (let v = 0; v < count; v++) {
    if (v % TICK_ITEMS === 0) tick?.();
    const square = (p[v * 3] - point[0]) ** 2 + (p[v * 3 + 1] - point[1]) ** 2 + (p[v * 3 + 2] - point[2]) ** 2;
    if (square < radius * radius) within.push(v);
    if (!(square < limit)) continue;
    let at = squares.length;
    while (at > 0 && squares[at - 1] > square) at--;
    squares.splice(at, 0, square);
    nearest.splice(at, 0, v);
    if (squares.length > NEIGHBOURS) {
      squares.pop();
      nearest.pop();
    }
    if (squares.length === NEIGHBOURS) limit = squares[NEIGHBOURS - 1];
  }
  const reach = Math.sqrt(squares[squares.length - 1]);
  // n points spread evenly over a disc lie about sqrt(2 / sqrt 3 · area / n) apart (hexagonal packing).
  const spacing = Math.sqrt((2 / Math.sqrt(3)) * Math.PI * (reach * reach) * (1 / squares.length));
  const isMany = within.length > nearest.length;
  const fitted = isMany ? within.filter((_, i) => i % Math.ceil(within.length / MOST) === 0) : nearest;
  const far = isMany ? radius : reach;
  const n = fitted.length;
  const centre = [0, 1, 2].map((k) => fitted.reduce((sum, v) => sum + p[v * 3 + k], 0) / n);
  const spread = new Float64Array(9);
  for (const v of fitted) {
    for (let r = 0; r < 3; r++)
      for (let c = 0; c < 3; c++) spread[r * 3 + c] += (p[v * 3 + r] - centre[r]) * (p[v * 3 + c] - centre[c]);
  }
  const [u, w, normal] = eigenSymmetric(Array.from(spread), 3).vectors as unknown as readonly Vec3[];
  // Height over the plane as 1, x, y, x², xy, y²: least squares by normal equations, coordinates scaled to 1.
  const rows: number[][] = fitted.map((v) => {
    const d = [0, 1, 2].map((k) => (p[v * 3 + k] - centre[k]) / (far || 1));
    const along = (a: Vec3): number => a[0] * d[0] + a[1] * d[1] + a[2] * d[2];
    const x = along(u),
      y = along(w);
    return [1, x, y, x * x, x * y, y * y, along(normal)];
  });
  const left = leastSquaresLeft(rows);
  const freedom = n - 6;
  const roughness = freedom > 0 ? far * Math.sqrt(left / freedom) : 0;
  return {
    normal,
    spacing,
    // A fold or an edge is no roughness, and says nothing about it.
    roughness: roughness < FOLDED * far ? roughness : 0,
    atVertex: Math.sqrt(squares[0]) <= AT_VERTEX * spacing,
  };
}

/** What is left of the sum of squares of the last column after fitting the others to it. */
function leastSquaresLeft(rows: readonly (readonly number[])[]): number {
  const columns = rows[0].length;
  // Modified Gram-Schmidt, column by column; a column that adds nothing is passed over.
  const q: number[][] = [];
  let left = 0;
  for (let c = 0; c < columns; c++) {
    const column = rows.map((row) => row[c]);
    const before = column.reduce((sum, x) => sum + x * x, 0);
    for (const base of q) {
      const share = column.reduce((sum, x, i) => sum + x * base[i], 0);
      column.forEach((_, i) => (column[i] -= share * base[i]));
    }
    const after = column.reduce((sum, x) => sum + x * x, 0);
    if (c === columns - 1) left = after;
    else if (after > NOTHING_NEW * before) q.push(column.map((x) => x / Math.sqrt(after)));
  }
  return left;
}

/** Share of a column's square from which it says something of its own. */
const NOTHING_NEW = 2 ** -40;

/**
 * Standard uncertainty, mesh units, that the surface lends to a length ending at `point` in the unit direction `along`:
 * across the surface a point is known to half the spacing of its vertices either way (rectangular, JCGM 100:2008
 * 4.3.7; a vertex itself is known), along the normal to the roughness. Nothing is said of how well a person picked the point.
 */
export function endUncertainty(near: SurfaceNear, along: Vec3): number {
  const facing = Math.min(
    1,
    Math.abs(near.normal[0] * along[0] + near.normal[1] * along[1] + near.normal[2] * along[2]),
  );
  const across = near.atVertex ? 0 : Math.sqrt(1 - facing * facing) * (near.spacing / Math.sqrt(12));
  return Math.hypot(across, facing * near.roughness);
}
