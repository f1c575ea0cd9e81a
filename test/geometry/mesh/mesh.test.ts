import { describe, expect, it } from 'vitest';
import { dropUnusedVertices, keepFaces } from '../../../electron/geometry/mesh/compact.ts';
import { findPieces } from '../../../electron/geometry/mesh/pieces.ts';
import {
  areaOf,
  boundsMoved,
  boundsOf,
  faceNormals,
  vertexNormals,
  volumeOf,
} from '../../../electron/geometry/mesh/quantities.ts';
import {
  IDENTITY,
  determinant3,
  invert,
  multiply,
  roundToSingle,
  scaling,
  transformMesh,
  transformPoint,
  translation,
} from '../../../electron/geometry/mesh/transform.ts';
import { findTwins, NON_MANIFOLD, OPEN } from '../../../electron/geometry/mesh/twins.ts';
import type { Matrix4, Mesh } from '../../../shared-types/mesh.ts';
import { box, cylinder, icosahedron, sphere, torus } from '../../support/solids.ts';

const twinsOf = (mesh: Mesh) => findTwins(mesh.triangles, mesh.positions.length / 3);

describe('twins', () => {
  it.each([
    ['sphere', sphere(10, 3)],
    ['box', box(1, 2, 3)],
    ['torus', torus(50, 10, 24, 12)],
  ])('pairs every half-edge of a closed %s with one that pairs back', (_name, mesh) => {
    const { twin, openEdges, nonManifoldEdges, flippedEdges } = twinsOf(mesh);
    expect([openEdges, nonManifoldEdges, flippedEdges]).toEqual([0, 0, 0]);
    for (let h = 0; h < twin.length; h++) expect(twin[twin[h]]).toBe(h);
  });

  it('counts open, crowded and wrongly turned edges', () => {
    //   two faces on edge 0-1 running the same way, and a third makes the edge non-manifold
    const flipped = findTwins(Uint32Array.of(0, 1, 2, 0, 1, 3), 4);
    expect(flipped.flippedEdges).toBe(1);
    expect(flipped.openEdges).toBe(4);
    const crowded = findTwins(Uint32Array.of(0, 1, 2, 1, 0, 3, 0, 1, 4), 5);
    expect(crowded.nonManifoldEdges).toBe(1);
    expect(crowded.twin[0]).toBe(NON_MANIFOLD);
    expect(crowded.twin[3]).toBe(NON_MANIFOLD);
    expect(crowded.twin[6]).toBe(NON_MANIFOLD);
    expect(crowded.twin[1]).toBe(OPEN);
  });
});

describe('quantities', () => {
  it('gives the box its exact volume and area, wherever it stands', () => {
    const far = transformMesh(translation([1e6, -2e6, 3e6]), box(200, 150, 100));
    expect(volumeOf(far)).toBeCloseTo(3_000_000, 3);
    expect(areaOf(far)).toBeCloseTo(130_000, 4);
  });

  it('matches the closed form of the icosahedron (edge 1: 2.18169..., 8.66025...)', () => {
    // reference-values.md 3.1, icosahedron row
    const edge = 1 / Math.sin((2 * Math.PI) / 5) / 1; // edge of the icosahedron on a unit sphere is 1/sin(2π/5)
    const mesh = icosahedron(1 / edge);
    expect(volumeOf(mesh)).toBeCloseTo(2.1816949906249, 10);
    expect(areaOf(mesh)).toBeCloseTo(8.6602540378444, 10);
  });

  it('turns normals outward on a sphere', () => {
    const mesh = sphere(50, 3);
    const normals = vertexNormals(mesh);
    for (let i = 0; i < normals.length; i += 3) {
      const dot = [0, 1, 2].reduce((sum, k) => sum + (normals[i + k] * mesh.positions[i + k]) / 50, 0);
      expect(dot).toBeGreaterThan(0.9999);
    }
    expect(faceNormals({ positions: new Float64Array(9), triangles: Uint32Array.of(0, 1, 2) })).toEqual(
      new Float64Array(3),
    );
  });

  it('bounds every vertex', () => {
    expect(boundsOf(box(2, 4, 6).positions)).toEqual({ min: [-1, -2, -3], max: [1, 2, 3] });
    // A quarter turn to the left, then 10 forward and ten times the size.
    const moved = [0, -10, 0, 10, 10, 0, 0, 0, 0, 0, 10, 0, 0, 0, 0, 1] as unknown as Matrix4;
    expect(boundsMoved(box(2, 4, 6).positions, moved)).toEqual({ min: [-10, -10, -30], max: [30, 10, 30] });
  });
});

describe('transforms', () => {
  const turn = [0, -1, 0, 5, 1, 0, 0, 6, 0, 0, 1, 7, 0, 0, 0, 1];

  it('multiplies in the order "first the right one" and inverts', () => {
    const both = multiply(turn, scaling(2));
    expect(transformPoint(both, [1, 0, 0])).toEqual([5, 8, 7]);
    const back = multiply(invert(both), both);
    back.forEach((x, i) => expect(x).toBeCloseTo(IDENTITY[i], 12));
  });

  it('keeps outside outside under a mirror', () => {
    const mirror = [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
    expect(determinant3(mirror)).toBe(-1);
    const mesh = cylinder(10, 20, 24);
    expect(volumeOf(transformMesh(mirror, mesh))).toBeCloseTo(volumeOf(mesh), 8);
  });

  it('rounds to what single precision can hold', () => {
    const mesh = roundToSingle({ positions: Float64Array.of(0.1, 300.123456789, -1), triangles: new Uint32Array(0) });
    expect(Array.from(mesh.positions)).toEqual([Math.fround(0.1), Math.fround(300.123456789), -1]);
  });
});

describe('pieces and compaction', () => {
  it('tells two bodies apart and keeps one', () => {
    const a = sphere(10, 1);
    const b = transformMesh(translation([100, 0, 0]), box(1, 1, 1));
    const offset = a.positions.length / 3;
    const both: Mesh = {
      positions: Float64Array.from([...a.positions, ...b.positions]),
      triangles: Uint32Array.from([...a.triangles, ...b.triangles.map((v) => v + offset)]),
      colours: new Uint8Array(a.positions.length + b.positions.length).fill(7),
    };
    const { pieceOfFace, count } = findPieces(both.triangles, both.positions.length / 3);
    expect(count).toBe(2);
    const kept = keepFaces(
      both,
      Uint8Array.from(pieceOfFace, (piece) => (piece === 1 ? 1 : 0)),
    );
    expect(kept.positions).toEqual(b.positions);
    expect(kept.triangles).toEqual(b.triangles);
    expect(kept.colours?.length).toBe(b.positions.length);
    expect(dropUnusedVertices(a)).toBe(a);
  });
});
