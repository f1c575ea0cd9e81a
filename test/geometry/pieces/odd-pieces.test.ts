import { describe, expect, it } from 'vitest';
import type { Mesh, Plane } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { examine } from '../../../electron/geometry/mend/health.ts';
import { boundsOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { transformMesh, translation } from '../../../electron/geometry/mesh/transform.ts';
import { bodiesOf, cutApart } from '../../../electron/geometry/pieces/cut-apart.ts';
import { gaugeBand } from '../../../electron/geometry/pieces/gauge-band.ts';
import { splitSolid } from '../../../electron/geometry/pieces/split-solid.ts';
import { cutFlat } from '../../../electron/geometry/offset/cut-flat.ts';
import { join } from '../../support/meshes.ts';
import { box, cylinder, inward, sphere } from '../../support/solids.ts';
import { splitOptions } from './split-options.ts';

const OPTIONS = splitOptions(200);
const level = (z: number): Plane => ({ point: [0, 0, z], normal: [0, 0, 1] });

const sound = (mesh: Mesh): void => {
  const { watertight, selfIntersections } = examine(mesh);
  expect({ watertight, selfIntersections }).toEqual({ watertight: true, selfIntersections: 0 });
};

/** From -90 to 90 mm. */
function tube(outer: number, inner: number): Mesh {
  const long = join(cylinder(outer, 200, 128, 40), inward(cylinder(inner, 220, 128, 44)));
  const ends: Plane[] = [level(-90), { point: [0, 0, 90], normal: [0, 0, -1] }];
  return ends.reduce((mesh, end) => cutFlat(mesh, end).mesh, long);
}

describe('an odd split', () => {
  it('raises no number on a face that has to meet another', () => {
    // The cut lies above the middle, so that the upper piece's cut face looks toward the middle of the whole.
    const { pieces } = splitSolid(box(80, 80, 80), { ...OPTIONS, planes: [level(10)], joint: 'none' }, QUIET_RUN);
    const [upper, lower] = pieces;
    expect(boundsOf(upper.mesh.positions).min[2]).toBeCloseTo(10, 6);
    expect(boundsOf(lower.mesh.positions).max[2]).toBeCloseTo(10, 6);
  });

  it('tells the room of a piece with its number, and stands it on the bed', () => {
    const { pieces } = splitSolid(hollowBox(), { ...OPTIONS, planes: [level(0)], bed: [300, 300, 300] }, QUIET_RUN);
    for (const { lying, laid } of pieces) {
      const { min, max } = boundsOf(lying.positions);
      expect(min[2]).toBeCloseTo(0, 4);
      for (let k = 0; k < 3; k++) expect(max[k] - min[k]).toBeCloseTo(laid.size[k], 3);
    }
  });

  it('makes sound pegs that are thicker than they are deep', () => {
    const thick = { ...OPTIONS, joint: 'peg' as const, pinMm: 20, pinDepthMm: 2, markMm: 0 };
    const { pieces, joints } = splitSolid(box(100, 100, 100), { ...thick, planes: [level(0)] }, QUIET_RUN);
    expect(joints.length).toBeGreaterThan(0);
    expect(boundsOf(pieces[1].mesh.positions).max[2]).toBeCloseTo(2, 4);
    // The peg's chamfer takes half its height at the most, so more than a cylinder of half of it stands on the face.
    const socket = volumeOf(box(100, 100, 50)) - volumeOf(pieces[0].mesh);
    expect(volumeOf(pieces[1].mesh) - volumeOf(box(100, 100, 50))).toBeGreaterThan(joints.length * Math.PI * 9.9 ** 2);
    expect(socket).toBeGreaterThan(joints.length * Math.PI * 10 ** 2 * 2.4);
    for (const { lying } of pieces) sound(lying);
  });

  it('lets planes that miss or come twice do nothing to the pins', () => {
    const once = splitSolid(box(80, 80, 80), { ...OPTIONS, planes: [level(0)] }, QUIET_RUN);
    const planes = [level(60), level(0), level(0), level(-40)];
    const odd = splitSolid(box(80, 80, 80), { ...OPTIONS, planes }, QUIET_RUN);
    expect(odd.planes).toEqual([level(0)]);
    expect(odd.joints.length).toBe(once.joints.length);
    expect(odd.joints.length).toBeGreaterThan(1);
    expect(odd.joints.every(({ plane }) => plane === 0)).toBe(true);
  });

  it('sets pins in every seam where two halves are cut at one level', () => {
    const { pieces, planes, joints } = splitSolid(box(80, 90, 100), { ...OPTIONS, bed: [55, 55, 55] }, QUIET_RUN);
    expect(pieces).toHaveLength(8);
    // Three cuts through the middle, the later ones made for each piece: three of the seven planes would do.
    expect(planes).toHaveLength(7);
    const seams = new Set(joints.map((one) => one.pieces.toSorted((a, b) => a - b).join(' ')));
    expect(seams.size).toBe(12);
    for (const { lying } of pieces) sound(lying);
  });

  it('cuts through vertices and edges soundly', () => {
    const ball = sphere(50, 3);
    for (const { mesh } of cutApart(ball, [level(0), { point: [0, 0, 0], normal: [1, 0, 0] }])) sound(mesh);
    // Only touched, in a vertex and in a face.
    expect(cutApart(ball, [level(boundsOf(ball.positions).max[2])])).toHaveLength(1);
    expect(cutApart(box(10, 10, 10), [level(-5)])).toHaveLength(1);
  });

  it('keeps every body and void of many, and each void with its own', () => {
    const at = (x: number, mesh: Mesh): Mesh => transformMesh(translation([x, 0, 0]), mesh);
    const many = join(
      ...[0, 100, 200, 300].flatMap((x) => [at(x, sphere(40, 2)), at(x, inward(sphere(20, 2)))]),
      at(0, sphere(10, 2)),
    );
    const bodies = bodiesOf(many);
    expect(bodies).toHaveLength(5);
    const one = volumeOf(sphere(40, 2)) - volumeOf(sphere(20, 2));
    for (const body of bodies.slice(1)) expect(volumeOf(body)).toBeCloseTo(one, 6);
  });

  it('can be stopped all along', () => {
    let steps = 0;
    const run: RunContext = { ...QUIET_RUN, step: () => void steps++ };
    splitSolid(join(sphere(75, 5), inward(sphere(70, 5))), { ...OPTIONS, planes: [level(0)] }, run);
    // One for every few thousand faces, every place of a pin and every way of lying; it was a tenth of that.
    expect(steps).toBeGreaterThan(1500);
  });
});

/** Halved, its pieces have a flat ceiling inside. */
function hollowBox(): Mesh {
  return join(box(140, 140, 140), inward(box(110, 110, 110)));
}

describe('an odd gauge band', () => {
  it('is told open where the section is no ring', () => {
    const bow = cutFlat(tube(80, 76), { point: [40, 0, 0], normal: [-1, 0, 0] }).mesh;
    const band = gaugeBand(bow, 10, 12, '');
    if (band === undefined) throw new Error('no band');
    sound(band.mesh);
    expect(band.form).toBe('bow');
    expect(band.insideMm).toBe(0);
    // As a tape lies round it: two thirds of the circle and the chord across the opening.
    const chord = 2 * 80 * Math.sin(Math.PI / 3);
    expect(Math.abs(band.outsideMm - ((4 / 3) * Math.PI * 80 + chord))).toBeLessThan(1);
    expect(gaugeBand(tube(80, 76), 10, 12, '')?.form).toBe('ring');
    expect(gaugeBand(cylinder(80, 200, 128, 40), 10, 12, '')?.form).toBe('disc');
  });

  it('takes the hollow, not a smaller hole beside it, for the inside', () => {
    const hole = transformMesh(translation([83, 0, 0]), inward(cylinder(4, 220, 32, 44)));
    const { insideMm: inner = 0, form } = gaugeBand(join(hole, tube(90, 76)), 10, 12, '') ?? {};
    expect(form).toBe('ring');
    expect(gaugeBand(join(hole, cylinder(90, 200, 128, 40)), 10, 12, '')).toMatchObject({ form: 'disc', insideMm: 0 });
    expect(Math.abs(inner - 2 * Math.PI * 76)).toBeLessThan(1);
  });

  it('is not made where it would reach beyond the shell', () => {
    expect(gaugeBand(tube(80, 76), 88, 12, '')).toBeUndefined();
    expect(gaugeBand(tube(80, 76), -88, 12, '')).toBeUndefined();
  });
});
