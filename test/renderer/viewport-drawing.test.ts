import { describe, expect, it } from 'vitest';
import { coarseFaces } from '../../renderer/viewport/coarse-faces.ts';
import { easeColour, legendOf, oklabOf, roundStep, texelsOf } from '../../renderer/viewport/scale-colours.ts';
import { edgePairs, packedNormals } from '../../renderer/viewport/surface-normals.ts';
import { bandOf } from '../../renderer/viewport/tapes.ts';
import { box, sphere } from '../support/solids.ts';

describe('the stand-in of a heavy mesh', () => {
  const ball = sphere(100, 6);
  const positions = Float32Array.from(ball.positions);

  it('has about as many faces as asked, over the same vertices, and never a needle without width', () => {
    for (const wanted of [1000, 4000]) {
      const faces = coarseFaces(positions, ball.triangles, wanted);
      expect(faces.length / 3).toBeGreaterThan(wanted * 0.3);
      expect(faces.length / 3).toBeLessThan(wanted * 3);
      for (let corner = 0; corner < faces.length; corner += 3) {
        const [a, b, c] = faces.subarray(corner, corner + 3);
        expect(a !== b && b !== c && c !== a).toBe(true);
        expect(Math.max(a, b, c) * 3).toBeLessThan(positions.length);
      }
    }
  });

  it('still covers the ball: no hole a cell wide', () => {
    const faces = coarseFaces(positions, ball.triangles, 4000);
    let area = 0;
    const at = (vertex: number): number[] => Array.from(positions.subarray(vertex * 3, vertex * 3 + 3));
    for (let corner = 0; corner < faces.length; corner += 3) {
      const [a, b, c] = [at(faces[corner]), at(faces[corner + 1]), at(faces[corner + 2])];
      const u = b.map((x, k) => x - a[k]);
      const v = c.map((x, k) => x - a[k]);
      area += Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
    }
    // Archimedes: 4 π r²
    expect(area / (4 * Math.PI * 1e4)).toBeGreaterThan(0.95);
    expect(area / (4 * Math.PI * 1e4)).toBeLessThan(1.1);
  });

  it('of a broken mesh is empty or plain, and does not hang', () => {
    expect(coarseFaces(new Float32Array(9), Uint32Array.of(0, 1, 2), 10).length).toBe(0);
    expect(coarseFaces(Float32Array.of(NaN, 0, 0, 1, 1, 1, 2, 0, 0), Uint32Array.of(0, 1, 2), 10).length % 3).toBe(0);
    expect(coarseFaces(new Float32Array(0), new Uint32Array(0), 10).length).toBe(0);
  });
});

describe('normals and edges for drawing', () => {
  it('point outward along the radius of a ball', () => {
    const ball = sphere(50, 4);
    const packed = packedNormals(Float32Array.from(ball.positions), ball.triangles);
    for (let vertex = 0; vertex < ball.positions.length / 3; vertex++) {
      let along = 0;
      for (let k = 0; k < 3; k++) along += (packed[vertex * 4 + k] / 32767) * (ball.positions[vertex * 3 + k] / 50);
      expect(along).toBeGreaterThan(0.999);
    }
  });

  it('give each edge of a closed mesh once (Euler: 3F/2)', () => {
    const cube = box(1, 1, 1);
    const pairs = edgePairs(cube.triangles);
    expect(pairs.length / 2).toBe(cube.triangles.length / 2);
    const names = new Set(Array.from({ length: pairs.length / 2 }, (_, k) => `${pairs[2 * k]} ${pairs[2 * k + 1]}`));
    expect(names.size).toBe(pairs.length / 2);
  });
});

describe('the tape', () => {
  it('counts its millimetres along the line, all the way round', () => {
    const count = 360;
    const points = Float64Array.from(
      Array.from({ length: count }, (_, k) => [
        90 * Math.cos((k * Math.PI) / 180),
        90 * Math.sin((k * Math.PI) / 180),
        7,
      ]).flat(),
    );
    const { positions, onTape } = bandOf(points, true);
    expect(positions.length / 6).toBe(count + 1);
    // a polygon in a circle: 2 n r sin(π/n)
    expect(onTape[onTape.length - 2]).toBeCloseTo(2 * count * 90 * Math.sin(Math.PI / count), 2);
    // it stands across the way it runs, half on either side
    expect((positions[2] + positions[5]) / 2).toBeCloseTo(7, 5);
    expect(Math.abs(positions[5] - positions[2])).toBeCloseTo(9, 5);
    expect(bandOf(points, false).positions.length / 6).toBe(count);
    expect(bandOf(new Float64Array(6), true).positions.every(Number.isFinite)).toBe(true);
  });
});

describe('the legend', () => {
  it('steps in 1, 2 and 5', () => {
    expect([16, 20, 1, 0.35, 7].map((range) => roundStep(range))).toEqual([2, 2, 0.1, 0.05, 1]);
  });

  it('ticks lie on contours, ends are counted, and the colours are those of the map', () => {
    const scale = { minMm: -3, maxMm: 3, kind: 'deviation', contourMm: 0.5 } as const;
    const legend = legendOf('form', Float32Array.of(-4, -1, 0, 2, NaN, 9, 9), scale);
    expect([legend.below, legend.above, legend.missing]).toEqual([1 / 6, 2 / 6, 1]);
    for (const { valueMm } of legend.ticks)
      expect(Math.abs(valueMm / 0.5 - Math.round(valueMm / 0.5))).toBeLessThan(1e-9);
    expect(legend.ticks.map((tick) => tick.valueMm)).toContain(0);
    const texels = texelsOf(scale);
    for (const { at, css } of legend.stops) {
      const from = Math.round(at * 255) * 4;
      const rgb = (css.match(/\d+/g) ?? []).map(Number);
      expect(rgb.length).toBe(3);
      rgb.forEach((c, k) => expect(Math.abs(c - texels[from + k])).toBeLessThan(4));
    }
  });

  it('keeps one colour step as long on both sides of zero when the ends differ', () => {
    const legend = legendOf('form', new Float32Array(1), { minMm: -1, maxMm: 4, kind: 'deviation' });
    const wide = legendOf('form', new Float32Array(1), { minMm: -4, maxMm: 4, kind: 'deviation' });
    const colour = (of: typeof legend, mm: number): string | undefined =>
      of.ticks.find((tick) => tick.valueMm === mm)?.css;
    expect(colour(legend, 2)).toBe(colour(wide, 2));
  });

  it('of an ease rises evenly in lightness from tight to roomy, so that it reads in grey', () => {
    const light = Array.from({ length: 33 }, (_, k) => oklabOf(easeColour(k / 32))[0]);
    const step = (light[32] - light[0]) / 32;
    for (let k = 0; k < 32; k++) expect((light[k + 1] - light[k]) / step).toBeCloseTo(1, 1);
    expect(light[32] - light[0]).toBeGreaterThan(0.6);
  });
});
