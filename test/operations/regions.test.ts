/** A forearm and a torso all the way: a rough scan of a body of known size, its form, and a liner on that. */
import { describe, expect, it } from 'vitest';
import type { z } from 'zod';
import { examine } from '../../electron/geometry/mend/health.ts';
import { IDENTITY, invert, multiply, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { standLimb, standTorso } from '../../electron/geometry/register/stand-body.ts';
import { scanLimb, scanTorso, type ScannedBody } from '../../electron/invented/scanned-body.ts';
import { findOperation } from '../../electron/operations/index.ts';
import { runOperation, type InputMesh, type Operation } from '../../electron/operations/operation.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import type { formFigures } from '../../shared-types/operations/form.ts';
import type { lineFigures } from '../../shared-types/operations/line.ts';
import type { standFigures } from '../../shared-types/operations/stand.ts';

function run(verb: string, mesh: Mesh, parameters: unknown) {
  const input: InputMesh = { mesh, name: 'scan', fromFile: IDENTITY };
  const outcome = runOperation(findOperation(verb) as Operation, [input], parameters);
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return { ...outcome.value, warnings: outcome.warnings };
}

const bodies: readonly {
  readonly name: string;
  readonly make: () => ScannedBody;
  readonly method: string;
  /** The frame's own definition, on the true landmarks. */
  readonly frame: (at: Readonly<Record<string, Vec3>>) => Matrix4 | undefined;
  readonly foamMm: number;
  /** Of the liner: the torso's is coarser, to be made quicker. */
  readonly toleranceMm: number;
}[] = [
  {
    name: 'a forearm',
    make: () => scanLimb({ seed: 5, lengthMm: 262, stoutness: 1.06 }, 24_000, { unitsPerMm: 1 / 43.7 }),
    method: 'limb',
    frame: (at) =>
      standLimb(
        [at['stylion-radiale'], at['stylion-ulnare']],
        [at['epicondyle-outer'], at['epicondyle-inner']],
        at['stylion-radiale'],
      ),
    foamMm: 4,
    toleranceMm: 0.1,
  },
  {
    name: 'a torso',
    make: () => scanTorso({ seed: 8, breadth: 0.94, depth: 1.03, height: 1.02 }, 24_000, { unitsPerMm: 0.001 }),
    method: 'torso',
    frame: ({ suprasternale, cervicale, xiphion, midback }) =>
      standTorso({ suprasternale, cervicale, xiphion, midback }),
    foamMm: 10,
    toleranceMm: 0.3,
  },
];

describe.each(bodies)('$name, from its scan to its liner', ({ make, method, frame, foamMm, toleranceMm }) => {
  const { body, scan, recipe } = make();
  const { mesh, figures, matrix } = run('form', scan.mesh, { recipe });
  const form = mesh as Mesh;
  const made = figures as z.output<typeof formFigures>;

  it('has the true size, within the uncertainty stated', () => {
    const { factor, standardUncertainty, outliers } = made.true;
    expect(Math.abs(factor - scan.truth.mmPerUnit)).toBeLessThan(2 * standardUncertainty);
    expect(standardUncertainty / factor).toBeLessThan(0.006);
    expect(outliers).toEqual([]);
  });

  it('stands in its own frame: every landmark where the definition puts it', () => {
    expect(made.stand.method).toBe(method);
    const truth = frame(body.landmarks) as Matrix4;
    const toForm = multiply(matrix as Matrix4, scan.truth.formToScan);
    const scale = made.true.factor / scan.truth.mmPerUnit;
    for (const point of Object.values(body.landmarks)) {
      const stood = transformPoint(toForm, point);
      const meant = transformPoint(truth, point);
      // Only the size may differ, by what its uncertainty allows; single precision in the scan's own numbers.
      stood.forEach((x, k) => expect(x).toBeCloseTo(meant[k] * scale, 1));
    }
  });

  it('is a sound solid of under 10,000 faces that holds every reading', () => {
    expect(form.triangles.length / 3).toBeLessThanOrEqual(9_500);
    expect(examine(form)).toMatchObject({ watertight: true, selfIntersections: 0, pieces: 1 });
    for (const check of made.checks) expect(check.agrees, `${check.name} ${check.differenceMm} mm`).toBe(true);
  });

  it('takes a liner: sound, and at its thickness but for the hollows', () => {
    const lined = run('line', form, { foamMm, toleranceMm });
    const { watertight, selfIntersections, meanAbsErrorMm, p99AbsErrorMm } = lined.figures as z.output<
      typeof lineFigures
    >;
    expect({ watertight, selfIntersections }).toEqual({ watertight: true, selfIntersections: 0 });
    expect(meanAbsErrorMm).toBeLessThan(toleranceMm / 2);
    expect(p99AbsErrorMm).toBeLessThan(toleranceMm);
  });

  it('is stood about upright by a guess where no landmark is placed, and says how little that is worth', () => {
    const mended = run('mend', scan.mesh, {}).mesh as Mesh;
    const guessed = run('stand', mended, { region: method });
    const { confidence } = guessed.figures as z.output<typeof standFigures>;
    expect(confidence).toBeLessThanOrEqual(0.5);
    expect(guessed.warnings[0].sentence).toMatch(/by a guess \(confidence \d+ %\).*landmarks of its frame/);
    const truth = frame(body.landmarks) as Matrix4;
    const way = multiply(guessed.matrix as Matrix4, multiply(scan.truth.formToScan, invert(truth)));
    // The cosine between up as guessed and up: 20 degrees at most.
    expect(way[10] * scan.truth.mmPerUnit).toBeGreaterThan(Math.cos(Math.PI / 9));
  });
});

describe('standing by landmarks of a frame', () => {
  const arm = {
    'stylion-radiale': [30, 0, 0],
    'stylion-ulnare': [-30, 0, 0],
    'epicondyle-outer': [45, 0, 250],
    'epicondyle-inner': [-45, 0, 250],
  };
  const box = scanLimb({ seed: 1 }, 3000).body.mesh(3000);

  it('says which landmarks are missing, and does not take one line for a frame', () => {
    const refusal = (parameters: unknown): string => {
      const input: InputMesh = { mesh: box, name: 'scan', fromFile: IDENTITY };
      const outcome = runOperation(findOperation('stand') as Operation, [input], parameters);
      if (outcome.ok) throw new Error('it was not refused');
      return faultSentence(outcome.fault);
    };
    const { 'stylion-ulnare': _gone, ...rest } = arm;
    expect(refusal({ region: 'limb', landmarks: rest })).toMatch(/forearm .*missing: stylion-ulnare;/);
    expect(refusal({ region: 'torso', landmarks: { cervicale: [0, 0, 0] } })).toMatch(
      /suprasternale, xiphion, midback/,
    );
    expect(refusal({ region: 'part' })).toMatch(/part-origin, part-ahead, part-left/);
    const line = { 'part-origin': [0, 0, 0], 'part-ahead': [1, 1, 1], 'part-left': [3, 3, 3] };
    expect(refusal({ region: 'part', landmarks: line })).toMatch(/in one line/);
  });

  it('doubts a limb whose cut end looks away from the trunk', () => {
    const cut = scanLimb({ seed: 1 }, 3000).body;
    const arms = Object.fromEntries(Object.keys(arm).map((name) => [name, cut.landmarks[name]]));
    expect(run('stand', cut.mesh(3000), { region: 'limb', landmarks: arms }).warnings).toEqual([]);
    const exchanged = {
      'stylion-radiale': arms['epicondyle-outer'],
      'stylion-ulnare': arms['epicondyle-inner'],
      'epicondyle-outer': arms['stylion-radiale'],
      'epicondyle-inner': arms['stylion-ulnare'],
    };
    const [doubt] = run('stand', cut.mesh(3000), { region: 'limb', landmarks: exchanged }).warnings;
    expect(doubt.sentence).toMatch(/upper and lower joint are exchanged/);
  });

  it('stands a leg by ankle, knee and kneecap, and a part by three points', () => {
    const leg = {
      'malleolus-outer': [0, -40, 10],
      'malleolus-inner': [0, 36, 14],
      'knee-outer': [0, -52, 410],
      'knee-inner': [0, 48, 410],
      patella: [60, 0, 420],
    };
    const stood = run('stand', box, { region: 'limb', landmarks: leg });
    const at = (p: Vec3): number[] => [...transformPoint(stood.matrix as Matrix4, p)].map((x) => Math.round(x));
    expect(at([0, -2, 12])).toEqual([0, 0, 0]);
    expect(at([0, -2, 410])).toEqual([0, 0, 398]);
    expect(transformPoint(stood.matrix as Matrix4, leg.patella as unknown as Vec3)[0]).toBeGreaterThan(59);
    const part = { 'part-origin': [10, 20, 30], 'part-ahead': [10, 120, 30], 'part-left': [-40, 90, 30] };
    const placed = run('stand', box, { region: 'part', landmarks: part });
    const to = (p: Vec3): number[] => [...transformPoint(placed.matrix as Matrix4, p)].map((x) => Math.round(x) + 0);
    expect(to([10, 120, 30])).toEqual([100, 0, 0]);
    expect(to([-40, 20, 30])).toEqual([0, 50, 0]);
    expect(to([10, 20, 37])).toEqual([0, 0, 7]);
  });
});
