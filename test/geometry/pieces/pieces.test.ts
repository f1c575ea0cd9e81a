import { describe, expect, it } from 'vitest';
import type { Mesh, Plane } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { examine } from '../../../electron/geometry/mend/health.ts';
import { boundsOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { BORE_SIDES, boreCap } from '../../../electron/geometry/pieces/cap.ts';
import { bodiesOf, cutApart } from '../../../electron/geometry/pieces/cut-apart.ts';
import { gaugeBand } from '../../../electron/geometry/pieces/gauge-band.ts';
import { findJoints } from '../../../electron/geometry/pieces/joints.ts';
import { layDown } from '../../../electron/geometry/pieces/print-bed.ts';
import { splitSolid } from '../../../electron/geometry/pieces/split-solid.ts';
import { write } from '../../../electron/geometry/pieces/stroke-letters.ts';
import { cutFlat } from '../../../electron/geometry/offset/cut-flat.ts';
import { join } from '../../support/meshes.ts';
import { box, cylinder, ellipsoid, inward, sphere } from '../../support/solids.ts';
import { splitOptions } from './split-options.ts';

const HALVING: Plane = { point: [0, 0, 0], normal: [0, 0, 1] };

/** A ball with a concentric hollow, both as one mesh. */
function hollowBall(outer: number, inner: number, levels: number): Mesh {
  return join(sphere(outer, levels), inward(sphere(inner, levels)));
}

const sound = (mesh: Mesh): void => {
  const { watertight, selfIntersections } = examine(mesh);
  expect({ watertight, selfIntersections }).toEqual({ watertight: true, selfIntersections: 0 });
};

describe('cutting apart', () => {
  it('gives a box as boxes whose volumes are those of the closed form', () => {
    const pieces = cutApart(box(100, 60, 40), [
      { point: [10, 0, 0], normal: [1, 0, 0] },
      { point: [0, 0, 5], normal: [0, 0, 2] },
    ]);
    const volumes = pieces.map(({ mesh }) => volumeOf(mesh)).toSorted((a, b) => a - b);
    const expected = [40 * 60 * 15, 40 * 60 * 25, 60 * 60 * 15, 60 * 60 * 25].toSorted((a, b) => a - b);
    for (const [i, volume] of volumes.entries()) expect(volume).toBeCloseTo(expected[i], 3);
    for (const { mesh } of pieces) sound(mesh);
  });

  it('keeps a void with the body around it, and its cut face is the ring', () => {
    const ball = hollowBall(50, 46, 4);
    expect(bodiesOf(ball)).toHaveLength(1);
    const pieces = cutApart(ball, [HALVING]);
    expect(pieces).toHaveLength(2);
    for (const { mesh } of pieces) {
      expect(volumeOf(mesh)).toBeCloseTo(volumeOf(ball) / 2, 2);
      sound(mesh);
    }
  });

  it('leaves a piece alone that the plane misses', () => {
    const pieces = cutApart(box(10, 10, 10), [{ point: [0, 0, 20], normal: [0, 0, 1] }]);
    expect(pieces).toHaveLength(1);
    expect(pieces[0].cuts).toEqual([]);
  });
});

describe('bores', () => {
  const regular = (radius: number): number => (BORE_SIDES / 2) * radius * radius * Math.sin((2 * Math.PI) / BORE_SIDES);

  it('take exactly their prism away, and pegs add it', () => {
    const half = cutFlat(box(40, 40, 40), HALVING).mesh;
    const before = volumeOf(half);
    const rings = [
      [3, 0],
      [3, 7],
    ] as const;
    const holed = boreCap(half, HALVING, [
      { centre: [5, 5, 0], rings },
      { centre: [-8, 0, 0], rings },
    ]);
    sound(holed);
    expect(before - volumeOf(holed)).toBeCloseTo(2 * 7 * regular(3), 3);
    const pegged = boreCap(half, HALVING, [
      {
        centre: [0, 0, 0],
        rings: [
          [3, 0],
          [3, -7],
        ],
      },
    ]);
    sound(pegged);
    expect(volumeOf(pegged) - before).toBeCloseTo(7 * regular(3), 3);
    expect(boundsOf(pegged.positions).min[2]).toBeCloseTo(-7, 5);
  });
});

describe('joints', () => {
  const size = { radiusMm: 1, depthMm: 6, wallMm: 0.4, spacingMm: 20 };

  it('stand in the middle of the ring, apart as asked, where the wall is thick enough', () => {
    const ball = hollowBall(60, 54, 5);
    const joints = findJoints(ball, cutApart(ball, [HALVING]), [HALVING], size);
    expect(joints.length).toBeGreaterThan(8);
    for (const [i, { centre, wallMm }] of joints.entries()) {
      // Halfway between radii 54 and 60, as far as the facets (0.1 mm) let it be.
      expect(Math.abs(Math.hypot(centre[0], centre[1]) - 57)).toBeLessThan(0.2);
      expect(wallMm).toBeGreaterThanOrEqual(size.wallMm);
      for (const other of joints.slice(i + 1)) {
        expect(Math.hypot(...centre.map((x, k) => x - other.centre[k]))).toBeGreaterThanOrEqual(size.spacingMm);
      }
    }
  });

  it('are not set where the wall is too thin for the hole', () => {
    const ball = hollowBall(60, 57.5, 5);
    expect(findJoints(ball, cutApart(ball, [HALVING]), [HALVING], size)).toEqual([]);
  });
});

describe('lying on the bed', () => {
  it('puts the largest flat cut down and turns a long piece to fit', () => {
    const plane: Plane = { point: [0, 0, 0], normal: [0, 1, 0] };
    const half = cutFlat(cylinder(20, 150, 64), plane).mesh;
    const laid = layDown(half, [plane], [140, 140, 30]);
    expect(laid.fits).toBe(true);
    expect(laid.flatMm2).toBeCloseTo(150 * 40, 0);
    // Turned by 45 degrees 150 x 40 needs (150 + 40) / sqrt(2) = 134.4 mm each way; on its side it is 40 high.
    expect(layDown(half, [plane], [134, 134, 30]).fits).toBe(false);
  });
});

const OPTIONS = splitOptions(90);

describe('a split solid', () => {
  it('is whole in its pieces, each sound, within the bed and numbered', () => {
    const shell = hollowBall(75, 70, 5);
    const split = splitSolid(shell, OPTIONS, QUIET_RUN);
    expect(Math.abs(split.volumeDifferenceMm3)).toBeLessThan(1e-3 * volumeOf(shell));
    expect(split.pieces.length).toBeGreaterThanOrEqual(8);
    expect(split.joints.length).toBeGreaterThan(8);
    for (const { lying, laid, marked } of split.pieces) {
      sound(lying);
      expect(laid.fits).toBe(true);
      expect(marked).toBe(true);
      const { min, max } = boundsOf(lying.positions);
      expect(min[2]).toBeCloseTo(0, 4);
      for (let k = 0; k < 3; k++) expect(max[k] - min[k]).toBeLessThanOrEqual(OPTIONS.bed[k] + 1e-4);
    }
  });

  it('takes away a hole on both sides of each pin, and no more', () => {
    const plain = splitSolid(box(60, 60, 60), { ...OPTIONS, planes: [HALVING], joint: 'none', markMm: 0 }, QUIET_RUN);
    const pinned = splitSolid(box(60, 60, 60), { ...OPTIONS, planes: [HALVING], markMm: 0 }, QUIET_RUN);
    const sum = (pieces: readonly { lying: Mesh }[]): number =>
      pieces.reduce((all, { lying }) => all + volumeOf(lying), 0);
    const radius = pinned.holeDiameterMm / 2 / Math.cos(Math.PI / BORE_SIDES);
    const area = (BORE_SIDES / 2) * radius * radius * Math.sin((2 * Math.PI) / BORE_SIDES);
    expect(pinned.joints.length).toBeGreaterThan(1);
    // 6 mm of pin and half a millimetre below it, in both pieces.
    expect(sum(plain.pieces) - sum(pinned.pieces)).toBeCloseTo(2 * 6.5 * area * pinned.joints.length, 1);
  });

  it('gives a peg on one piece for the socket in the other', () => {
    const split = splitSolid(box(60, 60, 60), { ...OPTIONS, planes: [HALVING], joint: 'peg', markMm: 0 }, QUIET_RUN);
    const [upper, lower] = split.pieces;
    expect(boundsOf(lower.mesh.positions).max[2]).toBeCloseTo(6, 4);
    expect(boundsOf(upper.mesh.positions).min[2]).toBeCloseTo(0, 4);
    for (const { lying } of split.pieces) sound(lying);
  });
});

describe('a gauge band', () => {
  it('has the section of a tube in closed form, and words that add to it', () => {
    // Its ends do not matter: the band is cut from the middle.
    const tube = join(cylinder(80, 200, 256, 40), inward(cylinder(76, 220, 256, 44)));
    const band = gaugeBand(tube, 10, 12, '', undefined);
    if (band === undefined) throw new Error('no band');
    sound(band.mesh);
    const sides = 256;
    const round = (radius: number): number => 2 * sides * radius * Math.sin(Math.PI / sides);
    expect(band.outsideMm).toBeCloseTo(round(80), 3);
    expect(band.insideMm).toBeCloseTo(round(76), 3);
    const ring = (sides / 2) * (80 ** 2 - 76 ** 2) * Math.sin((2 * Math.PI) / sides);
    expect(volumeOf(band.mesh)).toBeCloseTo(12 * ring, 0);
    const named = gaugeBand(tube, 10, 12, 'Zoë +10', undefined);
    if (named === undefined) throw new Error('no band');
    sound(named.mesh);
    expect(named).toMatchObject({ written: true, missing: [] });
    // Strokes 1.06 mm wide with slopes of 0.35 mm on either side, 0.6 mm high: length times 0.6 times 1.41, less where
    // strokes meet.
    const strokes = write('Zoë +10', 6.6).strokes;
    const length = strokes.reduce(
      (sum, line) =>
        sum +
        line
          .slice(2)
          .reduce(
            (way, _, i) => (i % 2 === 0 ? way + Math.hypot(line[i + 2] - line[i], line[i + 3] - line[i + 1]) : way),
            0,
          ),
      0,
    );
    const raised = volumeOf(named.mesh) - volumeOf(band.mesh);
    expect(raised).toBeGreaterThan(0.8 * 0.6 * 1.41 * length);
    expect(raised).toBeLessThan(1.2 * 0.6 * 1.41 * length);
  });

  it('says when there is nothing at a level', () => {
    expect(gaugeBand(ellipsoid(80, 80, 80, 3), 100, 10, '')).toBeUndefined();
  });
});

describe('letters', () => {
  it('writes what European names need and names what it cannot', () => {
    const writing = write('Łucja Ødegård-Ménière Ž 3/8', 6);
    expect(writing.missing).toEqual([]);
    for (const line of writing.strokes) {
      for (let i = 0; i < line.length; i += 2) {
        expect(line[i]).toBeGreaterThanOrEqual(0);
        expect(line[i]).toBeLessThanOrEqual(writing.widthMm + 1e-9);
      }
    }
    expect(write('Αβ 你', 6).missing).not.toEqual([]);
  });
});
