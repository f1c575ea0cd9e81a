import { some } from '../../shared-types/counts.ts';
import { lineSpecification } from '../../shared-types/operations/line.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { guessUnit } from '../geometry/mend/health.ts';
import { areaOf, boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, invert, transformPoint } from '../geometry/mesh/transform.ts';
import { LINER_PHASES, makeLiner } from '../geometry/offset/liner.ts';
import type { TiltedWay } from '../geometry/offset/tilted-way.ts';
import type { WaysIn } from '../geometry/offset/ways-in.ts';
import { wishesFrom } from './line-wishes.ts';
import {
  faultOfOpenings,
  faultOfProof,
  idleWarnings,
  missFigures,
  missWarnings,
  strayWarnings,
  wallFigures,
  wallWarnings,
} from './offset-told.ts';
import type { Operation } from './operation.ts';

export { planeFrom, troubleOfForm } from './line-wishes.ts';

/** What tipping the part gains, in a sentence. */
function tiltOf(way: TiltedWay | undefined): string {
  if (way === undefined) return '';
  return `Tipped by ${Math.abs(way.degrees)}° on its way it has to give ${way.deepestMm.toFixed(1)} mm. `;
}

/** What would let the body pass, in a sentence. */
function helpOf(ways: WaysIn | undefined): string {
  if (ways === undefined) return 'Open it wider there, split it, or put it on another way.';
  const { widen, split, flare } = ways;
  const halves = split.passes
    ? `split in two it goes on (${split.deepestMm.toFixed(1)} mm to give)`
    : `split in two it still has to give ${split.deepestMm.toFixed(1)} mm`;
  return `Opened ${widen.raiseMm.toFixed(0)} mm higher it passes, with ${(100 * widen.leftShare).toFixed(0)} % of it left; ${halves}; or let it out, its undercuts taken out, by up to ${flare.byMm.toFixed(1)} mm from the opening up to ${flare.upToMm.toFixed(0)} mm over it.`;
}

function waysInFile({ widen, split, flare }: WaysIn, toFile: Matrix4) {
  const normal = turned(split.normal, toFile);
  return { widen, flare, split: { ...split, normal: [...normal] } };
}

/** A direction in other coordinates, unit. */
function turned(direction: Vec3, by: Matrix4): Vec3 {
  const [tip, foot] = [transformPoint(by, direction), transformPoint(by, [0, 0, 0])];
  const along: Vec3 = [tip[0] - foot[0], tip[1] - foot[1], tip[2] - foot[2]];
  const size = Math.hypot(...along);
  return [along[0] / size, along[1] / size, along[2] / size];
}

/** No part of a body is less across, mm; whoever lines one has numbers of another unit. */
const LEAST_BODY_MM = 17;
const NO_WALL = {
  wallMinMm: null,
  wallMaxMm: null,
  wallMeanMm: null,
  wallSamples: null,
  wallMinAt: null,
  wallMaxAt: null,
};

