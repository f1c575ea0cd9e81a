/**
 * Laying a form on a rough scan, carrying points across, and telling how a body has changed. The heads are invented, so
 * where each landmark lies on each scan is known; the changes of balls are known in closed form.
 */
import { expect, test } from 'vitest';
import { boundsOf } from '../../../electron/geometry/mesh/quantities.ts';
import { transformMesh, transformPoint, translation } from '../../../electron/geometry/mesh/transform.ts';
import { bodyChange, colouredByChange } from '../../../electron/geometry/register/body-change.ts';
import { regionOf } from '../../../electron/geometry/register/body-regions.ts';
import { carryPoints } from '../../../electron/geometry/register/carry-points.ts';
import { layFormOnScan } from '../../../electron/geometry/register/lay-on.ts';
import { buildBvh } from '../../../electron/geometry/spatial/bvh.ts';
import { scanWearer, WEARERS } from '../../../electron/invented/production.ts';
import type { HeadLandmark, HeadWishes } from '../../../electron/invented/head.ts';
import { ellipsoid } from '../../support/solids.ts';

const FACES = 8000;
const [captain] = WEARERS;
const old = scanWearer(captain);
const form = old.head.mesh(FACES);

/** A rough, coarse scan with holes, furniture and 0.3 mm of noise: misses of every landmark, mm, and what was said of them. */
function carried(seed: number, change: Partial<HeadWishes>, unitsPerMm: number, mmPerUnit: number | undefined) {
  const head = { ...captain.head, ...change };
  const { scan, head: now } = scanWearer({
    ...captain,
    head,
    faces: FACES,
    scan: { ...captain.scan, seed, unitsPerMm },
  });
  const laid = layFormOnScan(form, scan.mesh, mmPerUnit);
  if (laid === undefined) throw new Error('not laid');
  const names = Object.keys(old.head.landmarks) as HeadLandmark[];
  const got = carryPoints(
    form,
    names.map((name) => old.head.landmarks[name]),
    buildBvh(scan.mesh),
    laid,
  );
  return names.map((name, index) => {
    const truth = transformPoint(scan.truth.formToScan, now.landmarks[name]);
    const miss = (at: readonly number[]): number => Math.hypot(...at.map((x, k) => x - truth[k])) / unitsPerMm;
    const whole = transformPoint(laid.matrix, old.head.landmarks[name]);
    return { name, missMm: miss(got[index].point), wholeMissMm: miss(whole), uMm: got[index].uMm };
  });
}

const rms = (list: readonly number[]): number => Math.sqrt(list.reduce((sum, x) => sum + x * x, 0) / list.length);

test('the same head, scanned coarse and rough in any unit and turn: points are carried within 1.5 mm, 0.8 mm rms', () => {
  // Without the point-to-plane rounds seed 77 left 6 mm at the nose.
  for (const [seed, units, guess] of [
    [77, 1, 1],
    [79, 0.001, undefined],
    // Taken for centimetres: the furniture makes it as broad as that. It led to a head 130 mm out of place.
    [77, 0.04, 10],
  ] as const) {
    const points = carried(seed, {}, units, guess);
    expect(Math.max(...points.map((one) => one.wholeMissMm)), `seed ${seed}`).toBeLessThan(0.5);
    expect(Math.max(...points.map((one) => one.missMm)), `seed ${seed}`).toBeLessThan(1.5);
    expect(rms(points.map((one) => one.missMm)), `seed ${seed}`).toBeLessThan(0.8);
  }
});

test('a head that has changed: each point goes with its own patch, and the stated uncertainty is what it misses by', () => {
  const ratios: number[] = [];
  for (const [seed, change] of [
    [83, { heightMm: (captain.head.heightMm ?? 0) + 5 }],
    [82, { breadthMm: (captain.head.breadthMm ?? 0) + 5 }],
  ] as const) {
    const points = carried(seed, change, 1, 1);
    // Points with some shape around them; on the smooth round of the skull a patch knows no better than the whole.
    const shaped = points.filter(({ name }) => /tragion|orbitale|sellion|menton/.test(name));
    expect(rms(shaped.map((one) => one.missMm))).toBeLessThan(0.75 * rms(shaped.map((one) => one.wholeMissMm)));
    ratios.push(...points.map((one) => one.missMm / one.uMm));
  }
  // A standard uncertainty: misses are of its size, neither far above nor far below.
  expect(rms(ratios)).toBeGreaterThan(0.5);
  expect(rms(ratios)).toBeLessThan(2);
});

