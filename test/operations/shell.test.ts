/** A solid made hollow inward, against volumes in closed form (Pappus for the ring; a box's inside is a box). */
import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../shared-types/mesh.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { shellFigures } from '../../shared-types/operations/shell.ts';
import type { z } from 'zod';
import { IDENTITY, scaling, transformMesh, translation } from '../../electron/geometry/mesh/transform.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { shellOperation } from '../../electron/operations/shell.ts';
import { join, moved } from '../support/meshes.ts';
import { box, inward, sphere, torus } from '../support/solids.ts';

function shell(mesh: Mesh, parameters: object, fromFile = IDENTITY) {
  const operation = shellOperation as unknown as Operation;
  const outcome = runOperation(operation, [{ mesh, name: 'solid', fromFile }], parameters);
  if (!outcome.ok) return { sentence: faultSentence(outcome.fault), warnings: [] };
  const figures = outcome.value.figures as z.output<typeof shellFigures>;
  return { mesh: outcome.value.mesh as Mesh, figures, warnings: outcome.warnings.map(({ code }) => code) };
}

describe('a wall inward', () => {
  it('a box of 100 x 80 x 60 mm by 5 mm: the inside is 90 x 70 x 50 mm, the outside stays, at a corner the wall is 5 √3 mm', () => {
    const { figures, warnings, mesh } = shell(box(100, 80, 60), { wallMm: 5 });
    expect(Math.abs((figures?.hollowMm3 ?? 0) / (90 * 70 * 50) - 1)).toBeLessThan(1e-3);
    expect(Math.abs((figures?.volumeMm3 ?? 0) / (100 * 80 * 60 - 90 * 70 * 50) - 1)).toBeLessThan(2e-3);
    expect(Math.abs((figures?.wallMinMm ?? 0) - 5)).toBeLessThan(0.1);
    // The inner corner may miss by the tolerance along each of its three faces.
    expect(Math.abs((figures?.wallMaxMm ?? 0) - 5 * Math.sqrt(3))).toBeLessThan(0.1 * Math.sqrt(3));
    expect([figures?.hollows, figures?.openings]).toEqual([1, []]);
    // Thickest at a corner of the outside.
    expect(figures?.wallMaxAt.map((c, k) => Math.abs(c) - [50, 40, 30][k])).toEqual([0, 0, 0]);
    expect(warnings).toContain('shell.shut');
    expect(mesh?.positions.subarray(0, box(100, 80, 60).positions.length)).toEqual(box(100, 80, 60).positions);
  });

  it('a ring of 50 mm, 12 mm thick round, by 4 mm: 2 π² R (r² - (r - 4)²)', () => {
    const ring = torus(50, 12, 128, 64);
    const { figures } = shell(ring, { wallMm: 4, toleranceMm: 0.1 });
    // The mesh's own facets take 0.5 % of the ring away.
    const share = volumeOf(ring) / (2 * Math.PI ** 2 * 50 * 12 ** 2);
    expect(Math.abs((figures?.hollowMm3 ?? 0) / (2 * Math.PI ** 2 * 50 * 8 ** 2) / share - 1)).toBeLessThan(0.01);
    expect(figures?.maxAbsErrorMm).toBeLessThan(0.15);
    expect(figures?.missingMaxMm).toBeLessThan(0.15);
    expect([figures?.wallMinMm, figures?.wallMaxMm].every((mm = 0) => Math.abs(mm - 4) < 0.2)).toBe(true);
  });
});

it('a rod of 10 mm beside a box, full with walls of 6 mm, counts for the wall only where it is left', () => {
  const rod = join(box(60, 60, 60), transformMesh(translation([60, 0, 0]), box(10, 10, 60)));
  const wallOf = (opening?: object) =>
    shell(rod, { wallMm: 6, toleranceMm: 0.3, ...(opening === undefined ? {} : { opening }) });
  expect(wallOf().figures?.wallMaxMm).toBeGreaterThan(30);
  const cut = wallOf({ plane: [40, 0, 0, -1, 0, 0] });
  expect(Math.abs((cut.figures?.wallMaxMm ?? 0) - 6 * Math.sqrt(3))).toBeLessThan(0.3 * Math.sqrt(3));
});

