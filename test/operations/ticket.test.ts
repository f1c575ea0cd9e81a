/** The steps of the ticket as operations: trim, stand, true, measure, mend. */
import { describe, expect, it } from 'vitest';
import { findOperation } from '../../electron/operations/index.ts';
import { runOperation, type InputMesh, type Operation } from '../../electron/operations/operation.ts';
import { IDENTITY, scaling, transformMesh } from '../../electron/geometry/mesh/transform.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { box, cylinder, ellipsoid, sphere, torus } from '../support/solids.ts';

const input = (mesh: Mesh): InputMesh => ({ mesh, name: 'scan', fromFile: IDENTITY });

function run(verb: string, mesh: InputMesh, parameters: unknown) {
  const outcome = runOperation(findOperation(verb) as Operation, [mesh], parameters);
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  // The figures' names are those of the verb; the tests say which they expect.
  // eslint-disable-next-line typescript/no-explicit-any
  return { ...outcome.value, figures: outcome.value.figures as Record<string, any>, warnings: outcome.warnings };
}

function refusal(verb: string, mesh: InputMesh, parameters: unknown): string {
  const outcome = runOperation(findOperation(verb) as Operation, [mesh], parameters);
  if (outcome.ok) throw new Error('it was not refused');
  return faultSentence(outcome.fault);
}

describe('trim', () => {
  it.each([1, 0.001, 0.1])('cuts a cylinder to its closed form and caps it, in a unit of %d', (unit) => {
    const body = transformMesh(scaling(unit), cylinder(80, 240, 96, 8));
    const { mesh, figures } = run('trim', input(body), { planes: [[0, 0, 20 * unit, 0, 0, 1]] });
    const share = (volumeOf(mesh as Mesh) / volumeOf(body)) * 240;
    expect(share).toBeCloseTo(100, 2);
    expect(figures['health']).toMatchObject({ watertight: true, selfIntersections: 0 });
    // the faceted disc's own area: n/2 sin(2 pi/n) r^2
    expect(figures['cappedAreaMm2'] / (48 * Math.sin(Math.PI / 48) * 6400)).toBeCloseTo(1, 3);
  });

  it('takes several planes, one through the cap of another', () => {
    const { mesh } = run('trim', input(box(100, 100, 100)), {
      planes: [
        [0, 0, -20, 0, 0, 1],
        [10, 0, 0, -1, 0, 0],
        [0, 0, 0, 1, 1, 1],
      ],
    });
    expect(volumeOf(mesh as Mesh)).toBeGreaterThan(0);
  });

  it('says when a plane misses and when nothing would be left', () => {
    expect(run('trim', input(sphere(50, 3)), { planes: [[0, 0, -80, 0, 0, 1]] }).warnings[0].sentence).toMatch(
      /does not meet/,
    );
    expect(refusal('trim', input(sphere(50, 3)), { planes: [[0, 0, 80, 0, 0, 1]] })).toMatch(
      /cuts the whole surface away/,
    );
    expect(refusal('trim', input(sphere(50, 3)), { planes: [[0, 0, 0, 0, 0, 0]] })).toMatch(/normal/);
    const open = { ...sphere(50, 3), triangles: sphere(50, 3).triangles.slice(30) };
    expect(refusal('trim', input(open), { planes: [[0, 0, 0, 0, 0, 1]] })).toMatch(/open edges/);
  });
});

