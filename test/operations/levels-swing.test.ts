/** Heights and a size that swing between two states: told only where the tape moves by what a hand can see. Own reckoning. */
import { expect, it } from 'vitest';
import { readLevels } from '../../electron/operations/levels.ts';
import { done } from '../../shared-types/outcome.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';

/** A tape `aboveMm` over the origin of a scan in millimetres; it reads 1 % more or less as the size is found small or large. */
function swinging(aboveMm: number) {
  const through = (mmPerUnit: number): [Vec3, Vec3, Vec3] => {
    const z = aboveMm / mmPerUnit;
    return [
      [0, 0, z],
      [1, 0, z],
      [0, 1, z],
    ];
  };
  const take = ({ points }: { points: readonly Vec3[] }) => {
    const length = aboveMm / points[0][2] < 1 ? 99 : 101;
    return done({ length, u: 0, line: new Float64Array(), at: [0, 0, 0] as Vec3 });
  };
  const level = { name: 'girth', measured: 100, u: 1 };
  const outcome = readLevels(take, [], 0, [{ level, leveller: { through, warnings: [] } }]);
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome;
}

it.each([
  // By 100 / 99 and by 100 / 101 a height differs by 2 % of itself.
  { aboveMm: 20, told: 0 },
  { aboveMm: 100, told: 1 },
])('a tape $aboveMm mm up: $told warning', ({ aboveMm, told }) => {
  const { warnings, value } = swinging(aboveMm);
  expect(warnings.map(({ code }) => code)).toEqual(Array.from({ length: told }, () => 'true.unsettled'));
  expect(value.readings).toHaveLength(1);
});
