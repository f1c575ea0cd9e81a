/**
 * Where a plane cuts a mesh, as lines on the plane's own sheet.
 *
 * Each face that the plane passes gives one piece between two of its edges; pieces are joined over the edges they share,
 * so a closed mesh gives closed lines. A vertex exactly on the plane counts as above it: no piece is counted twice.
 * Lines come in the order of the faces; those that end at a border stay open. O(faces).
 */
import type { Vec3 } from '../../shared-types/mesh.ts';

export interface Sheet {
  readonly origin: Vec3;
  readonly right: Vec3;
  readonly up: Vec3;
}

export interface CutLine {
  readonly closed: boolean;
  /** xy pairs on the sheet. */
  readonly points: Float64Array;
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const unit = (a: Vec3): Vec3 => {
  const length = Math.hypot(...a) || 1;
  return [a[0] / length, a[1] / length, a[2] / length];
};

/** Axes on a plane: what is up on the body is up on the sheet; on a level plane the face is up. */
export function sheetOf(point: Vec3, normal: Vec3): Sheet {
  const n = unit(normal);
  const lead: Vec3 = Math.abs(n[2]) > 0.9 ? [1, 0, 0] : [0, 0, 1];
  const right = unit(cross(lead, n));
  return { origin: point, right, up: cross(n, right) };
}

export function cutLines(positions: Float32Array, triangles: Uint32Array, sheet: Sheet): CutLine[] {
  const normal = cross(sheet.right, sheet.up);
  const vertexCount = positions.length / 3;
  const heights = new Float64Array(vertexCount);
  const level = dot(normal, sheet.origin);
  for (let vertex = 0, at = 0; vertex < vertexCount; vertex++, at += 3) {
    heights[vertex] = normal[0] * positions[at] + normal[1] * positions[at + 1] + normal[2] * positions[at + 2] - level;
  }
  const key = (a: number, b: number): number => (a < b ? a * vertexCount + b : b * vertexCount + a);
  // a piece runs from the edge where its face goes down to the edge where it comes up, so one direction all along
  const next = new Map<number, number>();
  const loose: [number, number][] = [];
  const isEnd = new Set<number>();
  for (let corner = 0; corner < triangles.length; corner += 3) {
    // a corner that is no number is above nothing and below nothing
    if (
      !Number.isFinite(heights[triangles[corner]] + heights[triangles[corner + 1]] + heights[triangles[corner + 2]])
    ) {
      continue;
    }
    let down = -1;
    let up = -1;
    for (let k = 0; k < 3; k++) {
      const a = triangles[corner + k];
      const b = triangles[corner + ((k + 1) % 3)];
      const isAbove = heights[a] >= 0;
      if (isAbove === heights[b] >= 0) continue;
      if (isAbove) down = key(a, b);
      else up = key(a, b);
    }
    if (down < 0 || up < 0) continue;
    if (next.has(down)) loose.push([down, up]);
    else next.set(down, up);
    isEnd.add(up);
  }
  const place = (edge: number, into: number[]): void => {
    const a = Math.floor(edge / vertexCount);
    const b = edge % vertexCount;
    const t = heights[a] / (heights[a] - heights[b]);
    const point = [0, 1, 2].map(
      (k) => positions[a * 3 + k] + t * (positions[b * 3 + k] - positions[a * 3 + k]) - sheet.origin[k],
    ) as unknown as Vec3;
    into.push(dot(point, sheet.right), dot(point, sheet.up));
  };
  const lines: CutLine[] = [];
  const follow = (start: number): void => {
    const points: number[] = [];
    let edge: number | undefined = start;
    let closed = false;
    while (edge !== undefined) {
      place(edge, points);
      const after: number | undefined = next.get(edge);
      next.delete(edge);
      if (after === start) {
        closed = true;
        break;
      }
      edge = after;
    }
    if (points.length > 2) lines.push({ closed, points: Float64Array.from(points) });
  };
  // open lines first, from their beginnings, so that none is taken up in its middle
  for (const start of Array.from(next.keys())) if (!isEnd.has(start)) follow(start);
  for (const start of Array.from(next.keys())) if (next.has(start)) follow(start);
  for (const [from, to] of loose) {
    const points: number[] = [];
    place(from, points);
    place(to, points);
    lines.push({ closed: false, points: Float64Array.from(points) });
  }
  return lines;
}

function isInside(x: number, y: number, loop: Float64Array): boolean {
  let inside = false;
  for (let k = 0, before = loop.length - 2; k < loop.length; before = k, k += 2) {
    const y0 = loop[before + 1],
      y1 = loop[k + 1];
    if (y0 > y !== y1 > y && x < loop[before] + ((y - y0) / (y1 - y0)) * (loop[k] - loop[before])) inside = !inside;
  }
  return inside;
}

/** Groups closed lines into outlines with their holes by how deep each lies in the others. O(lines² · points). */
export function nested(loops: readonly Float64Array[]): { outline: Float64Array; holes: Float64Array[] }[] {
  const holders = loops.map((loop) => loops.filter((other) => other !== loop && isInside(loop[0], loop[1], other)));
  return loops.flatMap((outline, at) => {
    if (holders[at].length % 2 === 1) return [];
    const holes = loops.filter(
      (hole, of) => holders[of].length === holders[at].length + 1 && holders[of].includes(outline) && hole !== outline,
    );
    return [{ outline, holes }];
  });
}
