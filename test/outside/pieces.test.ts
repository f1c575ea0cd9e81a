/** Pieces against a second implementation: the solid-modelling library manifold-3d (Apache-2.0). */
import Module from 'manifold-3d';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Mesh } from '../../shared-types/mesh.ts';
import { readMesh } from '../../electron/formats/index.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { IDENTITY, roundToSingle } from '../../electron/geometry/mesh/transform.ts';
import { BORE_SIDES } from '../../electron/geometry/pieces/cap.ts';
import { splitOperation } from '../../electron/operations/split.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { ellipsoid, torus } from '../support/solids.ts';

let solids: Awaited<ReturnType<typeof Module>>;
beforeAll(async () => {
  solids = await Module();
  solids.setup();
});

const asSolid = (mesh: Mesh) =>
  new solids.Manifold(
    new solids.Mesh({
      numProp: 3,
      vertProperties: Float32Array.from(mesh.positions),
      triVerts: mesh.triangles.slice(),
    }),
  );

const bodies: readonly (readonly [string, Mesh])[] = [
  ['ellipsoid', roundToSingle(ellipsoid(100, 77, 120, 4))],
  ['torus', roundToSingle(torus(80, 25, 96, 48))],
];

describe.each(bodies)('pieces of a %s', (name, body) => {
  it('weigh what the library makes of the same cuts and holes, and are solids to it', () => {
    const planes = [
      [10, 5, 0, 1, 0, 0.2],
      [0, 0, 4, 0, 0.1, 1],
    ];
    const bed = [400, 400, 400];
    const parameters = { planes, bed, pinMm: 4, pinDepthMm: 8, spacingMm: 25, markMm: 0 };
    const outcome = runOperation(splitOperation, [{ mesh: body, name, fromFile: IDENTITY }], parameters);
    if (!outcome.ok) throw new Error(outcome.fault.code);
    const { figures, files = [] } = outcome.value;
    const whole = asSolid(body);
    expect(whole.volume()).toBeCloseTo(figures.wholeVolumeMm3, -1);
    // A plane that cuts too near a vertex is moved aside by some hundredths of a millimetre, and told as it cut.
    for (const [k, plane] of planes.entries()) {
      for (const [c, x] of figures.planes[k].slice(0, 3).entries()) expect(Math.abs(x - plane[c])).toBeLessThan(0.1);
    }
    // The library's pieces: the body on each side of both planes, less a prism along each pin.
    const sides = [1, -1].flatMap((a) => [1, -1].map((b) => [a, b]));
    const radius = figures.holeDiameterMm / 2 / Math.cos(Math.PI / BORE_SIDES);
    const theirs: number[] = [];
    for (const side of sides) {
      let piece = whole;
      for (const [k, [px, py, pz, nx, ny, nz]] of figures.planes.entries()) {
        const size = (side[k] as number) * Math.hypot(nx, ny, nz);
        const normal: [number, number, number] = [nx / size, ny / size, nz / size];
        piece = piece.trimByPlane(normal, px * normal[0] + py * normal[1] + pz * normal[2]);
      }
      theirs.push(...piece.decompose().map((one) => one.volume()));
    }
    const pins = figures.seams.reduce((sum, { pins: { length } }) => sum + length, 0);
    expect(pins).toBeGreaterThan(4);
    const prism = (BORE_SIDES / 2) * radius ** 2 * Math.sin((2 * Math.PI) / BORE_SIDES);
    const ours = figures.pieces.map(({ number, volumeMm3 }) => {
      const holes = figures.seams
        .filter(({ pieces }) => pieces.includes(number))
        .reduce((sum, seam) => sum + seam.pins.length * (seam.pinDepthMm + 0.5) * prism, 0);
      return volumeMm3 + holes;
    });
    const sorted = (list: number[]): number[] => list.toSorted((a, b) => a - b);
    expect(ours).toHaveLength(theirs.length);
    // The library keeps single precision inside: a few parts in a million.
    for (const [i, volume] of sorted(ours).entries()) {
      expect(Math.abs(volume - sorted(theirs)[i])).toBeLessThan(1e-5 * volume + 0.5);
    }
    const stls = files.filter((file) => file.name.endsWith('.stl'));
    expect(stls).toHaveLength(figures.pieces.length);
    for (const [i, { bytes, name: fileName }] of stls.entries()) {
      const read = readMesh(bytes, fileName);
      if (!read.ok) throw new Error(read.fault.code);
      const solid = asSolid(read.value.mesh);
      expect(solid.status()).toBe('NoError');
      expect(Math.abs(solid.volume() - figures.pieces[i].volumeMm3)).toBeLessThan(
        1e-5 * figures.pieces[i].volumeMm3 + 0.1,
      );
      expect(volumeOf(read.value.mesh)).toBeCloseTo(figures.pieces[i].volumeMm3, 0);
    }
  });
});
