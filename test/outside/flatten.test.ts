/** Laying flat against developments in closed form and the published bound for spheres (reference-values.md 3.4, 3.5). */
import { describe, expect, it } from 'vitest';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { flatFrame, measureStrain } from '../../electron/geometry/flatten/flat-frame.ts';
import { layFlat, type FlatPiece, type LaidFlat } from '../../electron/geometry/flatten/lay-flat.ts';
import { liftSurface } from '../../electron/geometry/flatten/lift.ts';
import { polygonArea } from '../../electron/geometry/flatten/outline.ts';
import { markSeams } from '../../electron/geometry/flatten/seam-marks.ts';
import { startFlat } from '../../electron/geometry/flatten/start-flat.ts';
import { borderLoops } from '../../electron/geometry/flatten/disc.ts';
import { cap, tube } from '../support/caps.ts';

const quiet = (): void => {};

function lay(mesh: Parameters<typeof layFlat>[0], options: Partial<Parameters<typeof layFlat>[1]> = {}): LaidFlat {
  const laid = layFlat(mesh, { seams: [], allowedGive: 0, relief: 'none', ...options }, quiet);
  if (!('pieces' in laid)) throw new Error(JSON.stringify(laid));
  return laid;
}

const outlineOf = (piece: FlatPiece): number[] => piece.loop.flatMap((v) => [piece.flat[v * 2], piece.flat[v * 2 + 1]]);

/** Length in the flat of the border that is joined to nothing. */
function freeBorder({ loop, label, flat }: FlatPiece): number {
  let length = 0;
  for (const [i, v] of loop.entries()) {
    const w = loop[(i + 1) % loop.length];
    if (label[i] < 0) length += Math.hypot(flat[v * 2] - flat[w * 2], flat[v * 2 + 1] - flat[w * 2 + 1]);
  }
  return length;
}

/** Largest distance of two points of an outline, and the least width across that direction, for rectangles. */
function sidesOfRectangle(outline: readonly number[]): [number, number] {
  const area = polygonArea(outline);
  let diagonal = 0;
  for (let i = 0; i < outline.length; i += 2)
    for (let j = 0; j < i; j += 2)
      diagonal = Math.max(diagonal, Math.hypot(outline[i] - outline[j], outline[i + 1] - outline[j + 1]));
  // a b = area and a² + b² = diagonal².
  const sum = Math.sqrt(diagonal * diagonal + 2 * area);
  const difference = Math.sqrt(diagonal * diagonal - 2 * area);
  return [(sum + difference) / 2, (sum - difference) / 2];
}

describe('surfaces that only bend', () => {
  it('a cylinder is a rectangle of its circumference, without strain', () => {
    const { pieces, lines } = lay(tube(40, 40, 100, 180, 12));
    expect(pieces).toHaveLength(1);
    expect(pieces[0].strain.most).toBeLessThan(1e-5);
    const [length, width] = sidesOfRectangle(outlineOf(pieces[0]));
    // Chords of 180 sides fall short of the circle by 0.013 mm.
    expect(Math.abs(length - 2 * Math.PI * 40)).toBeLessThan(0.02);
    expect(width).toBeCloseTo(100, 3);
    expect(lines).toMatchObject([{ kind: 'opening' }]);
    expect(lines[0].lengthMm).toBeCloseTo(100, 6);
  });

  it('the middle of a sheet 8 mm thick on it is longer by 2 pi 4 mm', () => {
    const { pieces } = lay(liftSurface(tube(40, 40, 100, 180, 12), 4).mesh);
    const [length] = sidesOfRectangle(outlineOf(pieces[0]));
    expect(Math.abs(length - 2 * Math.PI * 44)).toBeLessThan(0.03);
  });

  it('a frustum 25/45/120 has the developed radii, angle and area of reference-values.md item 7', () => {
    const { pieces, lines } = lay(tube(25, 45, 120, 240, 12));
    const [piece] = pieces;
    expect(piece.strain.most).toBeLessThan(1e-5);
    expect(lines[0].lengthMm).toBeCloseTo(121.655250606, 2);
    const outline = outlineOf(piece);
    expect(Math.abs(polygonArea(outline) - 26_753.38691)).toBeLessThan(6);
    // The two straight sides lie along the opening; they meet in the apex.
    const runs = [0, 1].map((which) => {
      const places = piece.loop.map((_, i) => i).filter((i) => piece.label[i] >= 0);
      const gap = places.findIndex((one, k) => k > 0 && one !== places[k - 1] + 1);
      const split = gap < 0 ? [places] : [places.slice(0, gap), places.slice(gap)];
      const part =
        split.length === 1
          ? places.slice((which * places.length) / 2, ((which + 1) * places.length) / 2)
          : split[which];
      const a = part[0],
        b = (part[part.length - 1] + 1) % piece.loop.length;
      return [outline[a * 2], outline[a * 2 + 1], outline[b * 2], outline[b * 2 + 1]];
    });
    const [[ax, ay, bx, by], [cx, cy, dx, dy]] = runs;
    const across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx);
    const t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across;
    const apex = [ax + t * (bx - ax), ay + t * (by - ay)];
    const radii = [0, 2, 4, 6].map((k) => {
      const [x, y] = [runs.flat()[k], runs.flat()[k + 1]];
      return Math.hypot(x - apex[0], y - apex[1]);
    });
    radii.sort((a, b) => a - b);
    expect(radii[0]).toBeCloseTo(152.069063, 1);
    expect(radii[3]).toBeCloseTo(273.724314, 1);
    const angle = Math.acos(
      ((bx - ax) * (dx - cx) + (by - ay) * (dy - cy)) / Math.hypot(bx - ax, by - ay) / Math.hypot(dx - cx, dy - cy),
    );
    const degrees = (angle * 180) / Math.PI;
    expect(Math.min(degrees, 180 - degrees)).toBeCloseTo(59.183635, 1);
  });
});