export const lineOperation: Operation<typeof lineSpecification> = {
  specification: lineSpecification,
  phases: LINER_PHASES,
  run: ([input], parameters, run) => {
    const wishes = wishesFrom(parameters, input);
    if (!wishes.ok) return wishes;
    const { toleranceMm, wallMm, giveMm, clear } = parameters;
    const { openings, keepOuts } = wishes.value;
    const liner = makeLiner(input.mesh, wishes.value, run);
    if (liner === 'covered') return failed(fault('line.covered', {}));
    if (liner === 'form-crosses') {
      return failed(fault('mesh.not-sound', { reason: 'its faces pass through one another', verb: 'line' }));
    }
    if (typeof liner === 'string') return failed(faultOfOpenings(liner, 'liner', openings.length));
    const { mesh, evidence, surface } = liner;
    const unsound = faultOfProof(liner, 'liner');
    if (unsound !== undefined) return failed(unsound);
    const warnings: Warning[] = [];
    const toFile = invert(input.fromFile);
    const bounds = boundsOf(input.mesh.positions);
    if (input.unit === undefined && Math.max(...bounds.max.map((x, k) => x - bounds.min[k])) < LEAST_BODY_MM) {
      warnings.push({
        code: 'line.odd-unit',
        sentence: `The form's numbers were taken as millimetres, and it is ${guessUnit(bounds).reason}; bring it to true size first if it is in another unit.`,
      });
    }
    if (surface.pocketsDropped > 0) {
      warnings.push({
        code: 'line.pockets',
        sentence: `Left out ${some(surface.pocketsDropped, 'enclosed pocket')} of ${Math.round(surface.pocketVolumeMm3)} mm³ that the foam would close off.`,
      });
    }
    if (surface.pieces > 1) {
      warnings.push({
        code: 'line.pieces',
        sentence: `The liner is in ${surface.pieces} separate pieces, as the form is.`,
      });
    }
    // What is missing round enclosed pockets was left out on purpose.
    warnings.push(...missWarnings(evidence, toleranceMm, 'liner', toFile, surface.pocketsDropped > 0 ? 0 : undefined));
    warnings.push(...idleWarnings(liner.reaches, 'liner'), ...strayWarnings(liner.openings));
    for (const zone of liner.zones) {
      if (zone.samples > 0) continue;
      warnings.push({
        code: 'line.zone-empty',
        sentence: `Zone "${zone.name}" counts fully nowhere on this form: it is too small for its blend, covered, elsewhere, or all where the liner stands off for the way in or a volume left free.`,
      });
    }
    // What was cleared is as near to what the foam gives as the liner is to its thickness.
    const passesMm = giveMm + (clear ? toleranceMm : 0);
    if (liner.donning !== undefined && liner.donning.deepestMm > passesMm) {
      const tight = liner.donning.undercuts.filter((undercut) => undercut.depthMm > passesMm);
      warnings.push({
        code: 'line.undercut',
        sentence: `The body does not pass: in ${some(tight.length, 'place')} the foam would have to give more than ${giveMm} mm, at most ${liner.donning.deepestMm.toFixed(1)} mm. ${tiltOf(liner.tiltedWay)}${helpOf(liner.waysIn)}`,
      });
    }
    for (const keepOut of keepOuts) {
      if (liner.asked.some((one) => one.keepOut === keepOut.name && one.areaMm2 > 0)) continue;
      warnings.push({
        code: 'line.keep-out-idle',
        sentence: `The volume "${keepOut.name}" changes nothing: it lies within the foam or the body, or does not touch the liner.`,
      });
    }
    const { wallEvidence } = liner;
    if (wallEvidence !== undefined) warnings.push(...wallWarnings(wallEvidence, wallMm ?? 0, toleranceMm, toFile));
    const areaMm2 = areaOf(mesh);
    return done(
      {
        mesh,
        matrix: IDENTITY,
        figures: {
          faces: mesh.triangles.length / 3,
          vertices: mesh.positions.length / 3,
          minMm: liner.minMm,
          maxMm: liner.maxMm,
          meanMm: liner.meanMm,
          ...missFigures(evidence, toFile),
          sampleSpacingMm: Math.sqrt(areaOf(surface.mesh) / evidence.samples),
          watertight: true,
          selfIntersections: 0,
          pieces: surface.pieces,
          pocketsDropped: surface.pocketsDropped,
          volumeMm3: volumeOf(mesh),
          areaMm2,
          foamVolumeMm3: liner.foamVolumeMm3,
          ...(wallEvidence === undefined ? NO_WALL : wallFigures(wallEvidence, toFile)),
          zones: liner.zones.map((zone, i) => ({
            ...zone,
            boughtVolumeMm3: zone.volumeMm3 / (1 - (parameters.zones?.zones[i]?.compression ?? 0)),
          })),
          openings: [...liner.openings],
          leastOpening: liner.leastOpening === undefined ? null : { ...liner.leastOpening },
          standsOff: liner.asked.map(({ keepOut, ...rest }) => ({ keepOut: keepOut ?? null, ...rest })),
          waysIn: liner.waysIn === undefined ? null : waysInFile(liner.waysIn, toFile),
          donning:
            liner.donning === undefined
              ? null
              : {
                  undercuts: liner.donning.undercuts.map((undercut) => ({
                    depthMm: undercut.depthMm,
                    where: [...transformPoint(toFile, undercut.where)],
                    areaMm2: undercut.areaMm2,
                    passes: undercut.depthMm <= passesMm,
                  })),
                  deepestMm: liner.donning.deepestMm,
                  giveMm,
                  passes: liner.donning.deepestMm <= passesMm,
                  samples: liner.donning.samples,
                  tilted:
                    liner.tiltedWay === undefined
                      ? null
                      : {
                          axis: [...turned(liner.tiltedWay.axis, toFile)],
                          pivot: [...transformPoint(toFile, liner.tiltedWay.pivot)],
                          degrees: liner.tiltedWay.degrees,
                          deepestMm: liner.tiltedWay.deepestMm,
                          passes: liner.tiltedWay.deepestMm <= passesMm,
                        },
                },
          rimAreaMm2: liner.openings.reduce((sum, one) => sum + one.rimAreaMm2, 0),
          cellMm: surface.cellMm,
        },
      },
      warnings,
    );
  },
};
