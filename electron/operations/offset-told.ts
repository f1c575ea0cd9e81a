/** What is told alike of a surface made at a distance from another, of a wall, and of openings: by line and by shell. */
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import type { Warning } from '../../shared-types/outcome.ts';
import { TOLD_TOLERANCES } from '../../shared-types/tolerances.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import type { OffsetEvidence } from '../geometry/offset/measure-offset.ts';
import type { WallEvidence } from '../geometry/offset/measure-wall.ts';
import type { OpenedSolid, OpeningEvidence, OpenTrouble } from '../geometry/offset/openings.ts';

type What = 'liner' | 'shell';

/** Why a solid could not be opened. */
export function faultOfOpenings(trouble: OpenTrouble, what: What, count: number): Fault {
  if (trouble === 'nothing-left') return fault('line.nothing-left', { planes: count, what });
  return trouble === 'not-parted' ? fault('line.not-parted', { what }) : fault('line.short-curve', {});
}

/** Whether it came out sound. */
export function faultOfProof({ troubles, selfIntersections }: OpenedSolid, what: What): Fault | undefined {
  if (troubles === 0 && selfIntersections === 0) return undefined;
  return fault('line.not-sound', { crossings: selfIntersections, edges: troubles, what });
}

const inFile = (at: Vec3, toFile: Matrix4): string =>
  transformPoint(toFile, at)
    .map((c) => Number(c.toPrecision(4)))
    .join(', ');

export const missFigures = (evidence: OffsetEvidence, toFile: Matrix4) => ({
  maxAbsErrorMm: evidence.maxAbsErrorMm,
  maxAbsErrorAt: [...transformPoint(toFile, evidence.maxAbsErrorAt)],
  meanAbsErrorMm: evidence.meanAbsErrorMm,
  p99AbsErrorMm: evidence.p99AbsErrorMm,
  samples: evidence.samples,
  missingMaxMm: evidence.missingMaxMm,
  missingSamples: evidence.missingSamples,
  missingAt: evidence.missingAt === undefined ? null : [...transformPoint(toFile, evidence.missingAt)],
  missingGapMm: evidence.missingGapMm ?? null,
});

/** `missingMm`: what of the true surface is missing, without what was left out on purpose. */
export function missWarnings(
  evidence: OffsetEvidence,
  toleranceMm: number,
  what: What,
  toFile: Matrix4,
  missingMm = evidence.missingMaxMm,
): Warning[] {
  const [side, wanted] = what === 'liner' ? ['liner', 'the foam would'] : ['inner side', 'the wall would end'];
  const { maxAbsErrorMm, p99AbsErrorMm } = evidence;
  const warnings: Warning[] = [];
  if (maxAbsErrorMm > toleranceMm) {
    warnings.push({
      code: 'line.tolerance',
      sentence: `In places the ${side} misses its thickness by up to ${maxAbsErrorMm.toFixed(2)} mm, more than the ${toleranceMm} mm asked for; 99 in 100 points are within ${p99AbsErrorMm.toFixed(3)} mm.`,
    });
  }
  if (missingMm > TOLD_TOLERANCES * toleranceMm && missingMm > maxAbsErrorMm) {
    const { missingAt, missingGapMm } = evidence;
    const wide = missingGapMm === undefined ? '' : `, ${missingGapMm.toFixed(1)} mm wide`;
    const cause = `a ${what === 'liner' ? 'gap it closes' : 'hollow it leaves full'}${wide}`;
    warnings.push({
      code: 'line.missing',
      sentence: `In places the ${side} ends up to ${missingMm.toFixed(1)} mm away from where ${wanted}: ${cause}${missingAt === undefined ? '' : `, at (${inFile(missingAt, toFile)}) of the file`}. Make the tolerance smaller if that matters.`,
    });
  }
  return warnings;
}

export const wallFigures = (wall: WallEvidence, toFile: Matrix4) => ({
  wallMinMm: wall.minMm,
  wallMaxMm: wall.maxMm,
  wallMeanMm: wall.meanMm,
  wallSamples: wall.samples,
  wallMinAt: [...transformPoint(toFile, wall.minAt)],
  wallMaxAt: [...transformPoint(toFile, wall.maxAt)],
});

export function wallWarnings(wall: WallEvidence, wallMm: number, toleranceMm: number, toFile: Matrix4): Warning[] {
  if (wall.minMm >= wallMm - TOLD_TOLERANCES * toleranceMm) return [];
  const sentence = `In places the wall is only ${wall.minMm.toFixed(2)} mm thick, not ${wallMm} mm: least at (${inFile(wall.minAt, toFile)}) of the file.`;
  return [{ code: 'line.wall-thin', sentence }];
}

/** A rim that lies farther from its line is told, mm; most lie within a tenth of that. Own judgement, no source. */
const MOST_STRAY_MM = 1;

/** Rims of drawn openings that do not lie where they were drawn. */
export const strayWarnings = (openings: readonly OpeningEvidence[]): Warning[] =>
  openings.flatMap(({ offLineMm }, i) =>
    offLineMm === null || offLineMm <= MOST_STRAY_MM
      ? []
      : [
          {
            code: 'line.rim-strays',
            sentence: `In places the rim of opening ${i + 1} lies up to ${offLineMm.toFixed(1)} mm off its drawn line, which crosses a fold there; draw it elsewhere, or look at it closely.`,
          },
        ],
  );

/** Openings that open nothing. */
export const idleWarnings = (reaches: readonly boolean[], what: What): Warning[] =>
  reaches.flatMap((isReached, i) =>
    isReached
      ? []
      : [
          {
            code: 'line.opening-idle',
            sentence: `Opening ${i + 1} does not open the ${what}: it does not reach its inner side; move it inward.`,
          },
        ],
  );
