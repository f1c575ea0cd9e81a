/**
 * How the surface goes round the cubes of a tree, where cubes of several sizes meet. What is kept from one split to the
 * next is held against a tree of which nothing was asked before; a cube that nothing finer touches against the patterns
 * of its own corners (no outside source: the same answer by two ways).
 */
import { describe, expect, it } from 'vitest';
import { EDGE_CORNER, PATCH_COUNT, PATCH_OF_EDGE } from '../../../electron/geometry/offset/cell-patches.ts';
import { CubeTree } from '../../../electron/geometry/offset/cube-tree.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { seeded } from '../../support/random.ts';
import { sphere } from '../../support/solids.ts';

const CELL_MM = 4;

/** Cubes round a ball, some of them split, and some of what came of it; `each` after every split. */
function splitTree(each: (tree: CubeTree) => void): CubeTree {
  const random = seeded(5);
  const field = new SignedField(sphere(10, 2));
  const tree = new CubeTree(field, 2, CELL_MM, 3, [-12, -12, -12]);
  for (let x = -14; x < 15; x += CELL_MM) {
    for (let y = -14; y < 15; y += CELL_MM) {
      for (let z = -14; z < 15; z += CELL_MM) tree.visit(tree.keyAt(x, y, z), -1, true);
    }
  }
  for (let n = 0; n < 60; n++) {
    const cube = Math.floor(random() * tree.count);
    if (tree.child[cube] >= 0 || tree.size[cube] === 1) continue;
    tree.split(cube, () => undefined);
    each(tree);
  }
  return tree;
}

function leaves(tree: CubeTree): number[] {
  return Array.from({ length: tree.count }, (_, cube) => cube).filter((cube) => tree.child[cube] < 0);
}

describe('the way of the surface round a cube', () => {
  it('is told anew after a cube that touches it was split', () => {
    const asked = splitTree((tree) => leaves(tree).forEach((cube) => tree.trace(cube)));
    const fresh = splitTree(() => undefined);
    const some = leaves(fresh).filter((cube) => !fresh.isWhole(cube) && fresh.trace(cube).loops > 0);
    expect(some.length).toBeGreaterThan(20);
    for (const cube of leaves(fresh)) expect(asked.trace(cube)).toEqual(fresh.trace(cube));
  });

  it('is that of its own corners where nothing finer touches its edges', () => {
    const tree = splitTree(() => undefined);
    const whole = leaves(tree).filter((cube) => tree.isWhole(cube));
    expect(whole.filter((cube) => tree.size[cube] === 4 && tree.trace(cube).loops > 0).length).toBeGreaterThan(20);
    for (const cube of whole) {
      const { from, to, loop, loops, isDouble } = tree.trace(cube);
      expect(loops).toBe(PATCH_COUNT[tree.pattern[cube]]);
      expect(isDouble).toBe(tree.hasDoubleFace(cube));
      const seen = new Map<string, number>();
      for (const [e, node] of from.entries()) seen.set(`${node} ${to[e]}`, loop[e]);
      const loopOfPatch = new Map<number, number>();
      for (let edge = 0; edge < 12; edge++) {
        const patch = PATCH_OF_EDGE[tree.pattern[cube] * 12 + edge];
        const low = cube * 8 + EDGE_CORNER[edge];
        const found = seen.get(`${tree.corners[low]} ${tree.corners[low + (1 << (edge >> 2))]}`);
        expect(found === undefined).toBe(patch < 0);
        if (found === undefined) continue;
        expect(loopOfPatch.get(patch) ?? found).toBe(found);
        loopOfPatch.set(patch, found);
      }
      expect(seen.size).toBe(from.length);
    }
  });
});
