/**
 * A form with allowances: grown where hair under a cap, a wig or thick clothing lies on the body, shrunk where soft
 * tissue gives way. The form itself stays as it is; this is a second surface beside it.
 *
 * Each vertex is carried along its normal in small steps, the normals found anew after each, until it lies as far from
 * the form as its place asks; small steps keep a hollow from folding over. Zones pass into one another as in zones.ts.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { vertexNormals } from '../mesh/quantities.ts';
import { SignedField } from './signed-field.ts';
import { zoneShare, type Zone } from './zones.ts';

export const ALLOW_PHASE = 'allow';
/** Longest step, as a share of the shortest blend, and in mm. */
const STEP_SHARE = 0.1;
const MOST_STEP_MM = 1;
/** Extra rounds for vertices whose normals turned on the way. */
const EXTRA_ROUNDS = 12;
const MOST_ROUNDS = 400;
/** Nearer than this to what is asked for is there, mm. */
const THERE_MM = 2 ** -7;

/** What a place asks for, mm outward; zones in order, a later one over the earlier. `heightMm`: of the point over the form. */
function allowanceAt(zones: readonly Zone[], x: number, y: number, z: number, heightMm: number): number {
  let wanted = 0;
  for (const zone of zones) wanted += (zone.thicknessMm - wanted) * zoneShare(zone, x, y, z, heightMm);
  return wanted;
}

/**
 * The form with the zones' `thicknessMm` grown (above zero) or shrunk (below). Same faces, vertices elsewhere; vertices
 * that no zone reaches stay exactly. It may meet itself where a hollow is grown shut or a thin part shrunk through: the
 * caller must look. The form must be closed and oriented outward. O(rounds · vertices log faces).
 */
export function growByZones(form: Mesh, zones: readonly Zone[], field: SignedField, run: RunContext): Mesh {
  const positions = form.positions.slice();
  const most = Math.max(...zones.map(({ thicknessMm }) => Math.abs(thicknessMm)));
  const blend = Math.min(...zones.map(({ blendMm }) => blendMm));
  const step = Math.min(MOST_STEP_MM, Math.max(most / MOST_ROUNDS, STEP_SHARE * blend));
  const rounds = Math.min(MOST_ROUNDS, Math.ceil(most / step)) + EXTRA_ROUNDS;
  let moving = Uint32Array.from({ length: positions.length / 3 }, (_, v) => v);
  for (let round = 0; round < rounds && moving.length > 0; round++) {
    const normals = vertexNormals({ positions, triangles: form.triangles });
    const still: number[] = [];
    for (const [at, v] of moving.entries()) {
      if (at % 256 === 0) run.step(ALLOW_PHASE, round + at / moving.length, rounds);
      const i = v * 3;
      const [x, y, z] = [positions[i], positions[i + 1], positions[i + 2]];
      const height = round === 0 ? 0 : field.at(x, y, z);
      const left = allowanceAt(zones, x, y, z, height) - height;
      if (Math.abs(left) <= THERE_MM) continue;
      still.push(v);
      const by = Math.max(-step, Math.min(step, left));
      for (let k = 0; k < 3; k++) positions[i + k] += by * normals[i + k];
    }
    moving = Uint32Array.from(still);
  }
  return { ...form, positions };
}

export interface AllowanceEvidence {
  readonly name: string;
  readonly growMm: number;
  /** Vertices where the zone counts fully; their least, largest and mean distance from the form, mm, signed. */
  readonly samples: number;
  readonly minMm: number;
  readonly maxMm: number;
  readonly meanMm: number;
}

/** A zone counts fully from this share on. */
const FULLY = 0.999;

/** How far the grown surface lies from the form in each zone, at its vertices. O(vertices (log faces + zones)). */
export function measureAllowance(grown: Mesh, zones: readonly Zone[], field: SignedField): AllowanceEvidence[] {
  const found = zones.map(() => [] as number[]);
  for (let i = 0; i < grown.positions.length; i += 3) {
    const [x, y, z] = [grown.positions[i], grown.positions[i + 1], grown.positions[i + 2]];
    const height = field.at(x, y, z);
    const which = zones.findLastIndex((zone) => zoneShare(zone, x, y, z, height) > 1 - FULLY);
    if (which >= 0 && zoneShare(zones[which], x, y, z, height) >= FULLY) found[which].push(height);
  }
  return zones.map(({ name, thicknessMm }, i) => {
    const heights = found[i];
    const samples = heights.length;
    const minMm = heights.reduce((least, one) => Math.min(least, one), Infinity);
    const maxMm = heights.reduce((most, one) => Math.max(most, one), -Infinity);
    const meanMm = heights.reduce((sum, one) => sum + one, 0) / samples;
    return { name, growMm: thicknessMm, samples, ...(samples > 0 ? { minMm, maxMm, meanMm } : NOWHERE) };
  });
}

const NOWHERE = { minMm: 0, maxMm: 0, meanMm: 0 };
