import { fault } from '../../shared-types/faults/index.ts';
import { measureSpecification } from '../../shared-types/operations/measure.ts';
import { done, failed } from '../../shared-types/outcome.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../geometry/spatial/bvh.ts';
import type { Operation } from './operation.ts';
import { arcOnMesh, bodyForArcs, girthOnMesh, spanOnMesh, spanUncertainty } from './readings.ts';

export const measureOperation: Operation<typeof measureSpecification> = {
  specification: measureSpecification,
  phases: { measure: 1 },
  run: ([input], parameters, run) => {
    const { spans, girths, arcs } = parameters.spans;
    if (spans.length + girths.length + arcs.length === 0) return failed(fault('reading.none', {}));
    run.step('measure', 0, 1);
    const tree = buildBvh(input.mesh, () => run.step('measure', 0, 1));
    const slot = nearestSlot();
    const wanted = spans.length + girths.length + arcs.length;
    const takenSpans = spans.map((span, index) => {
      run.step('measure', index, wanted);
      const { a, b, length } = spanOnMesh(span.from, span.to, input.fromFile);
      let off = 0;
      for (const point of [a, b]) {
        findNearest(tree, point[0], point[1], point[2], slot);
        off = Math.max(off, slot.distance);
      }
      const meshUMm = spanUncertainty(input.mesh, a, b, () => run.step('measure', index, wanted));
      return { name: span.name, lengthMm: length, meshUMm, offSurfaceMm: off, measuredMm: span.measured ?? null };
    });
    const takenGirths = [];
    for (const [index, girth] of girths.entries()) {
      run.step('measure', spans.length + index, wanted);
      const taken = girthOnMesh(input.mesh, girth.name, girth.through, input.fromFile, () =>
        run.step('measure', spans.length + index, wanted),
      );
      if (!taken.ok) return taken;
      takenGirths.push({
        name: girth.name,
        lengthMm: taken.value.length,
        sectionMm: taken.value.sectionLength,
        offSurfaceMm: taken.value.offMax,
        measuredMm: girth.measured ?? null,
      });
    }
    const takenArcs = [];
    const bodyOf = bodyForArcs(input.mesh, () => run.step('measure', spans.length + girths.length, wanted));
    for (const [index, arc] of arcs.entries()) {
      const tick = (): void => run.step('measure', spans.length + girths.length + index, wanted);
      const taken = arcOnMesh(input.mesh, arc.name, arc.along, input.fromFile, bodyOf(arc), tick);
      if (!taken.ok) return taken;
      let off = 0;
      for (const point of arc.along) {
        const [x, y, z] = transformPoint(input.fromFile, point);
        findNearest(tree, x, y, z, slot);
        off = Math.max(off, slot.distance);
      }
      takenArcs.push({
        name: arc.name,
        lengthMm: taken.value.length,
        straightMm: taken.value.straight,
        offSurfaceMm: off,
        measuredMm: arc.measured ?? null,
      });
    }
    run.step('measure', 1, 1);
    return done({ figures: { spans: takenSpans, girths: takenGirths, arcs: takenArcs } });
  },
};
