/**
 * The offset surface as a closed manifold mesh, followed from cube to cube.
 *
 * Only cubes the surface passes through are visited, so the cost grows with the area, not the volume. Every patch of
 * the surface in a cube gets one vertex, every cut edge of the grid one face (dual to marching cubes, see
 * cell-patches.ts). Vertices go to where the sheets near the cube meet (crease-solve.ts) but stay in their cube.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { CellMap, roomFor } from './cell-map.ts';
import { EDGE_BETWEEN, EDGE_CORNER, FACE_CORNERS, PATCH_COUNT, PATCH_OF_EDGE } from './cell-patches.ts';
import { addPlane, clearPlanes, meetPlanes, MOST_SHEETS, nearestOfSheets, place } from './crease-solve.ts';
import type { SignedField } from './signed-field.ts';

/** Bits of each index of a grid point: 131,072 points along each axis. */
const AXIS_BITS = 17;
const ROW = 2 ** AXIS_BITS;
const LAYER = ROW * ROW;
const STEP = [1, ROW, LAYER] as const;
/** Keeps the grid off the form's own planes, in cells. */
const SHIFT = [0.3183, 0.2718, 0.4142] as const;
/** Steps along a seed's normal to find a cut cube, in cells. */
const SEED_STEPS = [0, -0.5, 0.5, -1, 1, -1.5, 1.5, -2, 2] as const;
/** How near the wall of its cube a vertex may come, in cells. */
const WALL = 1 / 64;
/** A grid point nearer the form than this share of a cell has no sure direction. */
const LEAST_SHARE = 1 / 4096;
const STRIDE = 1023;

export const TRACK_PHASE = 'surface';
/** Sheets remembered per vertex. */
export const VERTEX_SHEETS = 8;

/** A mesh under work: polygons already cut into triangles, and the faces of the form each vertex answers to. */
export interface TrackedSurface {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  /** VERTEX_SHEETS per vertex, -1 where fewer. */
  readonly sheets: Int32Array;
}

export class SurfaceTracker {
  readonly field: SignedField;
  readonly offset: number;
  readonly cell: number;
  readonly #run: RunContext;
  readonly #origin: number[];
  readonly #nodes = new CellMap();
  #value = new Float64Array(1 << 14);
  #foot = new Float64Array(3 << 14);
  #face = new Int32Array(1 << 14);
  readonly #cells = new CellMap();
  #pattern = new Uint8Array(1 << 14);
  #corners = new Int32Array(8 << 14);
  readonly #mapped = new Int32Array(8);

  constructor(field: SignedField, offset: number, cell: number, low: readonly number[], run: RunContext) {
    this.field = field;
    this.offset = offset;
    this.cell = cell;
    this.#run = run;
    this.#origin = low.map((x, k) => x - (4 + SHIFT[k]) * cell);
  }

  get cellCount(): number {
    return this.#cells.size;
  }

