import { describe, expect, it } from 'vitest';
import { readMesh } from '../../electron/formats/index.ts';
import { examine } from '../../electron/geometry/mend/health.ts';
import { invert, multiply, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { zipOf } from '../../electron/hosts/cli/demo-bench.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { roughen } from '../../electron/invented/phone-scan.ts';
import { scanWearer, WEARERS } from '../../electron/invented/production.ts';

const head = inventHead({ seed: 6 });
const clean = head.mesh(20_000);

describe('an invented phone scan', () => {
  it('has every fault it should have', () => {
    const { mesh } = roughen(clean, { seed: 3, unitsPerMm: 0.001, colours: true });
    const health = examine(mesh);
    expect(health.pieces).toBeGreaterThan(10);
    expect(health.boundaryLoops).toBeGreaterThan(20);
    expect(health.nonManifoldEdges).toBeGreaterThan(10);
    expect(health.duplicateFaces).toBeGreaterThanOrEqual(30);
    expect(health.degenerateFaces).toBeGreaterThanOrEqual(12);
    expect(health.oriented).toBe(false);
    expect(mesh.colours?.length).toBe(mesh.positions.length);
  });

  it('is the same for the same seed', () => {
    const [one, two] = [roughen(clean, { seed: 3 }), roughen(clean, { seed: 3 })];
    expect(one.mesh).toEqual(two.mesh);
    expect(roughen(clean, { seed: 4 }).mesh.positions).not.toEqual(one.mesh.positions);
  });

  it('has noise of the standard deviation asked for, and knows the way back to the form', () => {
    const noiseMm = 0.3;
    const { mesh, truth } = roughen(clean, {
      seed: 8,
      noiseMm,
      unitsPerMm: 0.02,
      charts: 0,
      holes: [],
      cutBelowMm: -1000,
      debris: 0,
      chair: false,
      badFaces: false,
    });
    expect(mesh.positions.length).toBe(clean.positions.length);
    let sum = 0;
    for (let at = 0; at < mesh.positions.length; at += 3) {
      const back = transformPoint(truth.scanToForm, [
        mesh.positions[at],
        mesh.positions[at + 1],
        mesh.positions[at + 2],
      ]);
      sum += back.reduce((total, x, axis) => total + (x - clean.positions[at + axis]) ** 2, 0);
    }
    const deviation = Math.sqrt(sum / (mesh.positions.length / 3));
    expect(Math.abs(deviation / noiseMm - 1)).toBeLessThan(0.15);
    expect(truth.mmPerUnit).toBeCloseTo(50, 9);
    const round = multiply(truth.scanToForm, invert(truth.scanToForm));
    [0, 5, 10].forEach((diagonal) => expect(round[diagonal]).toBeCloseTo(1, 9));
  });

  it('gives a zip that the reader opens', () => {
    const text = 'v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n';
    const outcome = readMesh(zipOf('a.obj', new TextEncoder().encode(text)), 'a.zip');
    expect(outcome.ok && outcome.value.mesh.triangles.length).toBe(3);
  });
});

describe('the invented production', () => {
  it('has a reading that is wrong by what was planted, the rest right within their uncertainty', () => {
    const wearer = { ...WEARERS[0], faces: 5000 };
    const { recipe, head: truth, scan } = scanWearer(wearer);
    for (const [index, span] of recipe.spans.entries()) {
      const slip = span.name === wearer.misread?.name ? wearer.misread.byMm : 0;
      const off = span.measured - truth.spans[index].lengthMm;
      // 4 standard uncertainties and the half millimetre it is read to.
      expect(Math.abs(off - slip), span.name).toBeLessThan(4 * (span.u ?? 0) + 0.25);
      const [from, to] = [span.from, span.to].map((point) => transformPoint(scan.truth.scanToForm, point));
      const far = Math.hypot(from[0] - to[0], from[1] - to[1], from[2] - to[2]);
      expect(far).toBeCloseTo(truth.spans[index].lengthMm, 6);
    }
  });
});
