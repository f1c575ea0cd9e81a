/** What the desks of making show while pads, seams and cuts are drawn. */
import { describe, expect, it } from 'vitest';
import type { z } from 'zod';
import type {
  padsPreviewFigures,
  patternPreviewFigures,
  piecesPreviewFigures,
  shellPreviewFigures,
} from '../../shared-types/operations/making-preview.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { translation, transformMesh } from '../../electron/geometry/mesh/transform.ts';
import {
  padsPreviewOperation,
  patternPreviewOperation,
  piecesPreviewOperation,
} from '../../electron/operations/desk/making-preview.ts';
import { shellPreviewOperation } from '../../electron/operations/desk/shell-preview.ts';
import { padOperation } from '../../electron/operations/pad.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { box, sphere } from '../support/solids.ts';
import { input } from './samples.ts';

const R = 100;
const ROOM = 12;
const head = sphere(R, 5);

/** A ball's shell that leaves the same room all round. */
const shell = ((): Mesh => {
  const [inner, outer] = [sphere(R + ROOM, 5), sphere(R + ROOM + 4, 5)];
  const positions = new Float64Array(2 * inner.positions.length);
  positions.set(inner.positions);
  positions.set(outer.positions, inner.positions.length);
  const triangles = new Uint32Array(2 * inner.triangles.length);
  triangles.set(inner.triangles.toReversed());
  triangles.set(
    outer.triangles.map((v) => v + inner.positions.length / 3),
    inner.triangles.length,
  );
  return { positions, triangles };
})();

/** Places on a ring about the axis to the left, `angle` from it: a cap whose area and rim are known. */
const ring = (angle: number, side: 1 | -1, count = 24): number[][] =>
  Array.from({ length: count }, (_, i) => {
    const turn = (2 * Math.PI * i) / count;
    const across = R * Math.sin(angle);
    return [across * Math.cos(turn), side * R * Math.cos(angle), across * Math.sin(turn)];
  });

function run<F>(operation: unknown, meshes: readonly Mesh[], parameters: object): { mesh: Mesh; figures: F } {
  const outcome = runOperation(operation as Operation, meshes.map(input), parameters as Record<string, unknown>);
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  const { mesh, figures } = outcome.value;
  return { mesh: mesh ?? { positions: new Float64Array(), triangles: new Uint32Array() }, figures: figures as F };
}

const stock = {
  stock: [
    { material: 'invented soft foam', nominalMm: 15, compression: 0.4 },
    { material: 'invented firm foam', nominalMm: 10, compression: 0.05 },
  ],
};
const pads = (given: object) =>
  run<z.output<typeof padsPreviewFigures>>(padsPreviewOperation, [shell, head], { stock, pads: given, smoothMm: 0 });

/** Length of a line of xyz triples. */
function lengthOf(points: ArrayLike<number>, closed: boolean): number {
  let sum = 0;
  for (let i = closed ? 0 : 3; i < points.length; i += 3) {
    const from = (i + points.length - 3) % points.length;
    sum += Math.hypot(...[0, 1, 2].map((k) => points[i + k] - points[from + k]));
  }
  return sum;
}

