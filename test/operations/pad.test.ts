import { describe, expect, it } from 'vitest';
import type { z } from 'zod';
import type { padFigures } from '../../shared-types/operations/pad.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { padOperation } from '../../electron/operations/pad.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { translation } from '../../electron/geometry/mesh/transform.ts';
import { ellipsoid } from '../support/solids.ts';
import { input } from './samples.ts';

type Figures = z.output<typeof padFigures>;

const head = ellipsoid(100, 77, 125, 4);

/** A shell that leaves the same room all round the head, as far as an ellipsoid does. */
function shell(roomMm: number): Mesh {
  const inner = ellipsoid(100 + roomMm, 77 + roomMm, 125 + roomMm, 4);
  const outer = ellipsoid(104 + roomMm, 81 + roomMm, 129 + roomMm, 4);
  const count = inner.positions.length / 3;
  return {
    positions: Float64Array.of(...inner.positions, ...outer.positions),
    triangles: Uint32Array.of(...inner.triangles.toReversed(), ...outer.triangles.map((v) => v + count)),
  };
}

const soft = { material: 'invented soft foam', nominalMm: 15, compression: 0.4, kPaAt25: 2 };
const thick = { ...soft, nominalMm: 20 };

function pad(part: Mesh, parameters: Record<string, unknown>) {
  const outcome = runOperation(padOperation, [input(part), input(head)], parameters);
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return { ...outcome.value, figures: outcome.value.figures as Figures, warnings: outcome.warnings };
}

const crown = { patches: [{ zone: 'crown', name: 'top' }] };

describe('pad', () => {
  it('proposes pads at the usual places, chooses a sheet for the room there and tells its pressure', () => {
    const {
      figures,
      files = [],
      papers = [],
      warnings,
    } = pad(shell(12), { stock: { stock: [thick, soft] }, mirror: true });
    expect(figures.pads.map((one) => one.name)).toEqual(['brow', 'crown', 'temples', 'back of head', 'nape', 'cheeks']);
    for (const one of figures.pads) {
      // A second ellipsoid 12 mm larger lies up to a millimetre nearer where it is steep.
      expect(Math.abs(one.gap.meanMm - 11.8)).toBeLessThan(0.6);
      expect(one.stack).toMatchObject([{ material: soft.material, nominalMm: 15, thicknessMm: 15 }]);
      expect(one.contactPercent).toBe(100);
      // A spring of 2 kPa for a quarter: 15 mm pressed to the gap.
      expect(one.pressureKPa).toBeCloseTo(((15 - one.gap.meanMm) / 15 / 0.25) * 2, 6);
    }
    expect(figures.pieces.filter((piece) => piece.mirrored === 1).map((piece) => piece.name)).toEqual([
      'temples',
      'cheeks',
    ]);
    expect(figures.shopping).toMatchObject([{ material: soft.material, nominalMm: 15, sheets: 1 }]);
    expect(figures.assumptions.join(' ')).toContain('as your stock list says');
    expect(files.map((file) => file.name)).toEqual([
      'foam-2-sheet-1.svg',
      'foam-2-sheet-1.dxf',
      'on-body.json',
      'cut-list.csv',
      'shopping-list.csv',
    ]);
    expect(papers).toHaveLength(1);
    expect(warnings).toEqual([]);
  });

  it('lays every layer of a stack flat at its own height', () => {
    const { figures } = pad(shell(25), { stock: { stock: [soft] }, pads: crown });
    const [one] = figures.pads;
    expect(one.stack).toHaveLength(2);
    expect(one).toMatchObject({ freeMm: 30, wornMm: 18, pieces: [1, 2] });
    // Worn, the middles of the layers lie 4.5 and 13.5 mm over a crown curved as about 90 mm: one tenth wider.
    const [below, above] = figures.pieces;
    expect(below.name).toBe('top, layer 1');
    expect(above.widthMm / below.widthMm).toBeGreaterThan(1.05);
    expect(above.widthMm / below.widthMm).toBeLessThan(1.15);
  });

  it('places the part by a matrix', () => {
    const far = { ...shell(12), positions: shell(12).positions.map((x, i) => (i % 3 === 0 ? x + 700 : x)) };
    const stock = { stock: [soft] };
    const outcome = runOperation(padOperation, [input(far), input(head)], { stock });
    expect(outcome).toMatchObject({ ok: false, fault: { code: 'pad.no-room' } });
    const place = { matrix: [...translation([-700, 0, 0])] };
    expect(pad(far, { stock, place, pads: crown }).figures.pads[0].gap.meanMm).toBeGreaterThan(11);
    const flat = { matrix: [1, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1] };
    expect(runOperation(padOperation, [input(far), input(head)], { stock, place: flat })).toMatchObject({
      ok: false,
      fault: { code: 'job.usage' },
    });
  });

  it('tells of foam that presses too hard, of uneven room, and of a stiffness it does not know', () => {
    const hard = { material: 'invented EVA sheet', nominalMm: 15, compression: 0.4 };
    expect(pad(shell(12), { stock: { stock: [hard] }, pads: crown }).warnings.map((one) => one.code)).toEqual([
      'pad.hard',
    ]);
    const place = { matrix: [...translation([0, 0, 9])] };
    const unknown = { material: 'something', nominalMm: 20, compression: 0.05 };
    const wide = { patches: [{ box: { min: [-200, -200, 40], max: [200, 200, 200] }, name: 'cap' }] };
    const uneven = pad(shell(14), { stock: { stock: [unknown] }, pads: wide, place, stretchPercent: 30 });
    expect(uneven.warnings.map((one) => one.code)).toEqual(['pad.uneven']);
    // Kept with the figures, so that a page looked at later tells it too.
    expect(uneven.figures.doubts).toEqual(uneven.warnings.map(({ sentence }) => sentence));
    expect(uneven.figures.pads[0].pressureKPa).toBeNull();
    expect(uneven.figures.assumptions.join(' ')).toContain('not known');
  });

  it('steps a stack where the room grows, so that it touches all over', () => {
    const place = { matrix: [...translation([0, 0, 9])] };
    const wide = { patches: [{ box: { min: [-200, -200, 40], max: [200, 200, 200] }, name: 'cap' }] };
    const stock = { stock: [4, 6, 10].map((nominalMm) => ({ ...soft, nominalMm, compression: 0.3 })) };
    const given = { stock, pads: wide, place, stretchPercent: 30 };
    const [even] = pad(shell(14), given).figures.pads;
    const [stepped] = pad(shell(14), { ...given, stepped: true }).figures.pads;
    expect(even.contactPercent).toBeLessThan(90);
    expect(stepped.contactPercent).toBeGreaterThan(97);
    expect(stepped.easeMm).toBeLessThan(even.easeMm / 2);
    const covers = stepped.stack.map((sheet) => sheet.coversMm2);
    expect(covers[0]).toBeCloseTo(stepped.areaMm2, 6);
    expect(covers).toEqual(covers.toSorted((a, b) => b - a));
    expect(covers.at(-1) as number).toBeLessThan(covers[0] * 0.9);
    // A pad over even room stays whole.
    const [level] = pad(shell(12), { stock: { stock: [soft] }, pads: crown, stepped: true }).figures.pads;
    expect(level.stack).toHaveLength(1);
  });

  it('buys less foam where one thickness serves several pads nearly as well', () => {
    const stock = [
      { ...soft, nominalMm: 15 },
      { ...soft, nominalMm: 15.4 },
    ];
    const { figures } = pad(shell(12), { stock: { stock } });
    expect(figures.shopping).toHaveLength(1);
  });
});
