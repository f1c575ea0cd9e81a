/** What the desks of making and of drawing think over, as plain data. */
import { describe, expect, it } from 'vitest';
import type { Stock } from '../../shared-types/records/making.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { PLAN_DRAFTS } from '../../shared-types/calls/plans.ts';
import { dabbed, dabMap } from '../../renderer/controls/dabs.ts';
import { ontoSurface, placed } from '../../renderer/controls/drawing.ts';
import * as plan from '../../renderer/screens/making/make-plan.ts';
import { FIRST_FILL } from '../../renderer/screens/form/fill-plan.ts';
import { FIRST_PLAN } from '../../renderer/screens/form/liner-plan.ts';
import { sphere } from '../support/solids.ts';
import { idOf } from './support/fake-program.ts';

const foam = (number: number, nominalMm: number): Stock => ({
  id: idOf(number),
  material: `foam ${number} (invented)`,
  nominalMm,
  compression: 0.2,
  createdAt: '2026-11-20T10:00:00.000Z',
});
const STOCK = [foam(1, 6), foam(2, 10)];
const PLACE = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
const RIGHT: Vec3[] = [
  [0, -70, 10],
  [20, -70, 10],
  [20, -68, 30],
];

describe('a plan', () => {
  it('begins as one that can be kept and read again', () => {
    for (const [kind, first] of [
      ['liner', FIRST_PLAN],
      ['fill', FIRST_FILL],
      ['pads', plan.FIRST_PADS],
      ['pattern', plan.FIRST_PATTERN],
      ['pieces', plan.FIRST_PIECES],
      ['gauge', plan.firstGauge('the captain')],
      ['shell', plan.FIRST_SHELL],
    ] as const) {
      expect(PLAN_DRAFTS[kind].parse(JSON.parse(JSON.stringify(first))), kind).toEqual(
        JSON.parse(JSON.stringify(first)),
      );
    }
  });

  it('is about the narrowest of what a thing is made from', () => {
    const source = { fittingId: idOf(1), partId: idOf(2), formRevisionId: idOf(3) };
    expect(plan.subjectOf(source, idOf(4))).toEqual({ fittingId: idOf(1) });
    expect(plan.subjectOf({ formRevisionId: idOf(3) }, idOf(4))).toEqual({ formId: idOf(4) });
    expect(plan.subjectOf({ formRevisionId: idOf(3) }, undefined)).toBeUndefined();
  });
});

describe('pads', () => {
  const pad = { id: 'a', name: ' ear ', curve: RIGHT, isMirrored: true, foams: [idOf(2), idOf(9)] };

  it('drawn on the right are mirrored to the left, each named by its side, of the foams that are still there', () => {
    const given = { ...plan.FIRST_PADS, usual: [{ zone: 'crown', foams: [idOf(9)] }], drawn: [pad] } as const;
    expect(plan.padsParameters(given, STOCK, PLACE)).toMatchObject({
      pads: {
        patches: [
          { name: 'ear right', curve: RIGHT },
          { name: 'ear left', curve: RIGHT.map(([x, y, z]) => [x, -y, z]) },
        ],
        usual: ['crown'],
        foams: { ear: [1] },
      },
    });
    expect(plan.crossesMiddle(RIGHT)).toBe(false);
    expect(plan.crossesMiddle([...RIGHT, [0, 3, 0]])).toBe(true);
  });

  it('of one name wait for names of their own; a pair counts with its sides, a usual place too', () => {
    const named = (one: string, other: string, more = {}) => ({
      ...plan.FIRST_PADS,
      usual: [{ zone: 'temples' as const, foams: [] }],
      drawn: [
        { ...pad, name: one },
        { ...pad, id: 'b', name: other, isMirrored: false, ...more },
      ],
    });
    for (const given of [
      named('ear', 'ear right'),
      named('temples', 'ear'),
      named('ear', ' ear', { isMirrored: true }),
    ]) {
      expect(plan.sharedNames(given).size).toBeGreaterThan(0);
      expect(plan.padsParameters(given, STOCK, PLACE)).toBeUndefined();
    }
    expect(plan.sharedNames(named('ear', 'ear'))).toEqual(new Set());
    expect(plan.padsParameters(named('ear', 'ear'), STOCK, PLACE)).toBeDefined();
  });

  it('wait for a place, a stock, and something to make', () => {
    const none = { ...plan.FIRST_PADS, usual: [], drawn: [{ ...pad, curve: RIGHT.slice(1) }] };
    expect(plan.padsParameters(none, STOCK, PLACE)).toBeUndefined();
    expect(plan.padsParameters(plan.FIRST_PADS, [], PLACE)).toBeUndefined();
    expect(plan.padsParameters(plan.FIRST_PADS, STOCK, undefined)).toBeUndefined();
  });

  it('taken over from a rim keep its shape: places evenly along a circle are the corners of a regular polygon', () => {
    const [count, radius] = [12, 30];
    const rim = Float32Array.from(
      Array.from({ length: 720 }, (_, i) => [
        radius * Math.cos((i * Math.PI) / 360),
        50,
        radius * Math.sin((i * Math.PI) / 360),
      ]).flat(),
    );
    const corners = plan.spread(rim, count);
    // Side of a regular polygon in its circle: 2 R sin(pi / n).
    for (const [i, corner] of corners.entries()) {
      const next = corners[(i + 1) % count];
      expect(Math.hypot(...corner.map((c, k) => c - next[k]))).toBeCloseTo(2 * radius * Math.sin(Math.PI / count), 2);
    }
  });
});