describe('a spherical cap', () => {
  it.each([
    [0.25, 1.0104931],
    [0.5, 1.0429148],
    [1, 1.1883951],
  ])('of angle %f strains no less than x / sin x, and hardly more', (x, bound) => {
    const [piece] = lay(cap(100, x, 20)).pieces;
    expect(piece.strain.flipped).toBe(0);
    // The mesh itself is a little less curved than the sphere, so the bound may be missed by its fineness.
    expect(piece.strain.ratio).toBeGreaterThan(bound * 0.9995);
    expect(piece.strain.ratio).toBeLessThan(bound * 1.006);
  });

  it('starts from the angle-true map, whose ratio is 1 / cos² (x / 2)', () => {
    const mesh = cap(100, 0.5, 20);
    const frame = flatFrame(mesh);
    const [loop] = borderLoops(mesh.triangles, mesh.positions.length / 3);
    const { ratio } = measureStrain(frame, startFlat(frame, mesh.positions, loop, quiet));
    expect(ratio).toBeCloseTo(1.0651995, 2);
  });

  it('wants darts, and with them comes within what the foam allows', () => {
    const laid = lay(cap(90, 1, 10), { relief: 'darts', allowedGive: 0.04 });
    const darts = laid.lines.filter((line) => line.kind === 'dart');
    expect(darts.length).toBeGreaterThan(1);
    expect(laid.pieces[0].darts).toBe(darts.length);
    for (const piece of laid.pieces) expect(piece.strain.p99).toBeLessThanOrEqual(0.04);
    // What is left of the rim is as long as the rim of the cap, 2 pi R sin x, to the strain allowed.
    const [piece] = laid.pieces;
    const rim = freeBorder(piece);
    const real = 2 * Math.PI * 90 * Math.sin(1);
    expect(Math.abs(rim - real)).toBeLessThan(0.04 * real);
  });
});

describe('gores of a hemisphere of 90 mm', () => {
  const count = 12;
  const seams = Array.from({ length: count / 2 }, (_, i) => {
    const turn = 0.05 + (i * 2 * Math.PI) / count;
    return {
      name: `gore ${i}`,
      plane: { point: [0, 0, 0] as Vec3, normal: [Math.cos(turn), Math.sin(turn), 0] as Vec3 },
    };
  });
  const laid = lay(cap(90, Math.PI / 2, 16), { seams });

  it('come out as many as were cut, as wide as (2 pi R / n) sin (s / R) to their own strain', () => {
    expect(laid.pieces).toHaveLength(count);
    for (const piece of laid.pieces) {
      expect(piece.strain.most).toBeLessThan(0.02);
      const rim = freeBorder(piece);
      const wide = (2 * Math.PI * 90) / count;
      expect(Math.abs(rim - wide)).toBeLessThan(wide * (piece.strain.most + 0.002));
    }
  });

  it('carry notches that match within 0.5 mm', () => {
    const marks = markSeams(laid.pieces, laid.lines);
    expect(marks.notches.length).toBeGreaterThanOrEqual(count * 2);
    expect(marks.notchMismatchMm).toBeLessThan(0.5);
    for (const side of marks.sides) {
      expect(Math.abs(side.flatMm - (side.toMm - side.fromMm))).toBeLessThan(0.5);
    }
  });
});

it('six flat sides of a prism fold by 60 degrees at each seam', () => {
  const mesh = tube(50, 50, 80, 6, 1);
  const seams = Array.from({ length: 6 }, (_, i) => {
    const turn = (i * Math.PI) / 3;
    const foot: Vec3 = [50 * Math.cos(turn), 50 * Math.sin(turn), 0];
    return { name: `edge ${i}`, points: [foot, [foot[0], foot[1], 80] as Vec3] };
  });
  const laid = lay(mesh, { seams });
  expect(laid.pieces).toHaveLength(6);
  const marks = markSeams(laid.pieces, laid.lines);
  for (const fold of marks.foldDeg) expect(fold).toBeCloseTo(60, 6);
  for (const piece of laid.pieces) {
    const [long, short] = sidesOfRectangle(outlineOf(piece));
    expect([long, short].map((one) => Math.round(one * 1e6) / 1e6)).toEqual([80, 50]);
  }
});
