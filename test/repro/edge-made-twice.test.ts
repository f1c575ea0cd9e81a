/**
 * A patch over a hole used an edge that the surface had elsewhere already, or two flips of one pass made the same
 * edge: four faces on it, no two of them meeting, and no later step noticed.
 */
import { describe, expect, it } from 'vitest';
import { refinePatch, type Patch } from '../../electron/geometry/mend/fair-patch.ts';
import { fillLoop, takenChords } from '../../electron/geometry/mend/fill-loop.ts';

/** How often each edge of a patch is used. */
function edgeUse(faces: readonly number[]): Map<string, number> {
  const use = new Map<string, number>();
  for (let f = 0; f < faces.length; f += 3)
    for (let k = 0; k < 3; k++) {
      const [a, b] = [faces[f + k], faces[f + ((k + 1) % 3)]];
      const key = a < b ? `${a},${b}` : `${b},${a}`;
      use.set(key, (use.get(key) ?? 0) + 1);
    }
  return use;
}

describe('a loop of six', () => {
  // a bent hexagon; its positions in the loop are its vertex numbers
  const p = Float64Array.from(
    [0, 1, 2, 3, 4, 5].flatMap((i) => [10 * Math.cos((i * Math.PI) / 3), 10 * Math.sin((i * Math.PI) / 3), i % 2]),
  );
  const loop = Uint32Array.of(0, 1, 2, 3, 4, 5);

  it('is filled without a chord that is taken', () => {
    for (let i = 0; i < 6; i++) {
      for (let j = i + 2; j < 6; j++) {
        if (i === 0 && j === 5) continue;
        const isTaken = takenChords(loop, (v) => (v === i ? [j] : []));
        const { faces, way } = fillLoop(p, loop, false, isTaken);
        expect(way).toBe('least area');
        expect(edgeUse(faces).has(`${i},${j}`)).toBe(false);
      }
    }
  });

  it('becomes a fan where every chord is taken', () => {
    const { faces, way } = fillLoop(p, loop, false, () => true);
    expect(way).toBe('fan');
    expect(faces.length).toBe(18);
  });

  it('is refined without an edge of more than two faces, nor a chord that is taken', () => {
    const isTaken = (i: number, j: number): boolean => Math.abs(i - j) === 2 || Math.abs(i - j) === 4;
    const { faces } = fillLoop(p, loop, false, isTaken);
    const patch: Patch = { positions: [...p, 0, 0, 0.5], faces };
    refinePatch(patch, new Float64Array(6).fill(1.5), isTaken);
    const use = edgeUse(patch.faces);
    expect(Math.max(...use.values())).toBe(2);
    for (const key of use.keys()) {
      const [a, b] = key.split(',').map(Number);
      if (a < 6 && b < 6 && b - a !== 1 && !(a === 0 && b === 5)) expect(isTaken(a, b), key).toBe(false);
    }
  });
});
