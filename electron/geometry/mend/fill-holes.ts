/** Closing every hole of an oriented surface. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { OPEN } from '../mesh/twins.ts';
import { fairPatch, refinePatch, type Patch } from './fair-patch.ts';
import { fillLoop, loopPlane, takenChords, type FillWay } from './fill-loop.ts';
import { findHoleLoops } from './hole-loops.ts';

export interface FilledHole {
  readonly perimeter: number;
  readonly edges: number;
  readonly way: FillWay;
  /** Whether the patch was refined and bent to continue its surroundings. */
  readonly faired: boolean;
  readonly faces: number;
}

export interface FillOptions {
  /** Leave holes with a longer perimeter open. */
  readonly maxPerimeter?: number;
  /** Bend large patches to continue their surroundings. */
  readonly fair: boolean;
}

export const FILL_PHASE = 'fill holes';

/** Holes of fewer edges than this are closed without new vertices. */
const FAIR_FROM_EDGES = 12;
/** A hole this much rounder than a slit (4 pi area / perimeter^2) is a missing piece of surface, not a crack. */
const FAIR_FROM_ROUNDNESS = 0.12;
/** A loop wider than this share of the body and nearly plane is where the scan was cut off: closed flat. */
const CUT_OFF_SHARE = 0.25;
const CUT_OFF_FLATNESS = 0.06;

/**
 * Close the holes of a manifold oriented mesh. Old vertices and faces stay as they are; new ones come after them.
 * Colours of new vertices are those of the nearest loop vertex. Cost: see `fillLoop`, plus the fairing of large holes.
 */
export function fillHoles(
  mesh: Mesh,
  twin: Int32Array,
  options: FillOptions,
  run: RunContext = QUIET_RUN,
): { mesh: Mesh; filled: FilledHole[]; left: number } {
  const vertexCount = mesh.positions.length / 3;
  const loops = findHoleLoops(mesh.triangles, twin, vertexCount);
  if (loops.length === 0) return { mesh, filled: [], left: 0 };
  const p = mesh.positions;
  let low = [Infinity, Infinity, Infinity],
    high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < p.length; i++) {
    low[i % 3] = Math.min(low[i % 3], p[i]);
    high[i % 3] = Math.max(high[i % 3], p[i]);
  }
  const diagonal = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  const around = new Surround(mesh, twin, loops);
  const newPositions: number[] = [];
  const newColours: number[] = [];
  const newFaces: number[] = [];
  const filled: FilledHole[] = [];
  let left = 0;
  loops.forEach((loop, number) => {
    run.step(FILL_PHASE, number, loops.length);
    if (loop.length < 3) return;
    let perimeter = 0;
    for (let i = 0; i < loop.length; i++) {
      const a = loop[i] * 3,
        b = loop[(i + 1) % loop.length] * 3;
      perimeter += Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
    }
    if (perimeter > (options.maxPerimeter ?? Infinity)) {
      left++;
      return;
    }
    const plane = loopPlane(p, loop);
    const cutOff = plane.width > CUT_OFF_SHARE * diagonal && plane.offMax < CUT_OFF_FLATNESS * plane.width;
    const isTaken = takenChords(loop, (v) => around.neighboursOf(v));
    const filling = fillLoop(p, loop, cutOff, isTaken);
    const patch: Patch = { positions: [], faces: filling.faces };
    for (const v of loop) patch.positions.push(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    if (filling.way === 'fan') patch.positions.push(...plane.centre);
    const fair =
      options.fair &&
      filling.way === 'least area' &&
      loop.length >= FAIR_FROM_EDGES &&
      roundness(patch, perimeter) > FAIR_FROM_ROUNDNESS;
    if (fair) {
      refinePatch(patch, around.scales(loop), isTaken);
      fairPatch(patch, loop.length, { outer: around.outerOf(loop) });
    }
    const base = vertexCount + newPositions.length / 3;
    for (let i = loop.length; i < patch.positions.length / 3; i++) {
      newPositions.push(patch.positions[i * 3], patch.positions[i * 3 + 1], patch.positions[i * 3 + 2]);
      if (mesh.colours !== undefined) newColours.push(...colourNear(mesh, loop, patch.positions, i));
    }
    for (const i of patch.faces) newFaces.push(i < loop.length ? loop[i] : base + i - loop.length);
    filled.push({ perimeter, edges: loop.length, way: filling.way, faired: fair, faces: patch.faces.length / 3 });
  });
  const positions = new Float64Array(p.length + newPositions.length);
  positions.set(p);
  positions.set(newPositions, p.length);
  const triangles = new Uint32Array(mesh.triangles.length + newFaces.length);
  triangles.set(mesh.triangles);
  triangles.set(newFaces, mesh.triangles.length);
  if (mesh.colours === undefined) return { mesh: { positions, triangles }, filled, left };
  const colours = new Uint8Array(positions.length);
  colours.set(mesh.colours);
  colours.set(newColours, mesh.colours.length);
  return { mesh: { positions, triangles, colours }, filled, left };
}

