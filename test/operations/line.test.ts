import { describe, expect, it } from 'vitest';
import type { z } from 'zod';
import type { Mesh } from '../../shared-types/mesh.ts';
import type { lineFigures } from '../../shared-types/operations/line.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { IDENTITY, scaling } from '../../electron/geometry/mesh/transform.ts';
import { boundsOf } from '../../electron/geometry/mesh/quantities.ts';
import { lineOperation } from '../../electron/operations/line.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import { headOf } from '../bench/heads.ts';
import { join } from '../support/meshes.ts';
import { box, keyhole, sphere } from '../support/solids.ts';

const operation = lineOperation as unknown as Operation;

function line(mesh: Mesh, parameters: unknown, hooks = {}, fromFile = IDENTITY) {
  return runOperation(operation, [{ mesh, name: 'form', fromFile }], parameters, hooks);
}

function figuresOf(outcome: ReturnType<typeof line>): z.output<typeof lineFigures> {
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return outcome.value.figures as z.output<typeof lineFigures>;
}

describe('line on a head with ears', () => {
  it('meets the bars: under 60,000 faces, max 0.15, p99 0.05, mean 0.01 mm, both ways, sound', () => {
    const figures = figuresOf(line(headOf(53_000), { foamMm: 8 }));
    expect(figures.faces).toBeLessThan(60_000);
    expect(figures.maxAbsErrorMm).toBeLessThan(0.15);
    expect(figures.missingMaxMm).toBeLessThan(0.15);
    expect(figures.p99AbsErrorMm).toBeLessThan(0.05);
    expect(figures.meanAbsErrorMm).toBeLessThan(0.01);
    expect([figures.watertight, figures.selfIntersections]).toEqual([true, 0]);
  });

  it('with a wall and an opening it is a sound cup with a rim', () => {
    const outcome = line(headOf(10_000), {
      foamMm: 8,
      wallMm: 3,
      opening: { plane: [0, 0, -60, 0, 0, 1] },
      toleranceMm: 0.3,
    });
    const figures = figuresOf(outcome);
    expect([figures.watertight, figures.selfIntersections]).toEqual([true, 0]);
    expect(figures.rimAreaMm2).toBeGreaterThan(1000);
    if (outcome.ok) expect(boundsOf((outcome.value.mesh as Mesh).positions).min[2]).toBeCloseTo(-60, 4);
  });
});

it('an opening along the straight sides of a box stays sound (it came out with 13 crossing pairs once)', () => {
  const figures = figuresOf(line(box(60, 50, 40), { foamMm: 5, wallMm: 2, opening: { plane: [0, 0, -10, 0, 0, 1] } }));
  expect([figures.watertight, figures.selfIntersections]).toEqual([true, 0]);
  // Rim of two rounded rectangles: perimeter of the inner one times the wall, and the ring at its corners.
  const rim = (2 * (60 + 50) + 2 * Math.PI * 5) * 2 + Math.PI * 4;
  expect(Math.abs(figures.rimAreaMm2 / rim - 1)).toBeLessThan(0.02);
});

describe('what line refuses', () => {
  const sentence = (mesh: Mesh, parameters: unknown): string => {
    const outcome = line(mesh, parameters);
    return outcome.ok ? 'done' : faultSentence(outcome.fault);
  };
  it('an open form, an inside-out form, no faces, a thickness out of range, an opening that leaves nothing', () => {
    const cube = box(20, 20, 20);
    expect(sentence({ ...cube, triangles: cube.triangles.slice(3) }, { foamMm: 8 })).toContain('3 open edges');
    expect(sentence({ ...cube, triangles: cube.triangles.toReversed() }, { foamMm: 8 })).toContain('inside out');
    expect(sentence({ ...cube, triangles: new Uint32Array(0) }, { foamMm: 8 })).toContain('no faces');
    expect(sentence(cube, { foamMm: 0.1 })).toContain('foamMm');
    expect(sentence(cube, { foamMm: 2, opening: { plane: [0, 0, 90, 0, 0, 1] } })).toContain('turn the normal round');
    expect(sentence(cube, { foamMm: 2, opening: { plane: [0, 0, 0, 0, 0, 0] } })).toContain(
      'normal of a plane is zero',
    );
  });

  it('a form whose pieces pass through one another, or a ball with a vertex pushed out of its other side; not one that only touches itself', () => {
    const twice = join(sphere(40, 2), { ...sphere(40, 2), positions: sphere(40, 2).positions.map((x) => x + 20) });
    expect(sentence(twice, { foamMm: 8 })).toContain('pass through one another');
    const spiked = sphere(40, 3);
    let far = 0;
    for (let i = 0; i < spiked.positions.length; i += 3) if (spiked.positions[i] > spiked.positions[far]) far = i;
    spiked.positions.set([-60, 2, 1], far);
    expect(sentence(spiked, { foamMm: 8 })).toContain('pass through one another');
    // An edge parted by a face without area, as drawing programs write where faces meet others along half an edge.
    const { positions, triangles: t } = box(30, 20, 10);
    const [a, b, c] = t.subarray(0, 3);
    const middle = [0, 1, 2].map((k) => (positions[a * 3 + k] + positions[b * 3 + k]) / 2);
    const parted = { positions: [...positions, ...middle], triangles: [a, 8, c, 8, b, c, a, b, 8, ...t.subarray(3)] };
    const mesh = { positions: Float64Array.from(parted.positions), triangles: Uint32Array.from(parted.triangles) };
    expect(sentence(mesh, { foamMm: 8, toleranceMm: 0.5 })).toBe('done');
  });

  it('a form that a volume to be left free covers whole', () => {
    const keepOut = { keepOut: [{ ball: { centre: [0, 0, 0], radiusMm: 90 } }] };
    expect(sentence(sphere(40, 2), { foamMm: 8, keepOut })).toContain('cover the whole form');
  });
});

