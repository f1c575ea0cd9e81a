import { describe, expect, it } from 'vitest';
import { examine } from '../../electron/geometry/mend/health.ts';
import { IDENTITY, scaling, transformMesh, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { PRODUCTION, scanWearer, WEARERS } from '../../electron/invented/production.ts';
import { formOperation } from '../../electron/operations/form.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { ellipsoid } from '../support/solids.ts';

/** What is expected is what the generator knows and the operation does not: the true size, frame and lengths. */
describe(`form, on scans of ${PRODUCTION} (invented, truth known)`, () => {
  for (const chosen of WEARERS) {
    const wearer = { ...chosen, faces: 24_000 };
    it(`makes a sound, upright, true form of ${wearer.role} in fewer than 10,000 faces`, () => {
      const { head, scan, recipe } = scanWearer(wearer);
      const input = { mesh: scan.mesh, name: wearer.scanFile, fromFile: IDENTITY };
      const outcome = runOperation(formOperation, [input], { recipe });
      if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
      const { mesh, matrix, figures } = outcome.value;
      if (mesh === undefined || matrix === undefined) throw new Error('no form');

      // Sound, and light enough for solid CAD (fewer than 10,000 faces: common practice, no source).
      const health = examine(mesh);
      expect(health).toMatchObject({ watertight: true, oriented: true, pieces: 1, selfIntersections: 0 });
      expect(health.nonManifoldEdges + health.nonManifoldVertices + health.degenerateFaces).toBe(0);
      expect(mesh.triangles.length / 3).toBeLessThan(10_000);

      // True: the factor agrees with the known one within three of its standard uncertainties.
      const { factor, standardUncertainty, outliers } = figures.true;
      expect(Math.abs(factor - scan.truth.mmPerUnit)).toBeLessThan(3 * standardUncertainty);
      expect(standardUncertainty / factor).toBeLessThan(0.004);
      if (wearer.misread !== undefined) expect(outliers).toContain(wearer.misread.name);

      // Upright: each landmark lands where it is in the form frame, but for the factor's own uncertainty.
      for (const [name, point] of Object.entries(head.landmarks)) {
        const onScan = transformPoint(scan.truth.formToScan, point);
        const landed = transformPoint(matrix, onScan);
        const off = Math.hypot(...landed.map((x, axis) => x - point[axis]));
        expect(off, name).toBeLessThan(0.05 + (3 * standardUncertainty * Math.hypot(...point)) / factor);
      }

      // Every true span comes back within the uncertainty of the size, however it was read.
      for (const check of figures.checks.filter(({ kind }) => kind === 'span')) {
        const known = head.spans.find((span) => span.name === check.name)?.lengthMm ?? Number.NaN;
        expect(Math.abs(check.onFormMm - known), check.name).toBeLessThan((3 * standardUncertainty * known) / factor);
      }
      expect(figures.lighten.maxDeviationMm).toBeLessThan(2);
    });
  }

  describe('of an egg of 200 x 150 x 240 mm, in inches', () => {
    const mm = 25.4;
    const egg = {
      mesh: transformMesh(scaling(1 / mm), ellipsoid(100, 75, 120, 3)),
      name: 'egg',
      fromFile: IDENTITY,
    };
    const at = (x: number, y: number, z: number): Vec3 => [x / mm, y / mm, z / mm];
    const recipeOf = (unitMm: number, landmarksBy: number) => ({
      spans: [
        { name: 'head length', from: at(100, 0, 0), to: at(-100, 0, 0), measured: 200 / unitMm },
        { name: 'head breadth', from: at(0, 75, 0), to: at(0, -75, 0), measured: 150 / unitMm },
      ],
      trim: [[...at(0, 0, -60), 0, 0, 1]],
      landmarks: {
        'tragion-left': at(0, 75 * landmarksBy, 0),
        'tragion-right': at(0, -75 * landmarksBy, 0),
        'orbitale-left': at(95 * landmarksBy, 20 * landmarksBy, 0),
      },
    });
    const form = (unitMm: number, landmarksBy = 1) =>
      runOperation(formOperation, [egg], { recipe: recipeOf(unitMm, landmarksBy) });

    it('tells what was cut in true mm, whatever unit was guessed', () => {
      const outcome = form(1);
      if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
      expect(outcome.warnings.map(({ code }) => code)).not.toContain('form.odd-size');
      // The ellipse half way down the lower half: semi-axes times sqrt(1 - 1/4); 0.5 % for the facets.
      const ellipseMm2 = Math.PI * 100 * 75 * 0.75;
      expect(Math.abs(outcome.value.figures.trim.cappedAreaMm2 / ellipseMm2 - 1)).toBeLessThan(0.01);
    });

    it('doubts readings that are all in inches, and a form of no size for a body', () => {
      const outcome = form(mm);
      if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
      const said = new Map(outcome.warnings.map(({ code, sentence }) => [code, sentence]));
      expect(said.get('true.odd-length')).toContain('"head length" (7.9 mm) and "head breadth"');
      expect(said.get('true.odd-length')).toContain('inches');
      expect(said.get('form.odd-size')).toContain('7.9 x 5.9 x 7.1 mm');
    });

    it('refuses landmarks of another scan or unit', () => {
      const outcome = form(1, 1000);
      expect(outcome.ok ? '' : outcome.fault.code).toBe('landmark.far-off');
    });
  });

  it('says that a scan without any reading has no size', () => {
    const input = { mesh: ellipsoid(100, 75, 120, 3), name: 'egg', fromFile: IDENTITY };
    const outcome = runOperation(formOperation, [input], { recipe: {} });
    expect(outcome.ok).toBe(false);
    if (!outcome.ok) expect(outcome.fault.code).toBe('reading.none');
  });
});