function roundness(patch: Patch, perimeter: number): number {
  const p = patch.positions;
  let twice = 0;
  for (let f = 0; f < patch.faces.length; f += 3) {
    const a = patch.faces[f] * 3,
      b = patch.faces[f + 1] * 3,
      c = patch.faces[f + 2] * 3;
    const ux = p[b] - p[a],
      uy = p[b + 1] - p[a + 1],
      uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a],
      vy = p[c + 1] - p[a + 1],
      vz = p[c + 2] - p[a + 2];
    twice += Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
  }
  return (2 * Math.PI * twice) / (perimeter * perimeter);
}

function colourNear(mesh: Mesh, loop: Uint32Array, p: readonly number[], i: number): number[] {
  let best = loop[0];
  let bestDistance = Infinity;
  for (let k = 0; k < loop.length; k++) {
    const d = (p[k * 3] - p[i * 3]) ** 2 + (p[k * 3 + 1] - p[i * 3 + 1]) ** 2 + (p[k * 3 + 2] - p[i * 3 + 2]) ** 2;
    if (d < bestDistance) {
      bestDistance = d;
      best = loop[k];
    }
  }
  const colours = mesh.colours as Uint8Array;
  return [colours[best * 3], colours[best * 3 + 1], colours[best * 3 + 2]];
}

/** The mesh around the holes: neighbours of the border vertices. */
class Surround {
  readonly #mesh: Mesh;
  readonly #neighbours = new Map<number, Set<number>>();

  constructor(mesh: Mesh, twin: Int32Array, loops: readonly Uint32Array[]) {
    this.#mesh = mesh;
    for (const loop of loops) for (const v of loop) this.#neighbours.set(v, new Set());
    const t = mesh.triangles;
    const hasHole = twin.includes(OPEN);
    for (let f = 0; hasHole && f < t.length; f += 3) {
      for (let k = 0; k < 3; k++) {
        const set = this.#neighbours.get(t[f + k]);
        if (set !== undefined) set.add(t[f + ((k + 1) % 3)]).add(t[f + ((k + 2) % 3)]);
      }
    }
  }

  neighboursOf(v: number): Iterable<number> {
    return this.#neighbours.get(v) ?? [];
  }

  /** Mean edge length at each loop vertex. */
  scales(loop: Uint32Array): Float64Array {
    const p = this.#mesh.positions;
    return Float64Array.from(loop, (v) => {
      const list = this.#neighbours.get(v) ?? new Set<number>();
      let sum = 0;
      for (const w of list)
        sum += Math.hypot(p[v * 3] - p[w * 3], p[v * 3 + 1] - p[w * 3 + 1], p[v * 3 + 2] - p[w * 3 + 2]);
      return sum / Math.max(1, list.size);
    });
  }

  /** Neighbours of each loop vertex that are not its neighbours on the loop. */
  outerOf(loop: Uint32Array): number[][] {
    const p = this.#mesh.positions;
    return Array.from(loop, (v, i) => {
      const beside = [loop[(i + 1) % loop.length], loop[(i + loop.length - 1) % loop.length]];
      const outer: number[] = [];
      for (const w of this.#neighbours.get(v) ?? [])
        if (!beside.includes(w)) outer.push(p[w * 3], p[w * 3 + 1], p[w * 3 + 2]);
      return outer;
    });
  }
}