it('a hollow that no opening reaches, where one reaches another, is left full and told: two boxes, the lower one opened', () => {
  const boxes = join(box(60, 60, 60), transformMesh(translation([80, 0, 0]), box(40, 40, 40)));
  const { figures, warnings } = shell(boxes, { wallMm: 6, toleranceMm: 0.3, opening: { plane: [0, 0, -22, 0, 0, 1] } });
  expect(warnings).toContain('shell.filled');
  expect([figures?.hollows, figures?.filled]).toEqual([1, 1]);
  expect(Math.abs((figures?.hollowMm3 ?? 0) / 48 ** 3 - 1)).toBeLessThan(0.005);
  expect(Math.abs((figures?.filledMm3 ?? 0) / 28 ** 3 - 1)).toBeLessThan(0.01);
  // The smaller box whole, and of the larger what stays over the cut less the inside over it.
  const left = 40 ** 3 + 60 * 60 * 52 - 48 * 48 * 46;
  expect(Math.abs((figures?.volumeMm3 ?? 0) / left - 1)).toBeLessThan(0.005);
});

describe('openings of a ball of 50 mm with a wall of 6 mm, its file in centimetres', () => {
  const circle = Array.from({ length: 12 }, (_, i) => {
    const turn = (Math.PI * i) / 6;
    return [2.5 * Math.cos(turn), 2.5 * Math.sin(turn), 2.5 * Math.sqrt(3)];
  });

  it('cut flat 20 mm down its rim is the ring π (50² - 44²); along a line drawn at 30° its rim lies at 30° inside too', () => {
    const opening = { planes: [[0, 0, -2, 0, 0, 1]], curves: [{ points: circle }] };
    const { figures, sentence } = shell(sphere(50, 4), { wallMm: 6, toleranceMm: 0.3, opening }, scaling(10));
    expect(sentence).toBeUndefined();
    const [flat, drawn] = figures?.openings ?? [];
    expect(Math.abs(flat.rimAreaMm2 / (Math.PI * (50 ** 2 - 44 ** 2)) - 1)).toBeLessThan(0.01);
    expect(Math.abs(flat.rimLengthMm / (2 * Math.PI * Math.sqrt(44 ** 2 - 20 ** 2)) - 1)).toBeLessThan(0.005);
    // A radial rim: 44 mm sin 30° inside, as wide as the wall.
    expect(Math.abs(drawn.rimLengthMm / (2 * Math.PI * 22) - 1)).toBeLessThan(0.01);
    expect(Math.abs((drawn.rimMm ?? 0) - 6)).toBeLessThan(0.1);
  });

  it('a cut through the wall alone, 47 mm down, opens nothing, and the hollow stays shut', () => {
    const opening = { plane: [0, 0, -4.7, 0, 0, 1] };
    const { warnings } = shell(sphere(50, 4), { wallMm: 6, toleranceMm: 0.3, opening }, scaling(10));
    expect(warnings).toEqual(['line.opening-idle', 'shell.shut']);
  });
});

it('a hollow thinner than a cube is left out, and told where and how thick: a plate of 6.2 mm beside a box, walls of 3 mm', () => {
  const plate = moved(box(60, 40, 6.2), 80, 0, 0.7);
  const { figures, warnings } = shell(join(box(40, 40, 40), plate), { wallMm: 3, toleranceMm: 0.1 });
  expect(figures?.hollows).toBe(1);
  expect(warnings).toContain('line.missing');
  expect(Math.abs((figures?.missingGapMm ?? 0) - 0.2)).toBeLessThan(0.02);
  const [x, y, z] = figures?.missingAt ?? [];
  // On the hollow, 54 x 34 x 0.2 mm.
  const off = [Math.abs(x - 80) - 27, Math.abs(y) - 17, Math.abs(z - 0.7) - 0.1];
  expect(Math.abs(Math.max(...off))).toBeLessThan(1e-4);
});

it('says where there is no room for a hollow, and where the solid is not one', () => {
  expect(shell(box(20, 30, 40), { wallMm: 12 }).sentence).toContain('nowhere thicker than two such walls');
  const open = box(20, 30, 40);
  expect(shell({ ...open, triangles: open.triangles.slice(3) }, { wallMm: 2 }).sentence).toContain('shell');
  // A void of 20 mm within a ball of 50: with a wall of 3 mm its own wall would be left out.
  expect(shell(join(sphere(50, 3), inward(sphere(20, 3))), { wallMm: 3 }).sentence).toContain(
    'encloses a hollow already',
  );
});
