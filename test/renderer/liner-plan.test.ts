/** The liner desk: what is asked for from what was decided there, and what a press on the form places. */
import { describe, expect, it } from 'vitest';
import { curvesWhere } from '../../renderer/controls/openings.ts';
import { placedKeepOuts } from '../../renderer/screens/form/keep-outs.ts';
import {
  FIRST_PLAN,
  heightOf,
  levelAt,
  levelUnder,
  parametersOf,
  tiltDegrees,
} from '../../renderer/screens/form/liner-plan.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';

it('a liner that is thought over becomes parameters only when every wanted length is there', () => {
  expect(parametersOf(FIRST_PLAN)).toEqual({ foamMm: 8, bridgeMm: 12 });
  expect(parametersOf({ ...FIRST_PLAN, hasBridge: false })).toEqual({ foamMm: 8 });
  expect(parametersOf({ ...FIRST_PLAN, foamMm: undefined })).toBeUndefined();
  expect(parametersOf({ ...FIRST_PLAN, hasWall: true, wallMm: undefined })).toBeUndefined();
  expect(parametersOf({ ...FIRST_PLAN, opening: levelAt(-90) })).toEqual({
    foamMm: 8,
    bridgeMm: 12,
    opening: { plane: [0, 0, -90, 0, 0, 1] },
  });
  // Both ends of a bracer: what lies between the two stays.
  expect(parametersOf({ ...FIRST_PLAN, opening: levelAt(10), farOpening: levelUnder(200) })).toMatchObject({
    opening: {
      planes: [
        [0, 0, 10, 0, 0, 1],
        [0, 0, 200, 0, 0, -1],
      ],
      curves: [],
    },
  });
  // The front half of a torso is what lies forward (+x) of the sheet, the back half what lies behind it.
  const half = (side: 'front' | 'back') => parametersOf({ ...FIRST_PLAN, half: { side, atMm: -20 } });
  expect(half('front')).toMatchObject({ opening: { plane: [-20, 0, 0, 1, 0, 0] } });
  expect(half('back')).toMatchObject({ opening: { plane: [-20, 0, 0, -1, 0, 0] } });
  // Rising by 1 in 2 toward the front (x), through a point 40 mm ahead: 20 mm lower between the ears.
  const tilted = { point: [40, 0, -70], normal: [-0.5, 0, 1] } as const;
  expect(heightOf(tilted)).toBeCloseTo(-90, 9);
  expect(tiltDegrees(tilted)).toBeCloseTo(26.565, 3);
});

describe('openings drawn on the desk', () => {
  const ring: Vec3[] = [
    [90, 0, 40],
    [0, 80, 40],
    [-90, 0, 40],
    [0, -80, 40],
  ];

  it('cut out the larger side where that was chosen, whichever lines were dropped before', () => {
    const plan = { ...FIRST_PLAN, curves: [ring, ring.slice(0, 2), ring.slice(1)], largerGoes: [false, true, true] };
    const asked = { planes: [], curves: [{ points: ring }, { points: ring.slice(1), goes: 'larger' }] };
    expect(parametersOf(plan)).toMatchObject({ opening: asked });
    const left = curvesWhere(plan, (_, number) => number > 0);
    expect(left).toEqual({ curves: [ring.slice(0, 2), ring.slice(1)], largerGoes: [true, true] });
    // Plans of before the choice have none.
    const { opening } = parametersOf({ ...FIRST_PLAN, curves: [ring] }) as { opening: unknown };
    expect(opening).toEqual({ planes: [], curves: [{ points: ring }] });
  });
});

describe('volumes left free on the desk', () => {
  it('boxes have three edges of their own; plans of before have one for all', () => {
    const box = { id: 'a', name: 'pack', kind: 'box', centre: [-110, 0, 20], reachMm: 5, clearanceMm: 2 } as const;
    const boxes = [box, { ...box, halvesMm: [10, 40, 20] as Vec3 }];
    expect(parametersOf({ ...FIRST_PLAN, keepOuts: boxes })).toMatchObject({
      keepOut: {
        keepOut: [
          { box: { min: [-115, -5, 15], max: [-105, 5, 25] } },
          { box: { min: [-120, -40, 0], max: [-100, 40, 40] } },
        ],
      },
    });
  });

  it('spectacles stand before the bridge of the nose, and their sides beside the head back to the ears', () => {
    // A head as an upright cylinder of 70 mm; an ear on it, farther out.
    const around = Array.from({ length: 72 }, (_, i) => [70 * Math.cos(i / 11.46), 70 * Math.sin(i / 11.46), 18]);
    const head = Float32Array.from([...around, [0, 88, 18]].flat());
    const [front, left, right] = placedKeepOuts('spectacles', [70, 1, 18], [1, 0, 0], head, 0);
    const span = ({ centre, halvesMm = [0, 0, 0] }: typeof front, k: number) => [
      centre[k] - halvesMm[k],
      centre[k] + halvesMm[k],
    ];
    // From the ears (x = 0) to the front, and off the widest of the head between ear and eye, 70 mm within a place of 72.
    expect(span(left, 0)[0]).toBeCloseTo(0, 9);
    expect(span(left, 0)[1]).toBeGreaterThan(span(front, 0)[0]);
    expect(span(left, 1)[0]).toBeGreaterThan(60);
    expect(span(left, 1)[0]).toBeLessThan(72);
    expect(span(right, 1)).toEqual(
      span(left, 1)
        .map((y) => -y)
        .reverse(),
    );
    expect(span(front, 1)[1]).toBeCloseTo(span(left, 1)[1], 9);
  });
});