describe('pads drawn by hand', () => {
  const angle = 0.5;
  const pair = [
    { name: 'ear left', curve: ring(angle, 1) },
    { name: 'ear right', curve: ring(angle, -1) },
  ];

  it('lie where they were drawn, with the room, the size and the rim of a cap', () => {
    const { mesh, figures } = pads({ patches: pair });
    expect(figures.pads.map(({ name }) => name)).toEqual(['ear left', 'ear right']);
    for (const pad of figures.pads) {
      // 2 pi R² (1 - cos a), the zone of a sphere (Archimedes).
      expect(Math.abs(pad.areaMm2 / (2 * Math.PI * R * R * (1 - Math.cos(angle))) - 1)).toBeLessThan(0.02);
      expect(Math.abs(pad.room.meanMm - ROOM)).toBeLessThan(0.1);
      expect(pad.contactPercent).toBe(100);
    }
    expect(figures.lines.map(({ name, closed }) => [name, closed])).toEqual([
      ['ear left', true],
      ['ear right', true],
    ]);
    for (const { points } of figures.lines) {
      expect(Math.abs(lengthOf(points, true) / (2 * Math.PI * R * Math.sin(angle)) - 1)).toBeLessThan(0.03);
    }
    expect(figures.roomMm).toHaveLength(mesh.positions.length / 3);
    expect(figures.pads.reduce((sum, { faceCount }) => sum + faceCount, 0)).toBe(mesh.triangles.length / 3);
    // The left one on the left.
    const { faceFrom, faceCount } = figures.pads[0];
    for (const v of mesh.triangles.subarray(3 * faceFrom, 3 * (faceFrom + faceCount))) {
      expect(mesh.positions[v * 3 + 1]).toBeGreaterThan(0);
    }
  });

  it('stand beside the usual places that are wanted, of the foams chosen for each', () => {
    const first = pads({ patches: pair, usual: ['crown'] }).figures.pads;
    expect(first.map(({ name }) => name)).toEqual(['ear left', 'ear right', 'crown']);
    expect(new Set(first.flatMap(({ stack }) => stack.map(({ nominalMm }) => nominalMm)))).toEqual(new Set([15]));
    const chosen = pads({ patches: pair, usual: ['crown'], foams: { ear: [1] } }).figures.pads;
    expect(chosen.map(({ stack }) => stack.map(({ nominalMm }) => nominalMm))).toEqual([[10], [10], [15]]);
  });

  it('are made as they were shown, the pair cut once and once mirrored', () => {
    const parameters = { stock, pads: { patches: pair, foams: { ear: [1] } }, smoothMm: 0, mirror: true };
    const made = run<{ pads: { name: string; stack: { nominalMm: number }[] }[]; pieces: { mirrored: number }[] }>(
      padOperation,
      [shell, head],
      parameters,
    );
    expect(made.figures.pads).toMatchObject([{ name: 'ear', stack: [{ nominalMm: 10 }] }]);
    expect(made.figures.pieces.map(({ mirrored }) => mirrored)).toEqual([1]);
  });

  it('name a foam that is not in the stock, and a file that names no pad, in a sentence', () => {
    for (const [given, words] of [
      [{ patches: pair, foams: { ear: [2] } }, /"ear" names sheet 2, and the stock has 2/],
      [{ foams: {} }, /patches/],
      [{ patches: pair, usual: ['crown'], foams: { Ear: [1] } }, /no pad "Ear".*ear, crown/],
      [{ patches: [...pair, ...pair], foams: { ear: [1] } }, /two pads are called "ear left"/],
    ] as const) {
      expect(() => pads(given)).toThrow(words);
    }
  });
});

describe('seams drawn by hand', () => {
  const curve = ring(0.9, 1);
  const pattern = (seams: object[]) =>
    run<z.output<typeof patternPreviewFigures>>(patternPreviewOperation, [head], {
      foamMm: 0,
      smoothMm: 0,
      stretchPercent: 2,
      patch: { name: 'side', curve, seams },
    });

  it('part a dome into pieces that give less, each line known by its name and as long as the arc it follows', () => {
    const whole = pattern([]).figures;
    expect(whole.pieces).toHaveLength(1);
    expect(whole.pieces[0].withinStretch).toBe(false);
    const across = [curve[0], [0, R, 0], curve[12]];
    const parted = pattern([{ name: 'over the top', points: across }]);
    const { figures, mesh } = parted;
    expect(figures.pieces).toHaveLength(2);
    const worst = (pieces: readonly { giveP99Percent: number }[]): number =>
      Math.max(...pieces.map(({ giveP99Percent }) => giveP99Percent));
    expect(worst(figures.pieces)).toBeLessThan(0.8 * worst(whole.pieces));
    // Two great-circle arcs of 0.9 each.
    const seam = figures.lines.find(({ name }) => name === 'over the top');
    expect(Math.abs(lengthOf(seam?.points ?? [], false) / (2 * 0.9 * R) - 1)).toBeLessThan(0.02);
    const area = 2 * Math.PI * R * R * (1 - Math.cos(0.9));
    const sum = figures.pieces.reduce((all, { areaMm2 }) => all + areaMm2, 0);
    expect(Math.abs(sum / area - 1)).toBeLessThan(0.02);
    expect(figures.givePercent).toHaveLength(mesh.positions.length / 3);
  });
});

describe('the ends of a seam', () => {
  it.each([
    { insideMm: 3, pieces: 2 },
    { insideMm: 15, pieces: 1 },
  ])(
    '$insideMm mm inside the rim leave $pieces piece(s): near it they are meant to reach it',
    ({ insideMm, pieces }) => {
      const angle = 0.6 - insideMm / R;
      const end = (sign: 1 | -1): number[] => [sign * R * Math.sin(angle), R * Math.cos(angle), 0];
      const { figures } = run<z.output<typeof patternPreviewFigures>>(patternPreviewOperation, [head], {
        foamMm: 0,
        smoothMm: 0,
        patch: { name: 'side', curve: ring(0.6, 1), seams: [{ points: [end(1), end(-1)] }] },
      });
      expect(figures.pieces).toHaveLength(pieces);
    },
  );
});

