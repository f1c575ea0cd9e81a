/** What of a form is to be filled, while it is being thought over. Pure. */
import { insideBy, namedRegion } from '../../../electron/geometry/measure/zone-share.ts';
import type { PlanDraft } from '../../../shared-types/calls/plans.ts';
import type { CallInput, CallResult } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { ZONE_NAMES } from '../../../shared-types/operations/zone-place.ts';
import { BRUSH_MM, dabbed } from '../../controls/dabs.ts';

export type PlaceName = (typeof ZONE_NAMES)[number];
export type FillPreview = CallResult<'fill.preview'>;

export type FillPlan = PlanDraft<'fill'>;
export type FillTool = 'paint' | 'wipe';

export const FIRST_FILL: FillPlan = {
  regions: [],
  dabs: [],
  brushMm: BRUSH_MM,
  blendMm: 20,
  survey: 'either',
  isMirrored: true,
};

/** What undo would take back. */
export const FILL_STEPS: Readonly<Record<keyof FillPlan, string>> = {
  regions: 'choose a place to fill',
  dabs: 'paint a place to fill',
  brushMm: 'change the brush of a fill',
  blendMm: 'change how a fill follows its rim',
  survey: 'choose what a fill is guessed from',
  isMirrored: 'paint a fill on both sides alike',
};

/** The plan after the brush touched a place. */
export function touched(plan: FillPlan, at: Vec3, tool: FillTool): FillPlan {
  const places: readonly Vec3[] = plan.isMirrored ? [at, [at[0], -at[1], at[2]]] : [at];
  const dabs = places.reduce((so, place) => dabbed(so, plan.brushMm, place, tool === 'wipe'), plan.dabs);
  return dabs === plan.dabs ? plan : { ...plan, dabs };
}

/** What the calls ask for; undefined while nothing is chosen or the blend cannot be read. */
export function wantedOf(revisionId: string, plan: FillPlan): CallInput<'fill.preview'> | undefined {
  const { regions, dabs, brushMm, blendMm, survey } = plan;
  if (blendMm === undefined || regions.length + dabs.length === 0) return undefined;
  const painted =
    dabs.length === 0
      ? []
      : [{ name: 'the painted place', points: dabs.map((dab) => [...dab] as const), radiusMm: brushMm }];
  const zones = [...regions.map((region) => ({ region })), ...painted];
  return { revisionId, patch: { zones: zones as unknown as [] }, blendMm, survey };
}

/** 1 at each vertex of the patch, NaN elsewhere; undefined without one. O(vertices dabs). */
export function patchMap({ regions, dabs, brushMm }: FillPlan, positions: Float32Array): Float32Array | undefined {
  if (regions.length + dabs.length === 0) return undefined;
  let topMm = 0;
  for (let at = 2; at < positions.length; at += 3) topMm = Math.max(topMm, positions[at]);
  const chosen = regions.map((name) => namedRegion(name, topMm));
  if (dabs.length > 0) chosen.push({ kind: 'spots', centres: dabs, radiusMm: brushMm });
  return Float32Array.from({ length: positions.length / 3 }, (_, v) => {
    const [x, y, z] = [positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]];
    return chosen.some((region) => insideBy(region, x, y, z, 0) > 0) ? 1 : NaN;
  });
}
