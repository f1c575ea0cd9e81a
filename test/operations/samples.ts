/** One small honest run of each registered operation, for the tests that hold for all of them. */
import type { Mesh } from '../../shared-types/mesh.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import type { InputMesh } from '../../electron/operations/operation.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { ellipsoid } from '../support/solids.ts';

export interface Sample {
  readonly inputs: readonly InputMesh[];
  readonly parameters: Readonly<Record<string, unknown>>;
}

export const input = (mesh: Mesh): InputMesh => ({ mesh, name: 'sample', fromFile: IDENTITY });

/** About the size of a head: 200 long, 150 broad, 240 high, mm. */
const [A, B, C] = [100, 75, 120];
const egg = (): InputMesh => input(ellipsoid(A, B, C, 4));

/** A wall between two closed surfaces, one inside the other. */
function shell(inner: Mesh, outer: Mesh): Mesh {
  const count = inner.positions.length / 3;
  return {
    positions: Float64Array.of(...inner.positions, ...outer.positions),
    triangles: Uint32Array.of(...inner.triangles.toReversed(), ...outer.triangles.map((v) => v + count)),
  };
}

const spans = [
  { name: 'length', from: [A, 0, 0], to: [-A, 0, 0], measured: 2 * A, u: 0.5 },
  { name: 'breadth', from: [0, B, 0], to: [0, -B, 0], measured: 2 * B, u: 0.5 },
  { name: 'height', from: [0, 0, C], to: [0, 0, -C], measured: 2 * C, u: 0.5 },
];

const landmarks = {
  'tragion-left': [0, B, 0],
  'tragion-right': [0, -B, 0],
  'orbitale-left': [A * Math.cos(0.4), B * Math.sin(0.4), 0],
};

const trim = [[0, 0, -C / 2, 0, 0, 1]];

export const SAMPLES: Readonly<Record<string, Sample>> = {
  health: { inputs: [egg()], parameters: {} },
  mend: { inputs: [egg()], parameters: {} },
  trim: { inputs: [egg()], parameters: { planes: trim } },
  stand: { inputs: [egg()], parameters: { landmarks } },
  true: { inputs: [egg()], parameters: { spans: { spans } } },
  measure: { inputs: [egg()], parameters: { spans: { spans } } },
  lighten: { inputs: [egg()], parameters: { faces: 1000 } },
  form: { inputs: [egg()], parameters: { recipe: { trim, landmarks, spans, faces: 1000 } } },
  part: { inputs: [egg()], parameters: { unit: 'mm' } },
  fit: {
    inputs: [input(ellipsoid(A + 12, B + 12, C + 12, 3)), input(ellipsoid(A, B, C, 3))],
    parameters: { place: [...IDENTITY], solve: 'place', foamMm: 4, quick: true, donning: true },
  },
  carry: {
    inputs: [egg(), egg()],
    parameters: { recipe: { trim, landmarks, spans }, way: { matrix: [...IDENTITY] } },
  },
  compare: { inputs: [egg(), egg()], parameters: {} },
  block: {
    inputs: [],
    parameters: { sheet: { readings: [{ name: 'head length', measured: 2 * A, u: 1.5 }] }, faces: 2000 },
  },
  fill: {
    inputs: [input(inventHead({ seed: 3 }).mesh(2500))],
    parameters: {
      patch: { zones: [{ region: 'crown' }] },
      sheet: { readings: [{ name: 'tragion to top of head', measured: 132, u: 1.5 }] },
    },
  },
  allow: { inputs: [egg()], parameters: { zones: { zones: [{ region: 'crown', growMm: 4 }] } } },
  sight: { inputs: [input(ellipsoid(A + 20, B + 20, C + 20, 4)), egg()], parameters: { thing: [10, 10, 5] } },
  split: { inputs: [egg()], parameters: { bed: [120, 120, 120], planes: trim } },
  gauge: { inputs: [egg()], parameters: { levelsMm: [0, 40], words: 'Ann' } },
  pattern: { inputs: [egg()], parameters: { foamMm: 8, zone: 'crown', allowanceMm: 5 } },
  pad: {
    inputs: [input(shell(ellipsoid(A + 12, B + 12, C + 12, 4), ellipsoid(A + 15, B + 15, C + 15, 4))), egg()],
    parameters: {
      stock: { stock: [{ material: 'soft foam', nominalMm: 15, compression: 0.4 }] },
      pads: { patches: [{ zone: 'temples' }] },
    },
  },
  shell: { inputs: [egg()], parameters: { wallMm: 5, toleranceMm: 0.5 } },
  line: { inputs: [egg()], parameters: { foamMm: 5, toleranceMm: 0.5 } },
};