describe('cuts by the maker’s own planes', () => {
  const bar = transformMesh(translation([150, 0, 0]), box(300, 60, 40));
  const cuts = (planes: number[][], bed = [220, 220, 250]) =>
    run<z.output<typeof piecesPreviewFigures>>(piecesPreviewOperation, [bar], { bed, planes }).figures;

  it('give pieces of the volume and the room on the bed that the plane leaves', () => {
    const spread = (numbers: readonly number[]): number[] => numbers.toSorted((a, b) => a - b);
    const { min } = { min: Math.min(...bar.positions.filter((_, i) => i % 3 === 0)) };
    const { pieces, planes, idle } = cuts([[min + 100, 0, 0, 1, 0, 0]]);
    expect(idle).toEqual([]);
    expect(planes).toHaveLength(1);
    expect(pieces.map(({ fits }) => fits)).toEqual([true, true]);
    expect(spread(pieces.map(({ volumeMm3 }) => volumeMm3))).toEqual([
      expect.closeTo(100 * 60 * 40, 3),
      expect.closeTo(200 * 60 * 40, 3),
    ]);
    expect(pieces.map(({ sizeMm }) => spread(sizeMm)[2]).toSorted((a, b) => a - b)).toEqual([
      expect.closeTo(100, 3),
      expect.closeTo(200, 3),
    ]);
  });

  it('say which plane misses, and let the program go on where a piece is still too long', () => {
    const { pieces, planes, idle } = cuts([[-5000, 0, 0, 1, 0, 0]]);
    expect(idle).toEqual([0]);
    expect([pieces.length, planes.length]).toEqual([2, 1]);
    expect(pieces.every(({ fits }) => fits)).toBe(true);
  });
});

describe('a solid being made hollow', () => {
  const shellOf = (parameters: object) =>
    run<z.output<typeof shellPreviewFigures>>(shellPreviewOperation, [head], parameters);
  const cap = ring(0.5, 1);

  it('a ball of 100 mm with a wall of 10 mm: a hollow of 90 mm, to within the 0.3 mm of a preview; both sides open where they are cut', () => {
    const { mesh, figures } = shellOf({
      wallMm: 10,
      opening: { planes: [[0, 0, -50, 0, 0, 1]], curves: [{ points: cap }] },
    });
    const ball = (radius: number): number => (4 / 3) * Math.PI * radius ** 3;
    expect(Math.abs(figures.hollowMm3 / ball(90) - 1)).toBeLessThan(0.01);
    expect(Math.abs((figures.hollowMm3 + figures.wallMm3) / ball(100) - 1)).toBeLessThan(0.01);
    expect(figures.reaches).toEqual([true, true]);
    expect(figures.lines).toHaveLength(1);
    expect(figures.outside.faceCount + figures.inside.faceCount).toBe(mesh.triangles.length / 3);
    for (const [{ faceFrom, faceCount }, radius] of [
      [figures.outside, 100],
      [figures.inside, 90],
    ] as const) {
      for (const v of mesh.triangles.subarray(3 * faceFrom, 3 * (faceFrom + faceCount))) {
        const [x, y, z] = mesh.positions.subarray(3 * v, 3 * v + 3);
        expect(Math.abs(Math.hypot(x, y, z) - radius)).toBeLessThan(0.7);
        expect(z).toBeGreaterThan(-50.001);
        // The drawn line lies on the cone of 0.5 rad about the way left, and the band is ruled along it.
        expect(Math.atan2(Math.hypot(x, z), y)).toBeGreaterThan(0.45);
      }
    }
  });

  it('says where an opening opens nothing, and what cannot be made hollow', () => {
    expect(shellOf({ wallMm: 10, opening: { plane: [0, 0, -95, 0, 0, 1] } }).figures.reaches).toEqual([false]);
    expect(() => shellOf({ wallMm: 10, opening: { plane: [0, 0, 0, 0, 0, 0] } })).toThrow(/shell: opening/);
    expect(() => run(shellPreviewOperation, [{ ...head, triangles: head.triangles.slice(3) }], { wallMm: 10 })).toThrow(
      /shell/,
    );
    expect(() => run(shellPreviewOperation, [box(20, 30, 40)], { wallMm: 12 })).toThrow(/nowhere thicker/);
  });
});
