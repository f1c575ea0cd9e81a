/** Untangling: a vertex pushed along its sheet past its neighbours goes, and nothing else does. */
import { describe, expect, it } from 'vitest';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { FootedSurface } from '../../../electron/geometry/offset/footed-surface.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { untangle } from '../../../electron/geometry/offset/untangle.ts';
import { findSelfIntersections } from '../../../electron/geometry/spatial/self-intersections.ts';
import { sphere } from '../../support/solids.ts';

/** A ball of 25 mm over one of 20; its vertex nearest the x axis turned about z, which keeps it on its sheet. */
function pushed(radians: number): FootedSurface {
  const field = new SignedField(sphere(20, 3));
  const { positions, triangles } = sphere(25, 3);
  let at = 0;
  for (let i = 0; i < positions.length; i += 3) if (positions[i] > positions[at]) at = i;
  const [x, y] = [positions[at], positions[at + 1]];
  positions[at] = x * Math.cos(radians) - y * Math.sin(radians);
  positions[at + 1] = x * Math.sin(radians) + y * Math.cos(radians);
  const surface = new FootedSurface(field, 5, positions, triangles);
  for (let v = 0; v < surface.vertexCount; v++) {
    field.at(positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]);
    surface.footOf(v);
  }
  return surface;
}

const meshOf = ({ p, t }: FootedSurface) => ({ positions: p, triangles: t });

/** Faces that look toward the middle of the ball: their corners' triple product is negative. */
function inwardFaces({ p, t }: FootedSurface): number {
  let count = 0;
  for (let f = 0; f < t.length; f += 3) {
    const [a, b, c] = [t[f] * 3, t[f + 1] * 3, t[f + 2] * 3];
    const triple =
      p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1]) +
      p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2]) +
      p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c]);
    if (triple < 0) count++;
  }
  return count;
}

describe('untangle', () => {
  it('leaves a ball alone', () => {
    const surface = pushed(0);
    const before = surface.t.slice();
    expect(untangle(surface)).toBe(0);
    expect(surface.t).toEqual(before);
  });

  it('merges a vertex that has overtaken its neighbours: closed, free of cuts, two faces fewer for each', () => {
    const surface = pushed(0.35);
    const faces = surface.t.length / 3;
    const volume = volumeOf(meshOf(pushed(0)));
    expect(inwardFaces(surface)).toBeGreaterThan(0);
    const gone = untangle(surface);
    expect(gone).toBeGreaterThan(0);
    expect(surface.t.length / 3).toBe(faces - 2 * gone);
    const twins = findTwins(surface.t, surface.vertexCount);
    expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
    expect(inwardFaces(surface)).toBe(0);
    expect(findSelfIntersections(meshOf(surface))).toEqual([]);
    expect(volumeOf(meshOf(surface)) / volume).toBeCloseTo(1, 2);
  });
});
