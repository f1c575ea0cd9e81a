import type { z } from 'zod';
import { AGREEMENT_BAND_MM, type AgreementClass } from '../../shared-types/agreement.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Plane, Vec3 } from '../../shared-types/mesh.ts';
import {
  measureSpecification,
  type measureFigures,
  type measureParameters,
} from '../../shared-types/operations/measure.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { breadthAlong } from '../geometry/measure/breadth.ts';
import { outlineAt } from '../geometry/measure/outline.ts';
import { areaAndVolume } from '../geometry/measure/volume.ts';
import { invert, transformPoint } from '../geometry/mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../geometry/spatial/bvh.ts';
import { levellerOf } from './levels.ts';
import type { Operation } from './operation.ts';
import { arcPickU, girthPickU, spanPickU } from './picking.ts';
import {
  arcOnMesh,
  arcTaken,
  bodyForArcs,
  girthOnMesh,
  girthTaken,
  hairAllowance,
  roughUncertainty,
  spanOnMesh,
  spanUncertainty,
} from './readings.ts';
import { STAND_PHASES, standWithFigures } from './stand.ts';

type Figures = z.output<typeof measureFigures>;

function agreementOf(
  lengthMm: number,
  measured?: number,
  kind?: AgreementClass,
): Figures['spans'][number]['agreement'] {
  if (measured === undefined) return null;
  const differenceMm = lengthMm - measured;
  if (kind === undefined) return { differenceMm, bandMm: null, isWithinBand: null };
  const bandMm = AGREEMENT_BAND_MM[kind];
  return { differenceMm, bandMm, isWithinBand: Math.abs(differenceMm) <= bandMm };
}

/** What every length says: its own figures are spread after it. */
function told(
  { name, measured, class: kind }: { name: string; measured?: number | undefined; class?: AgreementClass | undefined },
  lengthMm: number,
  /** What hair under the tape made the reading longer. */
  longerMm = 0,
): Pick<Figures['spans'][number], 'name' | 'lengthMm' | 'measuredMm' | 'agreement'> {
  const skinMm = measured === undefined ? undefined : measured - longerMm;
  return { name, lengthMm, measuredMm: skinMm ?? null, agreement: agreementOf(lengthMm, skinMm, kind) };
}

function turned(matrix: Matrix4, [x, y, z]: readonly number[]): Vec3 {
  const [ox, oy, oz] = transformPoint(matrix, [0, 0, 0]);
  const [tx, ty, tz] = transformPoint(matrix, [x, y, z]);
  return [tx - ox, ty - oy, tz - oz];
}