it('says which opening opens nothing: beside the liner, or in its wall only', () => {
  const opening = [
    { plane: [0, 0, -20, 0, 0, 1] },
    { plane: [0, 0, 60, 0, 0, -1] },
    { plane: [0, 0, 50, 0, 0, -1] },
    { plane: [0, 0, 47, 0, 0, -1] },
  ];
  const outcome = line(sphere(40, 3), { foamMm: 8, wallMm: 4, toleranceMm: 0.5, opening });
  const idle = outcome.ok ? outcome.warnings.filter(({ code }) => code === 'line.opening-idle') : [];
  expect(idle.map(({ sentence }) => sentence.slice(0, 9))).toEqual(['Opening 2', 'Opening 3']);
});

it('the wall is measured between its own surfaces: 3 mm on a ball, also with hollows bridged and with zones', () => {
  const zones = { zones: [{ foamMm: 12, points: [[0, 0, 40]], radiusMm: 30 }] };
  for (const wishes of [{}, { bridgeMm: 5 }, { zones }]) {
    const figures = figuresOf(line(sphere(40, 3), { foamMm: 8, wallMm: 3, toleranceMm: 0.2, ...wishes }));
    expect(Math.abs((figures.wallMinMm ?? 0) - 3)).toBeLessThan(0.2);
    expect(Math.abs((figures.wallMaxMm ?? 0) - 3)).toBeLessThan(0.2);
    expect(Math.abs((figures.wallMeanMm ?? 0) - 3)).toBeLessThan(0.03);
  }
});

it('tells where it misses most and where the wall is thinnest, in the file’s coordinates (centimetres)', () => {
  const figures = figuresOf(line(sphere(40, 3), { foamMm: 8, wallMm: 3, toleranceMm: 0.2 }, {}, scaling(10)));
  // About a ball both are told by how far out they lie; the form itself is 0.3 mm less than a ball between its corners.
  const outMm = (at: readonly number[] | null | undefined): number => 10 * Math.hypot(...(at ?? []));
  const missMm = Math.abs(outMm(figures.maxAbsErrorAt) - 48);
  expect(missMm).toBeLessThan(figures.maxAbsErrorMm + 0.3);
  for (const at of [figures.wallMinAt, figures.wallMaxAt]) {
    const out = outMm(at);
    expect(Math.min(Math.abs(out - 48), Math.abs(out - 51))).toBeLessThan(0.5);
  }
  expect(Math.abs(outMm(figures.wallMaxAt) - 51)).toBeLessThan(0.5);
});

