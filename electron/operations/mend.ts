import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { mendSpecification, type mendFigures, type mendParameters } from '../../shared-types/operations/mend.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { Phases, RunContext } from '../../shared-types/progress.ts';
import { examine, guessUnit, HEALTH_PHASE } from '../geometry/mend/health.ts';
import { mend, MEND_PHASES, type MendReport } from '../geometry/mend/mend.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { doubledWarnings } from './doubled.ts';
import { healthAsFigures } from './health.ts';
import type { InputMesh, Operation } from './operation.ts';

type MendFigures = z.output<typeof mendFigures>;

export const MEND_OPERATION_PHASES: Phases = { examine: 0.15, mend: 0.85 };

/** Mend one mesh and tell what was done: shared with `form`. */
export function mendWithFigures(
  input: InputMesh,
  parameters: z.output<typeof mendParameters>,
  run: RunContext,
): Outcome<{ readonly mesh: Mesh; readonly figures: MendFigures }> {
  if (input.mesh.triangles.length === 0) return failed(fault('mesh.no-faces', {}));
  const before = examine(input.mesh, run.within('examine', { [HEALTH_PHASE]: 1 }));
  const guess = guessUnit(before.bounds);
  const mm = input.unit === undefined ? guess.mmPerUnit : 1;
  const mended = mend(
    input.mesh,
    {
      keep: parameters.keep,
      ...(parameters.maxHoleMm === undefined ? {} : { maxHolePerimeter: parameters.maxHoleMm / mm }),
      ...(parameters.reskinMm === undefined ? {} : { reskin: parameters.reskinMm / mm }),
    },
    run.within('mend', MEND_PHASES),
  );
  const { mesh, after, report, left } = mended;
  const warnings: Warning[] = [];
  if (after === undefined) throw new Error('mend did not examine its result');
  const wantsClosed = parameters.maxHoleMm === undefined || report.reskinned !== undefined;
  if (left > 0 || after.selfIntersections > 0 || (wantsClosed && !after.watertight)) {
    const reason =
      after.openEdges + after.nonManifoldEdges + after.selfIntersections === 0
        ? 'its faces enclose nothing'
        : `${after.openEdges} open edges, ${after.nonManifoldEdges} crowded edges and ${after.selfIntersections} self-intersections remain`;
    return failed(fault('mesh.beyond-mending', { reason }));
  }
  warnings.push(...reskinWarnings(report, mm), ...doubledWarnings(input.mesh, mm));
  const largestDropped = report.dropped[0];
  if (largestDropped !== undefined && largestDropped.area > 0.2 * after.area) {
    warnings.push({
      code: 'mend.large-piece-dropped',
      sentence: `A large piece (${largestDropped.faces} faces, ${(largestDropped.width * mm).toFixed(0)} mm wide) was left out as not part of the body; mend again with all pieces kept if it belongs.`,
    });
  }
  return done(
    {
      mesh,
      figures: {
        before: healthAsFigures(before, input.unit),
        after: healthAsFigures(after, input.unit),
        assumedMmPerUnit: mm,
        assumedBecause: input.unit === undefined ? guess.reason : `the file states its unit (${input.unit})`,
        ...reportAsFigures(report, mm),
      },
    },
    warnings,
  );
}

/** A skin laid without being asked for is told. */
export function reskinWarnings({ reskinned, movedMax, movedMean }: MendReport, mm: number): Warning[] {
  if (reskinned === undefined || reskinned.reason === 'asked for') return [];
  const why = {
    'pieces overlap': 'Pieces of the scan run into one another',
    'too broken': "The scan's own faces could not be made sound",
    'mending moved too much': "Mending the scan's own faces would have moved them too far",
  }[reskinned.reason];
  return [
    {
      code: 'mend.reskinned',
      sentence: `${why}, so a new skin of ${(reskinned.resolution * mm).toPrecision(2)} mm was laid over it; the scan's points lie ${(movedMean * mm).toPrecision(2)} mm from it on average and ${(movedMax * mm).toPrecision(2)} mm at most.`,
    },
  ];
}

/** What mending did, in mm. */
export function reportAsFigures(
  report: MendReport,
  mm: number,
): Omit<MendFigures, 'before' | 'after' | 'assumedMmPerUnit' | 'assumedBecause'> {
  return {
    weldedVertices: report.weldedVertices,
    closedCracks: report.closedCracks,
    removedFaces: report.degenerateFaces + report.duplicateFaces + report.fins,
    turnedFaces: report.turnedFaces,
    partedEdges: report.partedEdges,
    dropped: report.dropped.map((piece) => ({
      faces: piece.faces,
      widthMm: piece.width * mm,
      areaMm2: piece.area * mm * mm,
      distanceMm: piece.distance * mm,
    })),
    filled: report.filled.map(({ perimeter, ...hole }) => ({ perimeterMm: perimeter * mm, ...hole })),
    holesLeft: report.holesLeft,
    spots: report.spots,
    relaxedVertices: report.relaxedVertices,
    cutFaces: report.cutFaces,
    reskinned:
      report.reskinned === undefined
        ? null
        : { resolutionMm: report.reskinned.resolution * mm, reason: report.reskinned.reason },
    movedMaxMm: report.movedMax * mm,
    movedMeanMm: report.movedMean * mm,
  };
}

export const mendOperation: Operation<typeof mendSpecification> = {
  specification: mendSpecification,
  phases: MEND_OPERATION_PHASES,
  run: ([input], parameters, run) => {
    const outcome = mendWithFigures(input, parameters, run);
    if (!outcome.ok) return outcome;
    return done({ ...outcome.value, matrix: IDENTITY }, outcome.warnings);
  },
};
