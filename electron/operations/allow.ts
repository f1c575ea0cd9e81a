import type { z } from 'zod';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { allowSpecification, type allowParameters } from '../../shared-types/operations/allow.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { examine, HEALTH_PHASE } from '../geometry/mend/health.ts';
import { untangle, UNTANGLE_PHASE } from '../geometry/mend/untangle.ts';
import { boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, transformPoint } from '../geometry/mesh/transform.ts';
import { ALLOW_PHASE, growByZones, measureAllowance } from '../geometry/offset/allowance.ts';
import { SignedField } from '../geometry/offset/signed-field.ts';
import { namedRegion, type Zone, type ZoneRegion } from '../geometry/offset/zones.ts';
import { isNoHead } from '../geometry/register/body-regions.ts';
import { healthAsFigures } from './health.ts';
import type { Operation } from './operation.ts';

/** Where a zone is, as parameters of several verbs tell it. */
export type GivenPlace = Pick<
  z.output<typeof allowParameters>['zones']['zones'][number],
  'region' | 'points' | 'radiusMm' | 'box'
>;

/** The usual places are those of a head. */
export function troubleOfPlaces(zones: readonly GivenPlace[], form: Mesh): Fault | undefined {
  const patch = zones.find(({ region }) => region !== undefined)?.region;
  return patch !== undefined && isNoHead(form.positions) ? fault('pattern.no-head', { patch }) : undefined;
}

/** How far the grown surface may miss what a zone asks for before that is told, as a share of it and in mm. */
const MISS_SHARE = 0.1;
const MISS_MM = 0.25;

export function regionOf(zone: GivenPlace, form: Mesh, fromFile: Matrix4): ZoneRegion {
  if (zone.region !== undefined) return namedRegion(zone.region, boundsOf(form.positions).max[2]);
  if (zone.points !== undefined) {
    const centres = zone.points.map((point) => transformPoint(fromFile, point));
    return { kind: 'spots', centres, radiusMm: zone.radiusMm ?? 0 };
  }
  const corners = [zone.box?.min, zone.box?.max].map((corner) => transformPoint(fromFile, corner as Vec3));
  const pick = (choose: (...of: number[]) => number): Vec3 => [
    choose(corners[0][0], corners[1][0]),
    choose(corners[0][1], corners[1][1]),
    choose(corners[0][2], corners[1][2]),
  ];
  return { kind: 'box', min: pick(Math.min), max: pick(Math.max) };
}

export const allowOperation: Operation<typeof allowSpecification> = {
  specification: allowSpecification,
  phases: { check: 0.15, grow: 0.4, untangle: 0.25, prove: 0.2 },
  run: ([input], { zones: given }, run) => {
    const form = input.mesh;
    const before = examine(form, run.within('check', { [HEALTH_PHASE]: 1 }));
    if (!before.watertight) return failed(fault('mesh.not-closed', { openEdges: before.openEdges, verb: 'allow' }));
    const misplaced = troubleOfPlaces(given.zones, form);
    if (misplaced !== undefined) return failed(misplaced);
    const zones: Zone[] = given.zones.map((zone, i) => ({
      name: zone.name ?? zone.region ?? `zone ${i + 1}`,
      region: regionOf(zone, form, input.fromFile),
      thicknessMm: zone.growMm,
      blendMm: zone.blendMm,
    }));
    run.step('grow', 0, 1);
    const field = new SignedField(form, () => run.step('grow', 0, 1));
    const raw = growByZones(form, zones, field, run.within('grow', { [ALLOW_PHASE]: 1 }));
    const { mesh, left } = untangle(raw, run.within('untangle', { [UNTANGLE_PHASE]: 1 }));
    const health = examine(mesh, run.within('prove', { [HEALTH_PHASE]: 1 }));
    if (left > 0 || !health.watertight || health.selfIntersections > 0) {
      return failed(fault('allow.meets-itself', { count: health.selfIntersections }));
    }
    const warnings: Warning[] = [];
    const reached = measureAllowance(mesh, zones, field);
    for (const { name, growMm, samples, minMm, maxMm } of reached) {
      const allowed = Math.max(MISS_MM, MISS_SHARE * Math.abs(growMm));
      if (samples === 0) {
        warnings.push({
          code: 'allow.zone-empty',
          sentence: `Zone "${name}" counts fully nowhere on this form: it is too small for its blend, covered, or elsewhere.`,
        });
      } else if (minMm < growMm - allowed || maxMm > growMm + allowed) {
        warnings.push({
          code: 'allow.zone-misses',
          sentence: `In zone "${name}" the surface lies ${minMm.toFixed(1)} to ${maxMm.toFixed(1)} mm from the form instead of ${growMm} mm: hollows fill up, and crests keep their distance only straight out.`,
        });
      }
    }
    const moved = (i: number): boolean => raw.positions[i] !== form.positions[i];
    let movedVertices = 0;
    for (let i = 0; i < form.positions.length; i += 3) if (moved(i) || moved(i + 1) || moved(i + 2)) movedVertices++;
    return done(
      {
        mesh,
        matrix: IDENTITY,
        figures: {
          zones: reached,
          movedVertices,
          volumeMm3: volumeOf(mesh),
          formVolumeMm3: volumeOf(form),
          health: healthAsFigures(health, 'millimetre'),
        },
      },
      warnings,
    );
  },
};