describe('zones from a file', () => {
  it('points are in the file’s own coordinates, compression lessens the room, and each zone has its evidence', () => {
    // The file is in centimetres: the spot's centre at 9 is at 90 mm.
    const zones = { zones: [{ foamMm: 15, compression: 0.2, points: [[0, 0, 9]], radiusMm: 35 }] };
    const outcome = line(sphere(90, 4), { foamMm: 8, toleranceMm: 0.2, zones }, {}, scaling(10));
    const [zone] = figuresOf(outcome).zones;
    expect([zone.name, zone.thicknessMm]).toEqual(['zone 1', 12]);
    expect(Math.abs(zone.meanMm - 12)).toBeLessThan(0.02);
    // It counts fully within 25 mm along the form: the radius less half the blend; the liner above is a little wider.
    expect(zone.areaMm2 / (Math.PI * 25 ** 2)).toBeGreaterThan(0.95);
    expect(zone.areaMm2 / (Math.PI * 25 ** 2)).toBeLessThan(1.3);
    if (outcome.ok) expect(boundsOf((outcome.value.mesh as Mesh).positions).max[2]).toBeCloseTo(102, 0);
  });

  it('refuses a blend too short for the step, a zone in two places at once, names on a form that hangs down', () => {
    const sentence = (mesh: Mesh, zone: object): string => {
      const outcome = line(mesh, { foamMm: 8, zones: { zones: [zone] } });
      return outcome.ok ? 'done' : faultSentence(outcome.fault);
    };
    const ball = sphere(40, 3);
    expect(sentence(ball, { foamMm: 20, blendMm: 10, region: 'crown' })).toContain('give at least 24');
    const both = { foamMm: 9, region: 'crown', points: [[0, 0, 40]], radiusMm: 20 };
    expect(sentence(ball, both)).toContain('exactly one of');
    expect(sentence(ball, { foamMm: 0.6, compression: 0.9, region: 'crown' })).toContain('less than 0.5 mm');
    const low = { ...ball, positions: ball.positions.map((x, i) => (i % 3 === 2 ? x - 50 : x)) };
    expect(sentence(low, { foamMm: 9, region: 'crown' })).toContain('upright form');
  });

  it('says when a zone counts nowhere', () => {
    const zones = { zones: [{ foamMm: 9, points: [[500, 0, 0]], radiusMm: 20 }] };
    const outcome = line(sphere(40, 3), { foamMm: 8, zones });
    expect(outcome.ok && outcome.warnings.map((warning) => warning.code)).toContain('line.zone-empty');
  });
});

describe('donning', () => {
  const waisted = sphere(40, 4);
  const opening = { plane: [0, 0, -20, 0, 0, 1] };

  it('a ball open below its middle does not come in from below: the foam must give what lies under the equator', () => {
    const figures = figuresOf(line(waisted, { foamMm: 8, toleranceMm: 0.2, opening, donning: [0, 0, -1], giveMm: 2 }));
    // The liner's rim at z = -20 is √(48² - 20²) = 43.635 mm from the axis, the equator at 40: 8 - 3.635 mm to give.
    expect(Math.abs((figures.donning?.deepestMm ?? 0) - (8 - (Math.sqrt(48 ** 2 - 20 ** 2) - 40)))).toBeLessThan(0.2);
    expect([figures.donning?.passes, figures.donning?.undercuts.length]).toEqual([false, 1]);
    expect(figures.donning?.undercuts[0].where[2]).toBeCloseTo(-20, -1);
  });

  it('with foam that gives more it passes, and nothing is said; the place is told in the file’s coordinates', () => {
    const wishes = {
      foamMm: 8,
      toleranceMm: 0.2,
      opening: { plane: [0, 0, -2, 0, 0, 1] },
      donning: [0, 0, -1],
      giveMm: 5,
    };
    const outcome = line(waisted, wishes, {}, scaling(10));
    const { donning } = figuresOf(outcome);
    expect(donning?.passes).toBe(true);
    expect(Math.abs(donning?.undercuts[0].where[2] ?? 0)).toBeLessThan(2.01);
    expect(outcome.ok && outcome.warnings.map((warning) => warning.code)).not.toContain('line.undercut');
  });

  it('asks for an opening and a direction', () => {
    const sentence = (parameters: object): string => {
      const outcome = line(waisted, { foamMm: 8, ...parameters });
      return outcome.ok ? 'done' : faultSentence(outcome.fault);
    };
    expect(sentence({ donning: [0, 0, -1] })).toContain('needs an opening');
    expect(sentence({ donning: [0, 0, 0], opening })).toContain('direction is zero');
  });
});

