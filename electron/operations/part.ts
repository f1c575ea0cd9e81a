/** A part made ready to be tried on. */
import type { Vec3 } from '../../shared-types/mesh.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { partSizeDoubt, partSpecification } from '../../shared-types/operations/part.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { preparePart, wallOf } from '../geometry/fit/part-shell.ts';
import { areaOf, boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, invert, multiply, transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import type { Operation } from './operation.ts';
import { sizedPart } from './part-size.ts';

/** A wall thinner than this breaks in the hand when printed, mm (common practice, no source). */
const THIN_WALL_MM = 1.2;

export const partOperation: Operation<typeof partSpecification> = {
  specification: partSpecification,
  phases: { prepare: 0.5, wall: 0.5 },
  run: ([part], { asItIs, ...size }, run) => {
    run.step('prepare', 0, 1);
    const sized = sizedPart(part, { fromFile: IDENTITY }, size);
    if (!sized.ok) return sized;
    const warnings: Warning[] = [...sized.warnings];
    const { ownMatrix, trueSize } = sized.value;
    const prepared = preparePart(part.mesh, () => run.step('prepare', 0.5, 1));
    const chosen = asItIs ? part.mesh : prepared.mesh;
    if (chosen.triangles.length === 0) return failed(fault('mesh.no-faces', {}));
    const mesh = transformMesh(ownMatrix, chosen);
    const { report } = prepared;
    const closed = report.kind === 'closed';
    const wall = closed ? wallOf(mesh, (share) => run.step('wall', share, 1)) : undefined;
    const toFile = invert(multiply(ownMatrix, part.fromFile));
    const fromMesh = invert(part.fromFile);
    const point = (m: typeof toFile, at: Vec3) => [...transformPoint(m, at)] as [number, number, number];
    if (wall !== undefined && wall.leastMm < THIN_WALL_MM) {
      warnings.push({
        code: 'part.thin-wall',
        sentence: `The wall is ${wall.leastMm.toFixed(2)} mm at its thinnest, ${wall.usualMm.toFixed(1)} mm usually; look there before printing.`,
      });
    }
    const { min, max } = boundsOf(mesh.positions);
    const outsideMm: [number, number, number] = [max[0] - min[0], max[1] - min[1], max[2] - min[2]];
    const doubt = partSizeDoubt(outsideMm);
    if (doubt !== undefined) warnings.push({ code: 'part.odd-size', sentence: doubt });
    return done(
      {
        mesh,
        matrix: ownMatrix,
        figures: {
          faces: mesh.triangles.length / 3,
          vertices: mesh.positions.length / 3,
          pieces: report.pieces,
          kind: report.kind,
          weldedVertices: asItIs ? 0 : report.weldedVertices,
          closedCracks: asItIs ? 0 : report.closedCracks,
          droppedFaces: asItIs ? 0 : report.droppedFaces,
          turnedFaces: asItIs ? 0 : report.turnedFaces,
          borders: report.borders.map(({ lengthMm, middle }) => ({
            lengthMm: lengthMm * trueSize.mmPerUnit,
            middle: point(fromMesh, middle),
          })),
          wall: wall === undefined ? null : { ...wall, at: point(toFile, wall.at) },
          outsideMm,
          areaMm2: areaOf(mesh),
          volumeMm3: closed ? volumeOf(mesh) : null,
          trueSize: { ...trueSize, residuals: [...trueSize.residuals] },
        },
      },
      warnings,
    );
  },
};
