import { expect, it } from 'vitest';
import { linerTold, linerWords } from '../../shared-types/liner-words.ts';

it('tells liners of one foam apart by what was asked beside it, zones as they are worn', () => {
  const told = linerTold({
    foamMm: 8,
    bridgeMm: 12,
    wallMm: 2.5,
    zones: { zones: [{ region: 'crown', foamMm: 12, compression: 0.25 }, { foamMm: 6 }] },
    opening: { planes: [[0, 0, 0, 0, 0, 1]], curves: [{ points: [] }, { points: [] }] },
    keepOut: { keepOut: [{ name: 'fan' }, {}] },
    clear: true,
  });
  expect(linerWords(told)).toBe(
    'crown 9 mm · zone 2 6 mm · hollows bridged at 12 mm · wall 2.5 mm · open: 1 flat, 2 drawn lines · fan, a volume left free · undercuts taken out',
  );
});

it('a liner without anything is closed, and nothing in a record can break the list', () => {
  expect(linerWords(linerTold({ foamMm: 8 }))).toBe('closed');
  expect(linerWords(linerTold({ zones: 3, opening: null, keepOut: { keepOut: 'x' }, wallMm: '2' }))).toBe('closed');
  expect(linerWords(linerTold({ opening: [{ plane: [] }, { plane: [] }] }))).toBe('open: 2 flat');
});