describe('a keyhole body put on from above, opened 10 mm over the foot of its post', () => {
  const wishes = {
    foamMm: 8,
    toleranceMm: 0.2,
    opening: { plane: [0, 0, -50, 0, 0, 1] },
    donning: [0, 0, -1],
    giveMm: 2,
  };

  it('the least opening is the padded post, 4 mm narrower than the head, and what would help is reckoned', () => {
    const figures = figuresOf(line(keyhole(), wishes));
    expect(figures.donning?.passes).toBe(false);
    const least = figures.leastOpening;
    for (const way of ['sideMm', 'frontMm'] as const) {
      expect(Math.abs((least?.liner[way] ?? 0) - (40 + 2 * 8))).toBeLessThan(0.5);
      expect(least?.body[way]).toBeCloseTo(60, 6);
    }
    expect(Math.abs((least?.shortMm ?? 0) - (60 - 56))).toBeLessThan(0.5);
    // Round the head's lower edge the foam must give 8 - 8 cos θ at the height -8 sin θ: 2 mm where cos θ = 3/4.
    const raise = 50 - 8 * Math.sqrt(1 - 0.75 ** 2) + 0.5;
    expect(Math.abs((figures.waysIn?.widen.raiseMm ?? 0) - raise)).toBeLessThan(1.5);
    expect(figures.waysIn?.flare.byMm).toBeCloseTo((figures.donning?.deepestMm ?? 0) - 2, 9);
    // Post and head have straight sides: two halves come off sideways freely.
    expect([figures.waysIn?.split.passes, figures.waysIn?.split.deepestMm]).toEqual([true, 0]);
  });

  it('cleared it goes on, and says what that costs beside the post', () => {
    const outcome = line(keyhole(), { ...wishes, clear: true });
    const figures = figuresOf(outcome);
    expect([figures.donning?.passes, figures.waysIn]).toEqual([true, null]);
    expect(Math.abs((figures.donning?.deepestMm ?? 0) - 2)).toBeLessThan(0.25);
    expect(figures.standsOff).toHaveLength(1);
    // At the edges of the post: 36 mm to either side less the post's edge and the foam.
    expect(Math.abs(figures.standsOff[0].addedMaxMm - (Math.hypot(16, 10 + 6 / Math.SQRT2) - 8))).toBeLessThan(2.5);
    expect(outcome.ok && outcome.warnings.map(({ code }) => code)).not.toContain('line.undercut');
  });

  it('asks for a way in before it can be cleared', () => {
    const outcome = line(keyhole(), { foamMm: 8, clear: true });
    expect(outcome.ok ? 'done' : faultSentence(outcome.fault)).toContain('direction of --donning');
  });
});

describe('openings along curves and volumes left free, in the file’s own coordinates', () => {
  const circle = Array.from({ length: 12 }, (_, i) => {
    const turn = (Math.PI * i) / 6;
    return [2 * Math.sqrt(3) * Math.cos(turn), 2 * Math.sqrt(3) * Math.sin(turn), 2];
  });

  it('a file in centimetres: the rim lies on the cone of 60 degrees, the ball pushes the liner out', () => {
    const outcome = line(
      sphere(40, 4),
      {
        foamMm: 8,
        wallMm: 3,
        toleranceMm: 0.2,
        opening: { curves: [{ points: circle }] },
        keepOut: { keepOut: [{ name: 'fan', ball: { centre: [0, 0, -4.5], radiusMm: 10 }, clearanceMm: 2 }] },
      },
      {},
      scaling(10),
    );
    const figures = figuresOf(outcome);
    const [opening] = figures.openings;
    expect(Math.abs(opening.rimLengthMm / (2 * Math.PI * 48 * Math.sin(Math.PI / 3)) - 1)).toBeLessThan(0.005);
    expect(opening.kind).toBe('curve');
    const [fan] = figures.standsOff;
    expect([fan.keepOut, Math.abs(fan.addedMaxMm - (45 + 10 + 2 - 48)) < 0.3]).toEqual(['fan', true]);
  });

  it('the larger side goes where that is asked: of a closed ball and one drawn line, one takes what the other leaves', () => {
    const under = circle.map(([x, y]) => [x, y, -2]);
    const left = ['smaller', 'larger'].map((goes) => {
      const curves = [{ points: under, goes }];
      const figures = figuresOf(
        line(sphere(40, 4), { foamMm: 8, wallMm: 3, toleranceMm: 0.2, opening: { curves } }, {}, scaling(10)),
      );
      return figures.volumeMm3;
    });
    // A cone of 120 degrees round the axis takes a quarter of the shell between two balls: (1 - cos 60°) / 2.
    const shell = (4 / 3) * Math.PI * (51 ** 3 - 48 ** 3);
    expect(left.map((volume) => Math.abs(volume / shell - (volume > shell / 2 ? 0.75 : 0.25)) < 0.005)).toEqual([
      true,
      true,
    ]);
    expect(left[0]).toBeGreaterThan(left[1]);
    const both = line(sphere(40, 3), {
      foamMm: 8,
      opening: { curves: [{ points: under, away: [0, 0, 1], goes: 'larger' }] },
    });
    expect(both.ok ? 'done' : faultSentence(both.fault)).toContain('not both');
  });

  it('says which volume changes nothing, and refuses what is none', () => {
    const sentences = (keepOut: object): string => {
      const outcome = line(sphere(40, 3), { foamMm: 8, toleranceMm: 0.5, keepOut: { keepOut: [keepOut] } });
      return outcome.ok ? outcome.warnings.map(({ sentence }) => sentence).join() : faultSentence(outcome.fault);
    };
    expect(sentences({ name: 'tooth', ball: { centre: [0, 0, 0], radiusMm: 5 } })).toContain('"tooth" changes nothing');
    expect(
      sentences({ name: 'two', ball: { centre: [0, 0, 0], radiusMm: 5 }, box: { min: [0, 0, 0], max: [1, 1, 1] } }),
    ).toContain('exactly one');
    const open = { positions: [0, 0, 0, 9, 0, 0, 0, 9, 0], triangles: [0, 1, 2] };
    expect(sentences({ mesh: open })).toContain('must be closed');
    expect(sentences({ mesh: { ...open, triangles: [0, 1, 7] } })).toContain('each corner among its points');
  });

  it('a line drawn in another unit than the file is refused at its first place', () => {
    // The file is in centimetres, the line in millimetres: its places lie 346 mm from the axis, 306 beside a ball of 40.
    const curves = [{ points: circle.map((point) => point.map((c) => 10 * c)) }];
    const outcome = line(sphere(40, 3), { foamMm: 8, opening: { curves } }, {}, scaling(10));
    expect(outcome.ok ? 'done' : faultSentence(outcome.fault)).toMatch(
      /place 1 of curve 1 lies 3\d\d mm beside the body/,
    );
  });

  it('a curve that is one place only, or lies on nothing that parts, is refused in a sentence', () => {
    const outcome = line(sphere(40, 3), {
      foamMm: 8,
      opening: {
        curves: [
          {
            points: [
              [0, 0, 40],
              [0, 0, 41],
              [0, 0, 42],
            ],
          },
        ],
      },
    });
    expect(outcome.ok ? 'done' : faultSentence(outcome.fault)).toContain('fewer than three different points');
  });
});