describe('true and measure', () => {
  const scan = transformMesh(scaling(1 / 1017), sphere(90, 5));
  const across = (name: string, way: number, measured: number, extra = {}) => {
    const end = [0, 0, 0].map((_, k) => (k === way ? 90 / 1017 : 0));
    return { name, from: end.map((x) => -x), to: end, measured, u: 0.5, ...extra };
  };

  it('finds the factor of a scan in metres, and the form reads the calliper value again', () => {
    const spans = [across('breadth', 1, 180.2), across('length', 0, 179.9), across('height', 2, 180.1)];
    const { mesh, figures, matrix } = run('true', input(scan), { spans: { spans } });
    expect(figures['factor']).toBeCloseTo(1017 * (180.0667 / 180), 0);
    expect(figures['outliers']).toEqual([]);
    expect(matrix?.[0]).toBe(figures['factor']);
    const taken = run(
      'measure',
      { ...input(mesh as Mesh), fromFile: matrix as readonly number[] },
      { spans: { spans } },
    );
    for (const span of taken.figures['spans']) expect(Math.abs(span.lengthMm - 180.07)).toBeLessThan(0.05);
  });

  it('takes girths with spans, holds one back, and names the misreading in plain words', () => {
    const r = 90 / 1017;
    const girths = [
      {
        name: 'girth',
        through: [
          [r, 0, 0],
          [0, r, 0],
          [-r, 0, 0],
        ],
        measured: 565.5,
        u: 2,
      },
    ];
    const spans = [
      across('breadth', 1, 180.1),
      across('length', 0, 195),
      across('height', 2, 179.8),
      across('again', 1, 180.3, { hold: true }),
    ];
    const { figures, warnings } = run('true', input(scan), { spans: { spans, girths } });
    expect(figures['outliers']).toEqual(['length']);
    expect(warnings.map((warning) => warning.sentence).join(' ')).toMatch(
      /Measure "length" again: it alone disagrees with the rest, by 1[45]\.\d mm/,
    );
    expect(figures['factor'] / 1017).toBeCloseTo(1, 2);
    expect(figures['advice'].join(' ')).toMatch(/"again", held back as a check, .*it agrees/);
  });

  it('takes hair under the tape off a girth, and says by how much: 2 pi times its thickness (Steiner)', () => {
    const r = 90 / 1017;
    const through = [
      [r, 0, 0],
      [0, r, 0],
      [-r, 0, 0],
    ];
    const read = { name: 'girth', through, measured: 2 * Math.PI * (90 + 4), u: 1, hairMm: 4 };
    const { figures } = run('true', input(scan), { spans: { girths: [read] } });
    expect(figures['factor'] / 1017).toBeCloseTo(1, 3);
    expect(figures['residuals'][0]).toMatchObject({ kind: 'girth', hairAllowanceMm: 8 * Math.PI });
    expect(figures['residuals'][0].measuredMm).toBeCloseTo(2 * Math.PI * 90, 9);
    // the allowance is told by eye, so the size is known less well than without it
    expect(figures['residuals'][0].uMm).toBeGreaterThan(7);
    expect(refusal('true', input(scan), { spans: { girths: [{ ...read, measured: 20 }] } })).toMatch(
      /nothing would be left of the body/,
    );
  });

  it('takes a taut arc with the rest, straight over a hollow that the skin follows', () => {
    // A ring: along its inside the skin is a curve, the tape a chord over the hole.
    const ring = torus(60, 15, 96, 24);
    const along = [
      [45, 0, 0],
      [0, 45, 0],
    ];
    const arcs = [{ name: 'arc', along, measured: 1 }];
    const [skin] = run('measure', input(ring), { spans: { arcs } }).figures['arcs'];
    const [tight] = run('measure', input(ring), { spans: { arcs: arcs.map((arc) => ({ ...arc, taut: true })) } })
      .figures['arcs'];
    expect(tight.lengthMm).toBeCloseTo(45 * Math.SQRT2, 3);
    expect(skin.lengthMm).toBeGreaterThan(69);
    const { figures } = run('true', input(ring), {
      spans: { arcs: [{ ...arcs[0], taut: true, measured: 45 * Math.SQRT2 }] },
    });
    expect(figures['factor']).toBeCloseTo(1, 3);
  });

  it('names two misreadings together, and takes a factor for that of a unit only near it', () => {
    const spans = [
      across('breadth', 1, 180.1),
      across('length', 0, 199),
      across('height', 2, 179.8),
      across('width', 1, 180.2),
      across('rise', 2, 168),
    ];
    const { figures, warnings } = run('true', input(scan), { spans });
    expect(figures['outliers'].toSorted()).toEqual(['length', 'rise']);
    expect(warnings.map((warning) => warning.sentence).join(' ')).toMatch(
      /Measure "length" and "rise" again: they disagree with the rest, by 1\d\.\d mm and 1\d\.\d mm/,
    );
    expect(figures['advice'].join(' ')).toMatch(/in metres/);
    // A visor in an arbitrary unit of 26.3 mm is not in inches of 25.4 mm.
    const visor = run('true', input(transformMesh(scaling(1 / 26.3), sphere(86, 3))), {
      spans: [{ name: 'pivots', from: [-86 / 26.3, 0, 0], to: [86 / 26.3, 0, 0], measured: 172, u: 0.25 }],
    });
    expect(visor.figures['advice'].join(' ')).not.toMatch(/inches/);
  });

  it('takes arcs along the skin beside spans, and closed forms come back', () => {
    const r = 90 / 1017;
    const along = [
      [r, 0, 0],
      [0, 0, r],
      [-r, 0, 0],
    ];
    const arcs = [{ name: 'over the top', along, measured: Math.PI * 90, u: 1 }];
    const spans = [across('breadth', 1, 180), across('length', 0, 180)];
    const { figures } = run('true', input(scan), { spans: { spans, arcs } });
    expect(figures['residuals'].map((one: { kind: string }) => one.kind)).toEqual(['span', 'span', 'arc']);
    // The mesh is inscribed in the sphere, so its arc is a little short of half a great circle.
    expect(figures['residuals'][2].scaledMm).toBeLessThan(Math.PI * 90);
    expect(figures['residuals'][2].scaledMm).toBeGreaterThan(Math.PI * 90 * 0.999);
    const taken = run('measure', input(scan), { spans: { arcs: [{ name: 'over the top', along }] } }).figures[
      'arcs'
    ][0];
    expect(taken.lengthMm * 1017).toBeGreaterThan(Math.PI * 90 * 0.999);
    expect(taken.straightMm * 1017).toBeCloseTo(2 * Math.SQRT2 * 90, 6);
    const two = transformMesh(scaling(1), scan);
    const open = {
      ...two,
      triangles: two.triangles.filter((_, i, all) => {
        const face = i - (i % 3);
        return [0, 1, 2].every((k) => Math.abs(two.positions[all[face + k] * 3 + 2]) > 0.02);
      }),
    };
    expect(
      refusal('measure', input(open), {
        spans: {
          arcs: [
            {
              name: 'over',
              along: [
                [0, 0, r],
                [0, 0, -r],
              ],
            },
          ],
        },
      }),
    ).toMatch(/No way along the surface/);
  });

  it('says that one reading alone has nothing to confirm it', () => {
    const { figures, warnings } = run('true', input(scan), { spans: [across('breadth', 1, 180)] });
    expect(figures['birgeRatio']).toBeNull();
    expect(warnings[0].sentence).toMatch(/nothing confirms it/);
  });

  it('warns of points that are not on the body: millimetres given for a scan in metres', () => {
    const slipped = { ...across('breadth', 1, 180), from: [0, -90, 0], to: [0, 90, 0] };
    const { warnings } = run('true', input(scan), { spans: [slipped] });
    expect(warnings[0].sentence).toMatch(/"breadth" do not lie on the surface.*unit/);
    // a coarse face has no vertex near, and is still the surface
    const middle = { name: 'width', from: [100, 0, 0], to: [-100, 0, 0], measured: 200 };
    const plain = run('true', input(box(200, 150, 100)), { spans: [middle] }).warnings;
    expect(plain.map((warning) => warning.code)).not.toContain('reading.off-surface');
  });

  it('refuses readings that can give no size', () => {
    expect(refusal('true', input(scan), { spans: [] })).toMatch(/no size/);
    expect(refusal('true', input(scan), { spans: [across('breadth', 1, -3)] })).toMatch(/more than 0/);
    const same = { name: 'x', from: [1, 1, 1], to: [1, 1, 1], measured: 5 };
    expect(refusal('true', input(scan), { spans: [same] })).toMatch(/the same/);
    expect(refusal('true', input(scan), { spans: [across('x', 1, 180, { hold: true })] })).toMatch(/held back/);
    const far = {
      name: 'far',
      through: [
        [5, 0, 0],
        [5, 1, 0],
        [5, 0, 1],
      ],
      measured: 500,
    };
    expect(refusal('true', input(scan), { spans: { girths: [far] } })).toMatch(/does not meet/);
  });
});