export const measureOperation: Operation<typeof measureSpecification> = {
  specification: measureSpecification,
  phases: { stand: 0.1, measure: 0.9 },
  run: ([input], parameters, run) => {
    const { mesh, fromFile } = input;
    const { spans, arcs, breadths, sections, volumes, levels, landmarks = {}, region } = parameters.spans;
    const { pickMm } = parameters;
    const total = [spans, parameters.spans.girths, arcs, breadths, sections, volumes, levels].reduce(
      (sum, { length }) => sum + length,
      0,
    );
    if (total === 0) return failed(fault('reading.none', {}));
    let number = 0;
    const tick = (): void => run.step('measure', number, total);
    tick();
    const tree = buildBvh(mesh, tick);
    const slot = nearestSlot();
    const offSurface = (points: readonly Vec3[]): number =>
      points.reduce((most, point) => {
        const [x, y, z] = transformPoint(fromFile, point);
        findNearest(tree, x, y, z, slot);
        return Math.max(most, slot.distance);
      }, 0);
    const onMesh = (point: Vec3): Vec3 => transformPoint(fromFile, point);
    const planeOf = ([px, py, pz, nx, ny, nz]: readonly number[]): Plane => ({
      point: transformPoint(fromFile, [px, py, pz]),
      normal: turned(fromFile, [nx, ny, nz]),
    });
    const warnings: Warning[] = [];
    // A level is a girth as soon as the body stands; a mesh to be measured is in mm.
    const girths: (z.output<typeof measureParameters>['spans']['girths'][number] & { isLevel?: boolean })[] = [
      ...parameters.spans.girths,
    ];
    if (levels.length > 0) {
      const stood = standWithFigures(input, landmarks, run.within('stand', STAND_PHASES), region);
      if (!stood.ok) return stood;
      const standing = { landmarks, matrix: stood.value.matrix };
      for (const level of levels) {
        const leveller = levellerOf(mesh, level.name, level, standing, fromFile, tick);
        if (!leveller.ok) return leveller;
        warnings.push(...leveller.warnings, ...leveller.value.warnings);
        const { name, measured, hairMm, class: kind } = level;
        const [a, b, c] = leveller.value.through(1);
        girths.push({ name, measured, hairMm, class: kind, isLevel: true, through: [[...a], [...b], [...c]] });
      }
    }
    const figures: Figures = { spans: [], girths: [], arcs: [], breadths: [], sections: [], volumes: [] };
    for (const span of spans) {
      number++;
      const { a, b, length } = spanOnMesh(span.from, span.to, fromFile);
      const meshUMm = spanUncertainty(mesh, a, b, tick);
      figures.spans.push({
        ...told(span, length),
        meshUMm,
        pickUMm: spanPickU(mesh, a, b, pickMm, tick),
        offSurfaceMm: offSurface([span.from, span.to]),
      });
    }
    for (const girth of girths) {
      number++;
      const taken = girthOnMesh(mesh, girth, girth.through, fromFile, tick);
      if (!taken.ok) return taken;
      const { length, sectionLength, offMax, roughness } = taken.value;
      figures.girths.push({
        ...told(girth, length, hairAllowance(girth.hairMm)),
        sectionMm: sectionLength,
        offSurfaceMm: offMax,
        roughnessMm: roughness.excess,
        meshUMm: girthTaken(taken.value).u,
        pickUMm: girthPickU(
          mesh,
          [onMesh(girth.through[0]), onMesh(girth.through[1]), onMesh(girth.through[2])],
          pickMm,
          tick,
        ),
      });
    }
    const bodyOf = bodyForArcs(mesh, tick);
    for (const arc of arcs) {
      number++;
      const taken = arcOnMesh(mesh, arc.name, arc.along, fromFile, bodyOf(arc), tick);
      if (!taken.ok) return taken;
      const { length, straight, excess, within } = taken.value;
      figures.arcs.push({
        ...told(arc, length),
        taut: arc.taut === true,
        straightMm: straight,
        offSurfaceMm: offSurface(arc.along),
        roughnessMm: excess,
        meshUMm: arcTaken(taken.value).u,
        pickUMm: arcPickU(taken.value.points, arc.along.map(onMesh), length, pickMm),
        withinMm: within !== undefined && Number.isFinite(within) ? within : null,
      });
    }
    const toFile = invert(fromFile);
    for (const breadth of breadths) {
      number++;
      const found = breadthAlong(mesh, turned(fromFile, breadth.direction), breadth.above.map(planeOf), tick);
      if (found === undefined) return failed(fault('measure.nothing-there', { name: breadth.name }));
      figures.breadths.push({
        ...told(breadth, found.length),
        from: [...transformPoint(toFile, found.from)],
        to: [...transformPoint(toFile, found.to)],
        roughnessMm: found.excess,
        meshUMm: found.u,
      });
    }
    for (const { name, plane, near, across } of sections) {
      number++;
      const at = near === undefined ? undefined : transformPoint(fromFile, near);
      const way = across === undefined ? undefined : turned(fromFile, across);
      const found = outlineAt(mesh, planeOf(plane), at, way, tick);
      if (found === undefined) return failed(fault('measure.nothing-there', { name }));
      figures.sections.push({
        name,
        perimeterMm: found.perimeter,
        girthMm: found.girth.length,
        widthMm: found.width,
        depthMm: found.depth,
        areaMm2: found.area ?? null,
        areaUMm2: found.areaU,
        roughnessMm: found.girth.roughness.excess,
        girthUMm: roughUncertainty(found.girth.roughness.excess, found.girth.roughness.scatter),
        parts: found.parts,
      });
      if (found.area === undefined) {
        warnings.push({
          code: 'measure.open',
          sentence: `The outline of "${name}" does not close, so it has no area; mend the surface first.`,
        });
      }
    }
    for (const { name, above } of volumes) {
      number++;
      const found = areaAndVolume(mesh, above === undefined ? undefined : planeOf(above), tick);
      if (found === undefined) return failed(fault('measure.nothing-there', { name }));
      figures.volumes.push({
        name,
        areaMm2: found.area,
        areaRoughnessMm2: found.areaExcess,
        volumeMm3: found.volume ?? null,
        volumeUMm3: found.volumeU,
      });
      if (found.volume === undefined) {
        warnings.push({
          code: 'measure.open',
          sentence: `The surface of "${name}" is open, so it holds no volume; mend it first.`,
        });
      }
    }
    run.step('measure', 1, 1);
    return done({ figures }, warnings);
  },
};
