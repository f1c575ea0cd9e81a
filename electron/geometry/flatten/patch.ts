/** A part of a body's surface, chosen in one of the ways a maker points it out. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { areaOf, boundsOf } from '../mesh/quantities.ts';
import { insideBy, namedRegion, type ZoneName, type ZoneRegion } from '../offset/zones.ts';
import { nearestOnFace } from '../measure/point-triangle.ts';
import { clipSurface } from './clip-surface.ts';
import { openAlong } from './disc.ts';
import { Knife } from './knife.ts';

export type PatchChoice =
  | { readonly kind: 'whole' }
  /** A usual place of an upright head form. */
  | { readonly kind: 'zone'; readonly zone: ZoneName }
  | { readonly kind: 'region'; readonly region: ZoneRegion }
  /** Painted: faces by number. */
  | { readonly kind: 'faces'; readonly faces: readonly number[] }
  /** Within a closed line drawn through points; the smaller side unless a point inside is given. */
  | { readonly kind: 'curve'; readonly curve: readonly Vec3[]; readonly inside?: Vec3 };

/**
 * The patch of `surface`, a surface with the faces of `body` that may lie a little off it (a sheet's middle): places
 * named by a zone go by `body`. Empty when nothing is there; undefined when a drawn line cannot be followed or does not go
 * round. O(faces), and for a curve what its ways need.
 */
export function takePatch(body: Mesh, surface: Mesh, choice: PatchChoice, tick: () => void): Mesh | undefined {
  if (choice.kind === 'whole') return surface;
  if (choice.kind === 'faces') {
    const keep = new Uint8Array(surface.triangles.length / 3);
    for (const face of choice.faces) keep[face] = 1;
    return keepFaces({ positions: surface.positions, triangles: surface.triangles }, keep);
  }
  if (choice.kind === 'curve') return within(surface, choice.curve, choice.inside, tick);
  const region = choice.kind === 'zone' ? namedRegion(choice.zone, boundsOf(body.positions).max[2]) : choice.region;
  return clipToRegion(surface, region, 0);
}

/** The part of a surface at least `insetMm` within a region; corners where its borders meet stay sharp. O(faces). */
export function clipToRegion(surface: Mesh, region: ZoneRegion, insetMm: number): Mesh {
  let mesh = surface;
  for (const border of bordersOf(region)) {
    const p = mesh.positions;
    const values = new Float64Array(p.length / 3);
    for (let v = 0; v < values.length; v++) {
      values[v] = insideBy(border, p[v * 3], p[v * 3 + 1], p[v * 3 + 2], 0) - insetMm;
    }
    mesh = clipSurface(mesh, values).mesh;
  }
  return mesh;
}

/** Regions with one border each that together leave what the region leaves. */
function bordersOf(region: ZoneRegion): ZoneRegion[] {
  if (region.kind === 'box') {
    const low: Vec3 = [-Infinity, -Infinity, -Infinity];
    const high: Vec3 = [Infinity, Infinity, Infinity];
    const only = (whole: Vec3, k: number, value: number): Vec3 => whole.with(k, value) as unknown as Vec3;
    return [0, 1, 2].flatMap((k): ZoneRegion[] => [
      { kind: 'box', min: only(low, k, region.min[k]), max: high },
      { kind: 'box', min: low, max: only(high, k, region.max[k]) },
    ]);
  }
  if (region.kind === 'spots') return [region];
  const { turn, rise } = region;
  const all = [0, Math.PI] as const;
  const full = [-Math.PI / 2, Math.PI / 2] as const;
  return [
    { ...region, turn: [turn[0], all[1]], rise: full },
    { ...region, turn: [all[0], turn[1]], rise: full },
    { ...region, turn: all, rise: [rise[0], full[1]] },
    { ...region, turn: all, rise: [full[0], rise[1]] },
  ];
}

function within(surface: Mesh, curve: readonly Vec3[], point: Vec3 | undefined, tick: () => void): Mesh | undefined {
  const knife = new Knife(surface);
  const stops = curve.map((one) => knife.vertexAt(one));
  for (const [i, from] of stops.entries()) {
    const to = stops[(i + 1) % stops.length];
    if (from !== to && knife.cutBetween(from, to, 0, tick) === undefined) return undefined;
  }
  const whole = knife.mesh();
  const opened = openAlong(whole.triangles, whole.positions.length / 3, (a, b) => knife.cutOf(a, b) >= 0);
  const positions = new Float64Array(opened.source.length * 3);
  for (const [v, source] of opened.source.entries()) positions.set(knife.pointOf(source), v * 3);
  const mesh: Mesh = { positions, triangles: opened.triangles };
  const { pieceOfFace, count } = findPieces(mesh.triangles, opened.source.length);
  const before = findPieces(whole.triangles, whole.positions.length / 3).count;
  if (count <= before) return undefined;
  const parts = Array.from({ length: count }, (_, piece) =>
    keepFaces(
      mesh,
      Uint8Array.from(pieceOfFace, (one) => (one === piece ? 1 : 0)),
    ),
  );
  if (point !== undefined) {
    return parts.reduce((best, part) => (squareTo(part, point) < squareTo(best, point) ? part : best));
  }
  // Ways from place to place may touch or cross, which cuts off crumbs; the line's two sides are the largest along it.
  const onLine = new Set<number>();
  const { triangles: t } = whole;
  for (let f = 0; f < t.length; f += 3) {
    for (let k = 0; k < 3; k++) {
      const [a, b] = [t[f + k], t[f + ((k + 1) % 3)]];
      if (knife.cutOf(a, b) >= 0) onLine.add(a).add(b);
    }
  }
  const along = new Set<number>();
  for (const [corner, v] of mesh.triangles.entries()) {
    if (onLine.has(opened.source[v])) along.add(pieceOfFace[(corner / 3) | 0]);
  }
  const sides = parts.filter((_, piece) => along.has(piece)).map((part) => ({ part, area: areaOf(part) }));
  return sides.toSorted((a, b) => b.area - a.area)[1]?.part;
}

function squareTo({ positions, triangles: t }: Mesh, [x, y, z]: Vec3): number {
  let best = Infinity;
  for (let f = 0; f < t.length; f += 3) {
    best = Math.min(best, nearestOnFace(positions, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z));
  }
  return best;
}