  #keyAt(x: number, y: number, z: number): number {
    const o = this.#origin;
    const i = Math.floor((x - o[0]) / this.cell),
      j = Math.floor((y - o[1]) / this.cell),
      k = Math.floor((z - o[2]) / this.cell);
    return i + j * ROW + k * LAYER;
  }

  /** Value at a grid point; `near` is a grid point nearby already known, or -1. */
  #node(key: number, near: number): number {
    let node = this.#nodes.find(key);
    if (node >= 0) return node;
    node = this.#nodes.add(key);
    this.#value = roomFor(this.#value, node + 1);
    this.#foot = roomFor(this.#foot, (node + 1) * 3);
    this.#face = roomFor(this.#face, node + 1);
    const x = this.#origin[0] + this.cell * (key % ROW),
      y = this.#origin[1] + this.cell * (Math.floor(key / ROW) % ROW),
      z = this.#origin[2] + this.cell * Math.floor(key / LAYER);
    const foot = this.#foot;
    const at = near * 3;
    const dx = x - foot[at],
      dy = y - foot[at + 1],
      dz = z - foot[at + 2];
    const within = near < 0 ? Infinity : Math.sqrt(dx * dx + dy * dy + dz * dz);
    const field = this.field;
    this.#value[node] = field.at(x, y, z, within) - this.offset;
    foot[node * 3] = field.x;
    foot[node * 3 + 1] = field.y;
    foot[node * 3 + 2] = field.z;
    this.#face[node] = field.face;
    return node;
  }

  /** Whether the cube at a point of the surface, or one a few steps along the normal, was already followed. */
  knows(x: number, y: number, z: number, nx: number, ny: number, nz: number): boolean {
    for (const step of SEED_STEPS) {
      const s = step * this.cell;
      if (this.#cells.find(this.#keyAt(x + s * nx, y + s * ny, z + s * nz)) >= 0) return true;
    }
    return false;
  }

  /** Follow the piece of the surface that passes through this point; false when no cut cube is near. */
  follow(x: number, y: number, z: number, nx: number, ny: number, nz: number): boolean {
    for (const step of SEED_STEPS) {
      const s = step * this.cell;
      const key = this.#keyAt(x + s * nx, y + s * ny, z + s * nz);
      if (this.#cells.find(key) >= 0) return true;
      const first = this.#cells.size;
      if (this.#visit(key, -1)) {
        this.#flood(first);
        return true;
      }
    }
    return false;
  }

  /** Look at one cube; it is kept when the surface cuts it. */
  #visit(key: number, near: number): boolean {
    let pattern = 0;
    const mapped = this.#mapped;
    for (let c = 0; c < 8; c++) {
      const node = this.#node(key + (c & 1) + ((c >> 1) & 1) * ROW + (c >> 2) * LAYER, near);
      near = node;
      mapped[c] = node;
      if (this.#value[node] < 0) pattern |= 1 << c;
    }
    if (pattern === 0 || pattern === 255) return false;
    const cell = this.#cells.add(key);
    this.#pattern = roomFor(this.#pattern, cell + 1);
    this.#corners = roomFor(this.#corners, (cell + 1) * 8);
    this.#pattern[cell] = pattern;
    this.#corners.set(mapped, cell * 8);
    return true;
  }

  #flood(first: number): void {
    for (let cell = first; cell < this.#cells.size; cell++) {
      if ((cell & STRIDE) === 0) this.#run.step(TRACK_PHASE, cell / (cell + 20_000), 2);
      const pattern = this.#pattern[cell];
      const key = this.#cells.keys[cell];
      for (let f = 0; f < 6; f++) {
        const ring = FACE_CORNERS[f];
        const count =
          ((pattern >> ring[0]) & 1) +
          ((pattern >> ring[1]) & 1) +
          ((pattern >> ring[2]) & 1) +
          ((pattern >> ring[3]) & 1);
        if (count === 0 || count === 4) continue;
        const next = key + ((f & 1) === 1 ? STEP[f >> 1] : -STEP[f >> 1]);
        if (this.#cells.find(next) < 0) this.#visit(next, this.#corners[cell * 8 + ring[0]]);
      }
    }
  }

  /** Cut edge of the grid between two corners: where it is crossed, by straight interpolation. */
  #crossing(cell: number, edge: number, out: Float64Array): void {
    const low = EDGE_CORNER[edge];
    const axis = edge >> 2;
    const a = this.#value[this.#corners[cell * 8 + low]],
      b = this.#value[this.#corners[cell * 8 + low + (1 << axis)]];
    const t = a / (a - b);
    const key = this.#cells.keys[cell];
    const o = this.#origin;
    out[0] = o[0] + this.cell * ((key % ROW) + (low & 1) + (axis === 0 ? t : 0));
    out[1] = o[1] + this.cell * ((Math.floor(key / ROW) % ROW) + ((low >> 1) & 1) + (axis === 1 ? t : 0));
    out[2] = o[2] + this.cell * (Math.floor(key / LAYER) + (low >> 2) + (axis === 2 ? t : 0));
  }

  /** The mesh of all that was followed. `exact` false leaves vertices at the mean of their crossings. */
  surface(exact: boolean): TrackedSurface {
    const cells = this.#cells.size;
    const firstVertex = new Int32Array(cells + 1);
    for (let cell = 0; cell < cells; cell++)
      firstVertex[cell + 1] = firstVertex[cell] + PATCH_COUNT[this.#pattern[cell]];
    let positions = new Float64Array(firstVertex[cells] * 3);
    let sheets = new Int32Array(firstVertex[cells] * VERTEX_SHEETS).fill(-1);
    const point = new Float64Array(3);
    for (let cell = 0; cell < cells; cell++) {
      if ((cell & STRIDE) === 0) this.#run.step(TRACK_PHASE, cells + cell, 2 * cells);
      const pattern = this.#pattern[cell];
      for (let patch = 0; patch < PATCH_COUNT[pattern]; patch++) {
        this.#placeVertex(cell, patch, firstVertex[cell] + patch, positions, sheets, point, exact);
      }
    }

    // Faces: for each cut edge at the low corner of a cube, the four cubes round it.
    const ring = new Int32Array(8);
    const triangles: number[] = [];
    const doubled = new Map<number, number>();
    let vertexCount = firstVertex[cells];
    for (let cell = 0; cell < cells; cell++) {
      const pattern = this.#pattern[cell];
      const lowInside = pattern & 1;
      for (let axis = 0; axis < 3; axis++) {
        if (((pattern >> (1 << axis)) & 1) === lowInside) continue;
        const u = (axis + 1) % 3,
          v = (axis + 2) % 3;
        const key = this.#cells.keys[cell];
        let corners = 0;
        // Cubes counter-clockwise seen from the axis' far end; the edge's low corner in each of them.
        for (let k = 0; k < 4; k++) {
          const du = k === 1 || k === 2 ? 1 : 0,
            dv = k === 2 || k === 3 ? 1 : 0;
          const other = this.#cells.find(key - du * STEP[u] - dv * STEP[v]);
          const low = (du << u) | (dv << v);
          const edge = EDGE_BETWEEN[low * 8 + low + (1 << axis)];
          const vertex = firstVertex[other] + PATCH_OF_EDGE[this.#pattern[other] * 12 + edge];
          ring[corners++] = vertex;
          // To the next cube the way leads through a grid face; if it is cut twice between the same two vertices,
          // the two ways are kept apart by a vertex of their own.
          const nu = k === 0 || k === 1 ? 1 : 0,
            nv = k === 1 || k === 2 ? 1 : 0;
          const next = this.#cells.find(key - nu * STEP[u] - nv * STEP[v]);
          const extra = this.#doubleWay(other, next, edge, low, firstVertex, doubled, vertexCount);
          if (extra >= 0) {
            if (extra === vertexCount) {
              vertexCount++;
              positions = roomFor(positions, vertexCount * 3);
              const wider = roomFor(sheets, vertexCount * VERTEX_SHEETS);
              if (wider !== sheets) wider.fill(-1, sheets.length);
              sheets = wider;
              this.#crossing(other, edge, point);
              positions.set(point, extra * 3);
              for (let s = 0; s < VERTEX_SHEETS; s++)
                sheets[extra * VERTEX_SHEETS + s] = sheets[vertex * VERTEX_SHEETS + s];
            } else {
              this.#crossing(other, edge, point);
              for (let c = 0; c < 3; c++) positions[extra * 3 + c] = (positions[extra * 3 + c] + point[c]) / 2;
            }
            ring[corners++] = extra;
          }
        }
        if (lowInside === 0) ring.subarray(0, corners).reverse();
        this.#cut(ring, corners, positions, sheets, triangles);
      }
    }
    return {
      positions: positions.slice(0, vertexCount * 3),
      triangles: Uint32Array.from(triangles),
      sheets: sheets.slice(0, vertexCount * VERTEX_SHEETS),
    };
  }

  #placeVertex(
    cell: number,
    patch: number,
    vertex: number,
    positions: Float64Array,
    sheets: Int32Array,
    point: Float64Array,
    exact: boolean,
  ): void {
    const pattern = this.#pattern[cell];
    let x = 0,
      y = 0,
      z = 0,
      n = 0,
      used = 0;
    for (let edge = 0; edge < 12; edge++) {
      if (PATCH_OF_EDGE[pattern * 12 + edge] !== patch) continue;
      this.#crossing(cell, edge, point);
      x += point[0];
      y += point[1];
      z += point[2];
      n++;
      used |= (1 << EDGE_CORNER[edge]) | (1 << (EDGE_CORNER[edge] + (1 << (edge >> 2))));
    }
    place[0] = x / n;
    place[1] = y / n;
    place[2] = z / n;
    const list = sheets.subarray(vertex * VERTEX_SHEETS, (vertex + 1) * VERTEX_SHEETS);
    let count = 0;
    for (let c = 0; c < 8; c++) {
      if (((used >> c) & 1) === 0) continue;
      const face = this.#face[this.#corners[cell * 8 + c]];
      let known = false;
      for (let s = 0; s < count; s++) if (list[s] === face) known = true;
      if (!known && count < VERTEX_SHEETS) list[count++] = face;
    }
    if (exact) {
      // Each corner's own tangent plane of its offset.
      const key = this.#cells.keys[cell];
      const index = [key % ROW, Math.floor(key / ROW) % ROW, Math.floor(key / LAYER)];
      clearPlanes();
      for (let c = 0; c < 8; c++) {
        if (((used >> c) & 1) === 0) continue;
        const node = this.#corners[cell * 8 + c];
        const distance = this.#value[node] + this.offset;
        if (Math.abs(distance) < this.cell * LEAST_SHARE) continue;
        const fx = this.#foot[node * 3],
          fy = this.#foot[node * 3 + 1],
          fz = this.#foot[node * 3 + 2];
        const nx = (this.#origin[0] + this.cell * (index[0] + (c & 1)) - fx) / distance,
          ny = (this.#origin[1] + this.cell * (index[1] + ((c >> 1) & 1)) - fy) / distance,
          nz = (this.#origin[2] + this.cell * (index[2] + (c >> 2)) - fz) / distance;
        addPlane(fx + this.offset * nx, fy + this.offset * ny, fz + this.offset * nz, nx, ny, nz);
      }
      meetPlanes();
      for (let k = 0; k < 3; k++) {
        const low = this.#origin[k] + this.cell * (index[k] + WALL);
        const high = this.#origin[k] + this.cell * (index[k] + 1 - WALL);
        place[k] = Math.min(high, Math.max(low, place[k]));
      }
    }
    positions[vertex * 3] = place[0];
    positions[vertex * 3 + 1] = place[1];
    positions[vertex * 3 + 2] = place[2];
  }

  /** Vertex number of the second way between two vertices through a doubly cut grid face, or -1. */
  #doubleWay(
    cellA: number,
    cellB: number,
    edge: number,
    low: number,
    firstVertex: Int32Array,
    doubled: Map<number, number>,
    fresh: number,
  ): number {
    const step = this.#cells.keys[cellB] - this.#cells.keys[cellA];
    const axis = Math.abs(step) === 1 ? 0 : Math.abs(step) === ROW ? 1 : 2;
    const ringA = FACE_CORNERS[axis * 2 + (step > 0 ? 1 : 0)];
    const patternA = this.#pattern[cellA];
    const b0 = (patternA >> ringA[0]) & 1;
    if (
      ((patternA >> ringA[1]) & 1) === b0 ||
      ((patternA >> ringA[2]) & 1) !== b0 ||
      ((patternA >> ringA[3]) & 1) === b0
    ) {
      return -1;
    }
    const ringB = FACE_CORNERS[axis * 2 + (step > 0 ? 0 : 1)];
    const patternB = this.#pattern[cellB];
    const patches = (pattern: number, ring: readonly number[]): number[] => {
      const found: number[] = [];
      for (let k = 0; k < 4; k++) {
        const a = ring[k],
          b = ring[(k + 1) % 4];
        found.push(PATCH_OF_EDGE[pattern * 12 + EDGE_BETWEEN[a < b ? a * 8 + b : b * 8 + a]]);
      }
      return found;
    };
    const same = (p: number[]): boolean => p.every((patch) => patch === p[0]);
    if (!same(patches(patternA, ringA)) || !same(patches(patternB, ringB))) return -1;
    // The way is named by the outside corner it goes round.
    const high = low + (1 << (edge >> 2));
    const outside = ((patternA >> low) & 1) === 0 ? low : high;
    const node = this.#corners[cellA * 8 + outside];
    const key = (node * 3 + axis) * firstVertex.length + Math.min(cellA, cellB);
    const known = doubled.get(key);
    if (known !== undefined) return known;
    doubled.set(key, fresh);
    return fresh;
  }

  /** Cut a polygon into triangles: a quad along the diagonal that keeps nearer the offset, others in a fan. */
  #cut(ring: Int32Array, corners: number, p: Float64Array, sheets: Int32Array, triangles: number[]): void {
    if (corners === 4) {
      const missOf = (a: number, b: number): number => {
        let count = 0;
        for (const v of [a, b]) {
          for (let s = v * VERTEX_SHEETS; s < (v + 1) * VERTEX_SHEETS && sheets[s] >= 0; s++)
            scratch[count++] = sheets[s];
        }
        const x = (p[a * 3] + p[b * 3]) / 2,
          y = (p[a * 3 + 1] + p[b * 3 + 1]) / 2,
          z = (p[a * 3 + 2] + p[b * 3 + 2]) / 2;
        const wanted = this.offset + this.field.shift(x, y, z, this.offset);
        return Math.abs(nearestOfSheets(this.field.mesh, scratch, count, x, y, z) - Math.abs(wanted));
      };
      const [a, b, c, d] = [ring[0], ring[1], ring[2], ring[3]];
      if (missOf(a, c) <= missOf(b, d)) triangles.push(a, b, c, a, c, d);
      else triangles.push(b, c, d, b, d, a);
      return;
    }
    // Begin at a vertex of the second kind, so that no triangle lies between the same two vertices twice.
    let start = 0;
    for (let k = 0; k < corners; k++) if (ring[k] > ring[start]) start = k;
    for (let k = 1; k + 1 < corners; k++) {
      triangles.push(ring[start], ring[(start + k) % corners], ring[(start + k + 1) % corners]);
    }
  }
}

const scratch = new Int32Array(MOST_SHEETS);
