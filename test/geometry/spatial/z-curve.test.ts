import { describe, expect, it } from 'vitest';
import { alongCurve, leadingChange } from '../../../electron/geometry/spatial/z-curve.ts';

/** Boxes of no size about the points. */
function boxesOf(points: readonly (readonly [number, number, number])[]): Float32Array {
  return Float32Array.from(points.flatMap((point) => [...point, ...point]));
}

describe('places along a Z curve', () => {
  it('are the interleaved bits of the coordinates: Morton 1966, the order of a 2 by 2 by 2 grid by hand', () => {
    const corners = [1, 0].flatMap((x) => [1, 0].flatMap((y) => [1, 0].map((z) => [x, y, z] as const)));
    const boxes = boxesOf(corners);
    const faces = Uint32Array.from({ length: 8 }, (_, i) => i);
    const places = alongCurve(boxes, faces);
    // x varies fastest, then y, then z.
    expect(Array.from(boxes.filter((_, i) => i % 6 < 3))).toEqual(
      [0, 1].flatMap((z) => [0, 1].flatMap((y) => [0, 1].flatMap((x) => [x, y, z]))),
    );
    expect([...faces]).toEqual([7, 3, 5, 1, 6, 2, 4, 0]);
    for (let i = 1; i < 8; i++) expect(places[i]).toBeGreaterThan(places[i - 1]);
    expect(leadingChange(places, 0, 8)).toBe(4);
    expect(leadingChange(places, 4, 8)).toBe(6);
    expect(leadingChange(places, 6, 8)).toBe(7);
  });

  it('keep every box with its face, and sort stably what lies at one place', () => {
    let seed = 7;
    const next = (): number => (seed = (seed * 48271) % 2147483647) / 2147483647;
    const points = Array.from({ length: 500 }, () => [next(), 3 * next(), next() - 5] as const);
    points.push(points[3], points[3]);
    const boxes = boxesOf(points);
    const faces = Uint32Array.from(points.keys());
    const places = alongCurve(boxes, faces);
    expect([...faces].sort((a, b) => a - b)).toEqual(points.map((_, i) => i));
    const single = points.map((point) => point.map(Math.fround));
    for (const [i, face] of faces.entries()) expect([...boxes.subarray(i * 6, i * 6 + 3)]).toEqual(single[face]);
    const at = faces.indexOf(3);
    expect([...faces.subarray(at, at + 3)]).toEqual([3, 500, 501]);
    expect(new Set(places.subarray(at, at + 3)).size).toBe(1);
  });
});
