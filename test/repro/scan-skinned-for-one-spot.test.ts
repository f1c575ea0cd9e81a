/**
 * One place where faces met made mend lay a new skin of 3.5 mm over a whole scan: its repair let every spot grow
 * with the worst one, and the cap over the ragged bottom folded over itself.
 */
import { describe, expect, it } from 'vitest';
import { examine } from '../../electron/geometry/mend/health.ts';
import { mend } from '../../electron/geometry/mend/mend.ts';
import { PositionTable } from '../../electron/geometry/mesh/position-table.ts';
import { buildBvh, findNearest, nearestSlot } from '../../electron/geometry/spatial/bvh.ts';
import { transformMesh } from '../../electron/geometry/mesh/transform.ts';
import { USUAL_HOLES } from '../../electron/invented/phone-scan.ts';
import { scanWearer, WEARERS } from '../../electron/invented/production.ts';

describe('the scan of the captain (invented)', () => {
  const { scan } = scanWearer(WEARERS[0]);
  const { mesh, report, left, after } = mend(scan.mesh, { keep: 'largest' });

  it('is mended in its own faces, and the count carried along is what a fresh look finds', () => {
    expect(left).toBe(0);
    expect(report.reskinned).toBeUndefined();
    expect(report.spots).toBeGreaterThan(0);
    const health = examine(mesh);
    expect(health).toMatchObject({ watertight: true, selfIntersections: 0, degenerateFaces: 0, duplicateFaces: 0 });
    expect(after).toEqual(health);
  });

  it('keeps the coordinates of nearly all that was scanned', () => {
    const table = new PositionTable(scan.mesh.positions.length / 3);
    const p = scan.mesh.positions;
    for (let i = 0; i < p.length; i += 3) table.add(Math.fround(p[i]), Math.fround(p[i + 1]), Math.fround(p[i + 2]));
    let same = 0;
    const q = mesh.positions;
    for (let i = 0; i < q.length; i += 3) if (table.find(q[i], q[i + 1], q[i + 2]) >= 0) same++;
    expect(same / (q.length / 3)).toBeGreaterThan(0.9);
  });

  it('lies within 2 mm of the body the scan was made of, 0.3 mm on average, away from holes', () => {
    // Bars of the design; the scan's own noise has a standard deviation of 0.3 mm, so its mean size is 0.24.
    const inForm = transformMesh(scan.truth.scanToForm, mesh);
    const tree = buildBvh(scan.truth.clean);
    const slot = nearestSlot();
    let worst = 0,
      sum = 0,
      count = 0;
    for (let i = 0; i < inForm.positions.length; i += 3) {
      const [x, y, z] = inForm.positions.subarray(i, i + 3);
      if (z < -190) continue;
      if (USUAL_HOLES.some(({ centre: c, radiusMm }) => Math.hypot(x - c[0], y - c[1], z - c[2]) < radiusMm + 8))
        continue;
      findNearest(tree, x, y, z, slot);
      worst = Math.max(worst, slot.distance);
      sum += slot.distance;
      count++;
    }
    expect(count).toBeGreaterThan(10_000);
    expect(worst).toBeLessThan(2);
    expect(sum / count).toBeLessThan(0.3);
  });
});