describe('seams and cuts', () => {
  it('are told apart by their id on the desk and by their name on paper; one place is no seam', () => {
    const seams = [
      { id: 'x', name: '', points: RIGHT },
      { id: 'y', name: 'nose', points: RIGHT.slice(1) },
      { id: 'z', name: 'begun', points: RIGHT.slice(2) },
    ];
    const names = (by: 'id' | 'name'): string[] => {
      const parameters = plan.patternParameters({ ...plan.FIRST_PATTERN, seams }, by) ?? {};
      return (parameters['patch'] as { seams: { name: string }[] }).seams.map(({ name }) => name);
    };
    expect(names('id')).toEqual(['x', 'y']);
    expect(names('name')).toEqual(['seam 1', 'nose']);
    expect(plan.patternParameters({ ...plan.FIRST_PATTERN, zone: undefined, curve: [] }, 'name')).toBeUndefined();
  });

  it('lie where their plane meets the axis it faces, and are moved along it', () => {
    // Through (0, 0, 40), leaning by atan(1/2) from level.
    const cut = { id: 'a', point: [10, 0, 35], normal: [1, 0, 2] } as const;
    const { way, mm, tiltDegrees } = plan.cutPlace(cut);
    expect([way, mm]).toEqual(['level', 40]);
    expect(tiltDegrees).toBeCloseTo((Math.atan(1 / 2) * 180) / Math.PI, 6);
    expect(plan.cutPlace(plan.cutAt(cut, -12.5)).mm).toBeCloseTo(-12.5, 9);
    expect(plan.cutAt(cut, -12.5).normal).toEqual(cut.normal);
  });
});

describe('drawing', () => {
  const ball = sphere(50, 4);
  const surface = { positions: Float32Array.from(ball.positions), triangles: ball.triangles };

  it('lays a point on the body: on a ball, straight toward its middle', () => {
    const from: Vec3 = [30, -60, 90];
    const at = ontoSurface(surface, from);
    const size = Math.hypot(...from);
    // Facets of this ball lie at most 0.2 mm under it, and lean by at most 3.6 degrees.
    for (let k = 0; k < 3; k++) expect(Math.abs(at[k] - (50 * from[k]) / size)).toBeLessThan(1);
    expect(Math.abs(Math.hypot(...at) - 50)).toBeLessThan(0.2);
  });

  it('adds a place, or moves the one in hand', () => {
    expect(placed(RIGHT, [1, 2, 3], { lineId: 'a' })).toEqual([...RIGHT, [1, 2, 3]]);
    expect(placed(RIGHT, [1, 2, 3], { lineId: 'a', place: 1 })).toEqual([RIGHT[0], [1, 2, 3], RIGHT[2]]);
  });

  it('paints no place twice and wipes what the brush covers', () => {
    const one = dabbed([], 10, [0, 0, 50], false);
    expect(dabbed(one, 10, [1, 0, 50], false)).toBe(one);
    const two = dabbed(one, 10, [0, 30, 40], false);
    expect(two).toHaveLength(2);
    expect(dabbed(two, 10, [0, 2, 50], true)).toEqual([[0, 30, 40]]);
    expect(dabMap([], 10, surface.positions)).toBeUndefined();
    const map = dabMap(one, 10, surface.positions) ?? new Float32Array();
    for (let v = 0; v < map.length; v++) {
      const [x, y, z] = surface.positions.subarray(3 * v, 3 * v + 3);
      expect(map[v] === 1).toBe(Math.hypot(x, y, z - 50) <= 10);
    }
  });
});

describe('a shell', () => {
  const cut = { id: 'a', point: [1, 2, -40], normal: [0, 0, -1] } as const;

  it('is asked for with its flat openings before those drawn, lines of two places left out', () => {
    const curves = [RIGHT, RIGHT.slice(0, 2)];
    expect(plan.shellParameters({ wallMm: 3, cuts: [cut], curves })).toEqual({
      wallMm: 3,
      opening: { planes: [[1, 2, -40, 0, 0, -1]], curves: [{ points: RIGHT }] },
    });
    expect(plan.shellParameters(plan.FIRST_SHELL)).toEqual({ wallMm: 3 });
    expect(plan.shellParameters({ ...plan.FIRST_SHELL, wallMm: undefined })).toBeUndefined();
  });

  it('made straight, a tilted opening keeps its place along its axis and the side that goes', () => {
    const tilted = { ...cut, point: [0, 0, -40] as Vec3, normal: [0.1, 0, -0.9] as Vec3 };
    const { normal, point } = plan.straightened(tilted);
    expect(normal.map((c) => c + 0)).toEqual([0, 0, -1]);
    expect(point[2]).toBeCloseTo(-40, 9);
  });
});
