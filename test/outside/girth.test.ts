import { describe, expect, it } from 'vitest';
import { convexHull } from '../../electron/geometry/measure/convex-hull.ts';
import { planeThrough, tapeGirth } from '../../electron/geometry/measure/girth.ts';
import { transformMesh, translation } from '../../electron/geometry/mesh/transform.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { box, cylinder, ellipsoid } from '../support/solids.ts';

/** Complete elliptic integrals by the arithmetic-geometric mean (Abramowitz and Stegun 17.6), parameter m = k^2. */
function elliptic(m: number): { k: number; e: number } {
  let a = 1,
    b = Math.sqrt(1 - m),
    sum = m / 2,
    power = 1;
  while (Math.abs(a - b) > 1e-16) {
    const c = (a - b) / 2;
    [a, b] = [(a + b) / 2, Math.sqrt(a * b)];
    power *= 2;
    sum += (power * c * c) / 2;
    if (power > 2 ** 40) break;
  }
  const k = Math.PI / (2 * a);
  return { k, e: k * (1 - sum) };
}
const ellipsePerimeter = (a: number, b: number): number => 4 * a * elliptic(1 - (b * b) / (a * a)).e;

const level: { point: Vec3; normal: Vec3 } = { point: [0, 0, 0], normal: [0, 0, 1] };

describe('girths against closed forms', () => {
  it('the elliptic integrals themselves, against the printed table (A&S 17.1)', () => {
    expect(elliptic(0.5).k).toBeCloseTo(1.8540746773014, 11);
    expect(elliptic(0.5).e).toBeCloseTo(1.3506438810477, 11);
    expect(elliptic(0.9).e).toBeCloseTo(1.1047747327041, 11);
    expect(ellipsePerimeter(100, 77)).toBeCloseTo(558.4117073488, 8);
  });

  it('an elliptic section of 100 by 77 reads 558.41 mm', () => {
    const girth = tapeGirth(ellipsoid(100, 77, 90, 6), level);
    // 6 levels: the chord's loss against the ellipse is below 0.01 %
    expect(girth?.length as number).toBeLessThan(558.4117073488);
    expect(girth?.length as number).toBeGreaterThan(558.4117073488 * 0.9999);
  });

  it('a tape round two discs of radius 30, centres 80 apart, spans the hollow: 348.495559', () => {
    const one = cylinder(30, 50, 720);
    const two = transformMesh(translation([80, 0, 0]), one);
    const both: Mesh = {
      positions: Float64Array.from([...one.positions, ...two.positions]),
      triangles: Uint32Array.from([...one.triangles, ...two.triangles.map((v) => v + one.positions.length / 3)]),
    };
    const taped = tapeGirth(both, level);
    expect(taped?.length as number).toBeCloseTo(348.495559, 2);
    expect(taped?.sectionLength as number).toBeCloseTo(2 * Math.PI * 60, 1);
    // asked near one of them only, the tape goes round that one
    expect(tapeGirth(both, level, [[30, 0, 0]])?.length as number).toBeCloseTo(2 * Math.PI * 30, 2);
  });

  it.each([
    [2, 0.0003],
    [10, 0.00773],
    [20, 0.03234],
    [30, 0.07874],
  ])('a tape tilted by %d degrees on a cylinder reads %f more', (degrees, more) => {
    const angle = (degrees * Math.PI) / 180;
    const body = cylinder(50, 400, 1440);
    const girth = tapeGirth(body, { point: [0, 0, 0], normal: [Math.sin(angle), 0, Math.cos(angle)] });
    expect((girth?.length as number) / (2 * Math.PI * 50) - 1).toBeCloseTo(more, 4);
  });

  it('knows a point in the middle of a coarse face as lying on the section', () => {
    const girth = tapeGirth(box(200, 150, 100), level, [[100, 0, 0]]);
    expect(girth?.length as number).toBeCloseTo(2 * (200 + 150), 9);
    expect(girth?.offMax as number).toBeLessThan(1e-9);
    expect(tapeGirth(box(200, 150, 100), level, [[112, 0, 0]])?.offMax as number).toBeCloseTo(12, 9);
  });

  it('misses what the plane misses, and refuses three points in a line', () => {
    expect(tapeGirth(cylinder(50, 100, 24), { point: [0, 0, 51], normal: [0, 0, 1] })).toBeUndefined();
    expect(planeThrough([0, 0, 0], [1, 1, 1], [3, 3, 3])).toBeUndefined();
    expect(planeThrough([0, 0, 5], [1, 0, 5], [0, 1, 5])?.normal).toEqual([0, 0, 1]);
  });

  it('the hull of a square with points inside is the square', () => {
    const points = [
      [0, 0],
      [1, 0],
      [1, 1],
      [0, 1],
      [0.5, 0.5],
      [0.5, 0],
    ].map(([x, y]) => ({ x, y }));
    expect(convexHull(points).length).toBe(4);
  });
});

describe('survey of 2012 (NATICK/TR-15/007, public individual data)', () => {
  it('the mean head girth follows from mean length and breadth as the survey regression says', () => {
    // men: girth = 44.00 + 1.711 length + 1.225 breadth, residual SD 6.2 mm; means 199.5, 154.3 and 574.4
    expect(44 + 1.711 * 199.5 + 1.225 * 154.3).toBeCloseTo(574.4, 0);
    // and our tape round the ellipse of that length and breadth reads 1/1.029 of it, the survey's mean ratio
    const girth = tapeGirth(ellipsoid(199.5 / 2, 154.3 / 2, 90, 6), level)?.length as number;
    expect(574.4 / girth).toBeGreaterThan(1.029 - 0.0115);
    expect(574.4 / girth).toBeLessThan(1.029 + 0.0115);
  });
});