test('a ball that has grown by 3 mm has grown by 3 mm everywhere; moved and unchanged it has not changed', () => {
  const before = ellipsoid(100, 100, 100, 5);
  // Flat faces cut the corners of a ball: here by less than 0.12 mm in all.
  const grown = bodyChange(before, ellipsoid(103, 103, 103, 5));
  for (const region of grown?.regions ?? []) expect(Math.abs(region.meanMm - 3), region.name).toBeLessThan(0.12);
  expect(grown?.regions.length).toBeGreaterThan(5);
  const shrunk = bodyChange(before, ellipsoid(98, 98, 98, 5));
  for (const region of shrunk?.regions ?? []) expect(Math.abs(region.meanMm + 2), region.name).toBeLessThan(0.12);
  const egg = ellipsoid(100, 80, 120, 5);
  const moved = bodyChange(egg, transformMesh(translation([2, 1, -1]), egg));
  expect(moved?.maxMm).toBeLessThan(0.05);
});

test('a bump is found where it is, with its height, and coloured as growth; the flat cut below is no change', () => {
  const bump = (p: number[]): number[] => {
    // 6 mm outward at the left temple, fading over 30 mm.
    const away = Math.hypot(p[0] - 30, p[1] - 70, p[2] - 70);
    const rise = away < 30 ? 6 * Math.cos((Math.PI * away) / 60) ** 2 : 0;
    const length = Math.hypot(...p);
    return p.map((x) => x * (1 + rise / length));
  };
  const positions = Float64Array.from(form.positions);
  for (let at = 0; at < positions.length; at += 3) positions.set(bump([...positions.subarray(at, at + 3)]), at);
  const change = bodyChange(form, { positions, triangles: form.triangles });
  if (change === undefined) throw new Error('nothing compared');
  expect(change.whereInWords).toBe('left temple');
  expect(change.regions[0].name).toBe('left temple');
  // The nearest distance to a hill is a little less than its height.
  expect(change.maxMm).toBeGreaterThan(4.5);
  expect(change.maxMm).toBeLessThan(6.1);
  expect(change.regions.find(({ name }) => name === 'nape')?.meanAbsMm).toBeLessThan(0.3);
  const { colours } = colouredByChange(form, change.perVertexMm, 5);
  const most = change.perVertexMm.indexOf(Math.max(...change.perVertexMm.filter((x) => !Number.isNaN(x))));
  const [red, , blue] = colours?.subarray(3 * most, 3 * most + 3) ?? [];
  expect(red).toBeGreaterThan(blue + 100);
});

test('places on a head have the words of the landmarks that lie there', () => {
  const bounds = boundsOf(form.positions);
  const { landmarks } = old.head;
  expect(regionOf(landmarks.pronasale, bounds)).toBe('eyes and nose');
  expect(regionOf(landmarks.menton, bounds)).toBe('mouth and chin');
  expect(regionOf(landmarks.vertex, bounds)).toBe('crown');
  expect(regionOf(landmarks['tragion-left'], bounds)).toBe('left ear');
  expect(regionOf(landmarks['tragion-right'], bounds)).toBe('right ear');
  expect(regionOf(landmarks.opisthocranion, bounds)).toBe('back of the head');
  // A torso with a long, narrow neck: its top stands as high over its frame as a head's, its chest as far forward.
  expect(regionOf([0, 0, 90], { min: [-110, -200, -470], max: [125, 200, 110] })).toBe('upper part');
  expect(regionOf([0, 0, 900], { min: [-200, -200, 0], max: [200, 200, 1000] })).toBe('upper part');
});