it('foam per zone: on a ball, 12 mm over the whole of it is the shell’s volume, and a quarter more to buy', () => {
  const zones = { zones: [{ foamMm: 15, compression: 0.2, box: { min: [-99, -99, -99], max: [99, 99, 99] } }] };
  const [zone] = figuresOf(line(sphere(40, 4), { foamMm: 8, toleranceMm: 0.2, zones })).zones;
  const volume = (4 / 3) * Math.PI * (52 ** 3 - 40 ** 3);
  expect(Math.abs(zone.volumeMm3 / volume - 1)).toBeLessThan(0.01);
  expect(zone.boughtVolumeMm3 / zone.volumeMm3).toBeCloseTo(1.25, 9);
});

describe('running', () => {
  it('progress never falls and ends at 1', () => {
    const seen: number[] = [];
    figuresOf(
      line(
        sphere(40, 3),
        { foamMm: 6, wallMm: 2, bridgeMm: 5 },
        { progress: (fraction: number) => seen.push(fraction) },
      ),
    );
    expect(seen.every((x, i) => i === 0 || x >= seen[i - 1])).toBe(true);
    expect(seen.at(-1)).toBeCloseTo(1, 9);
  });

  it.each([1, 10, 60, 150])('stops at step %d when asked', (steps) => {
    let left = steps;
    const outcome = line(sphere(80, 4), { foamMm: 6 }, { cancelled: () => left-- <= 0 });
    expect(outcome.ok ? 'done' : outcome.fault.code).toBe('job.cancelled');
  });

  it('an opening is given in the file’s own coordinates', () => {
    // The file is in centimetres: the plane at 2 is at 20 mm.
    const outcome = line(sphere(40, 3), { foamMm: 6, opening: { plane: [0, 0, 2, 0, 0, -1] } }, {}, scaling(10));
    if (!outcome.ok) throw new Error('not made');
    expect(boundsOf((outcome.value.mesh as Mesh).positions).max[2]).toBeCloseTo(20, 4);
  });

  it('the same input gives the same bytes', () => {
    const once = line(sphere(40, 3), { foamMm: 6 });
    const again = line(sphere(40, 3), { foamMm: 6 });
    if (!once.ok || !again.ok) throw new Error('not made');
    expect(again.value.mesh?.positions).toEqual(once.value.mesh?.positions);
    expect(again.value.mesh?.triangles).toEqual(once.value.mesh?.triangles);
  });
});