describe('stand', () => {
  it('wants landmarks that fix a frame', () => {
    expect(refusal('stand', input(sphere(90, 3)), { landmarks: { 'tragion-left': [0, 1, 0] } })).toMatch(
      /tragion-left, tragion-right/,
    );
    expect(
      refusal('stand', input(sphere(90, 3)), {
        landmarks: { 'tragion-left': [0, 1, 0], 'tragion-right': [0, -1, 0], 'orbitale-left': [0, 0.3, 0] },
      }),
    ).toMatch(/in one line/);
  });

  it('notices left and right exchanged: an orbitale on the wrong side, or the neck on top', () => {
    // A body with its cut end below, face along x.
    const body = run('trim', input(ellipsoid(95, 75, 120, 4)), { planes: [[0, 0, -70, 0, 0, 1]] }).mesh as Mesh;
    const right = { 'tragion-left': [0, 75, 0], 'tragion-right': [0, -75, 0], 'orbitale-left': [80, 30, 0] };
    expect(run('stand', input(body), { landmarks: right }).warnings).toEqual([]);
    const ears = { ...right, 'tragion-left': [0, -75, 0], 'tragion-right': [0, 75, 0] };
    expect(refusal('stand', input(body), { landmarks: ears })).toMatch(/left and right seem to be exchanged/);
    const all = { ...ears, 'orbitale-left': [80, -30, 0] };
    const cap = (f: number): boolean => [0, 1, 2].every((k) => body.positions[body.triangles[f + k] * 3 + 2] < -69.99);
    const faces = [...body.triangles.keys()].filter((f) => f % 3 === 0 && !cap(f));
    const open = {
      ...body,
      triangles: Uint32Array.from(faces.flatMap((f) => [0, 1, 2].map((k) => body.triangles[f + k]))),
    };
    for (const mesh of [body, open]) {
      const { warnings, figures } = run('stand', input(mesh), { landmarks: all });
      expect(warnings[0].sentence).toMatch(/end of the head is on top/);
      expect(figures['confidence']).toBe(0.5);
    }
  });

  it('guesses without landmarks, and says that it guessed', () => {
    const { figures, warnings, matrix } = run('stand', input(cylinder(60, 200, 48, 12)), {});
    expect(figures['method']).toBe('guess');
    expect(figures['confidence']).toBeLessThan(0.95);
    expect(warnings[0].sentence).toMatch(/guess/);
    expect(matrix?.every(Number.isFinite)).toBe(true);
  });
});

describe('mend', () => {
  it('tells what was dropped in mm of the assumed unit', () => {
    const scan = transformMesh(scaling(0.001), sphere(90, 4));
    const bit = transformMesh(
      [1, 0, 0, 0.2, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1],
      transformMesh(scaling(0.001), sphere(4, 1)),
    );
    const both: Mesh = {
      positions: Float64Array.from([...scan.positions, ...bit.positions]),
      triangles: Uint32Array.from([...scan.triangles, ...bit.triangles.map((v) => v + scan.positions.length / 3)]),
    };
    const { figures } = run('mend', input(both), {});
    expect(figures['assumedMmPerUnit']).toBe(1000);
    expect(figures['dropped'].length).toBe(1);
    expect(figures['dropped'][0].widthMm).toBeCloseTo(8, 0);
    expect(figures['dropped'][0].distanceMm).toBeCloseTo(200, 0);
    expect(figures['after']).toMatchObject({ watertight: true, selfIntersections: 0, pieces: 1 });
  });
});
