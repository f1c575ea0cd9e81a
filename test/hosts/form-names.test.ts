import { expect, test } from 'vitest';
import { partOf } from '../../electron/hosts/cli/keepers.ts';

test('a form in a library is called by what it is of; a limb by its scan’s file, since there are four', () => {
  expect(partOf({ trim: [] }, 'scans/anna.ply')).toBe('head');
  expect(partOf({ region: 'torso' }, 'scans/anna.ply')).toBe('torso');
  expect(partOf({ region: 'limb' }, 'scans/left-forearm.obj')).toBe('left-forearm');
});
