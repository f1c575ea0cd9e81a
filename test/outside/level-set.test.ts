/**
 * A liner against another implementation of the same surface: the level set of the solid-modelling library manifold-3d
 * (Apache-2.0), asked with the distance to two balls in closed form, so that nothing of ours takes part.
 */
import Module from 'manifold-3d';
import { expect, it } from 'vitest';
import type { Mesh } from '../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { offsetSurface } from '../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { sphere } from '../support/solids.ts';

const [RADIUS_MM, APART_MM, FOAM_MM, GRID_MM] = [20, 44, 8, 2];

it('two balls that melt into one: their corners within 0.2 mm of ours and, but for the crease, ours of theirs; volumes within 0.6 %', async () => {
  const form = twoBalls();
  const ours = offsetSurface(new SignedField(form), FOAM_MM, 0.1, QUIET_RUN)?.mesh as Mesh;
  const library = await Module();
  library.setup();
  const distance = ([x, y, z]: readonly number[]): number =>
    RADIUS_MM + FOAM_MM - Math.hypot(Math.abs(x) - APART_MM / 2, y, z);
  const reach = RADIUS_MM + FOAM_MM + 2;
  const [min, max] = [-1, 1].map((s): [number, number, number] => [s * (reach + APART_MM / 2), s * reach, s * reach]);
  // Between corners 2 mm apart on the library's grid an arc rises by (edge / 2)² / 2 r, 0.02 mm; its crease is cut off.
  const solid = library.Manifold.levelSet(distance, { min, max }, GRID_MM, 0, 0.005);
  const { vertProperties, triVerts, numProp } = solid.getMesh();
  const positions = Float64Array.from(
    { length: (vertProperties.length / numProp) * 3 },
    (_, i) => vertProperties[Math.floor(i / 3) * numProp + (i % 3)],
  );
  const theirs: Mesh = { positions, triangles: Uint32Array.from(triVerts) };
  solid.delete();
  // A ball's facets lie up to 0.06 mm below it: 0.4 % of its volume.
  expect(Math.abs(volumeOf(ours) / volumeOf(theirs) - 1)).toBeLessThan(0.006);
  expect(farthest(theirs, ours, 0)).toBeLessThan(0.2);
  expect(farthest(ours, theirs, 2 * GRID_MM)).toBeLessThan(0.2);
});

function twoBalls(): Mesh {
  const ball = sphere(RADIUS_MM, 4);
  const at = (side: number): Float64Array =>
    ball.positions.map((c, i) => (i % 3 === 0 ? c + (side * APART_MM) / 2 : c));
  const count = ball.positions.length / 3;
  return {
    positions: Float64Array.from([...at(-1), ...at(1)]),
    triangles: Uint32Array.from([...ball.triangles, ...ball.triangles.map((v) => v + count)]),
  };
}

/** Largest distance from a corner of one surface, so far or more from the crease, to the other, mm. */
function farthest({ positions: p }: Mesh, other: Mesh, offCreaseMm: number): number {
  const field = new SignedField(other);
  let most = 0;
  for (let v = 0; v < p.length; v += 3) {
    if (Math.abs(p[v]) >= offCreaseMm) most = Math.max(most, Math.abs(field.at(p[v], p[v + 1], p[v + 2])));
  }
  return most;
}
