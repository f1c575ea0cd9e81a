/** What the viewport is told and what it tells: plain data, millimetres, x forward, y to the wearer's left, z up. */
import type { Vec3 } from '../../shared-types/mesh.ts';

export type Theme = 'light' | 'dark';
export type Projection = 'orthographic' | 'perspective';
export type PickMode = 'none' | 'surface';
export type Material = 'clay' | 'scan' | 'glass' | 'wall' | 'plain';
export type ViewName = 'front' | 'back' | 'left' | 'right' | 'above' | 'below' | 'three-quarter';

export interface ViewMesh {
  /** xyz triples. Single precision is used as it is, without a copy: do not change it afterwards. */
  readonly positions: Float32Array | Float64Array;
  readonly triangles: Uint32Array;
  /** 8-bit RGB, one per vertex. */
  readonly colours?: Uint8Array | undefined;
}

export interface Look {
  readonly material?: Material;
  /** Show the mesh's own colours where it has them. */
  readonly colours?: boolean;
  readonly edges?: boolean;
  readonly opacity?: number;
  readonly visible?: boolean;
  /** False for what only lies over a body: a press goes through it, and does not wait for it. */
  readonly pickable?: boolean;
  /** A sign, no body: a section passes it by. */
  readonly isSign?: boolean;
  /** 16 numbers, row-major: where the mesh stands. */
  readonly matrix?: readonly number[];
}

export interface Scale {
  readonly minMm: number;
  readonly maxMm: number;
  /** A deviation has two sides of zero; an ease has tight and roomy. */
  readonly kind: 'deviation' | 'ease';
  /** Step of the contour lines, 0 for none; a round one is chosen if it is not given. */
  readonly contourMm?: number;
}

export interface Mark {
  readonly id: string;
  /** A ghost is a place proposed or searched for, not yet set. */
  readonly kind: 'landmark' | 'ghost';
  readonly label: string;
  readonly point: Vec3;
  readonly selected?: boolean;
  readonly uncertain?: boolean;
}

export interface SpanMark {
  readonly id: string;
  /** What the paper tag says, value and unit included. */
  readonly label: string;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly selected?: boolean;
  /** Does not belong to the others: drawn broken, and said so. */
  readonly bad?: boolean;
}

export interface Tape {
  readonly id: string;
  readonly label: string;
  /** xyz triples along the tape. */
  readonly points: Float64Array;
  /** False for a tape laid between two points; a girth closes. */
  readonly closed?: boolean;
  readonly selected?: boolean;
}

/** A plane that trims; the normal points to the side that is kept. */
export interface TrimPlane {
  readonly id: string;
  readonly point: Vec3;
  readonly normal: Vec3;
  readonly active?: boolean;
}

/** A plane that opens the view; the side the normal points to stays drawn. */
export interface SectionPlane {
  readonly point: Vec3;
  readonly normal: Vec3;
}

export interface SectionLine {
  readonly slot: string;
  readonly closed: boolean;
  /** xy pairs, mm, in the section's own axes. */
  readonly points: Float64Array;
}

export interface Section {
  /** The sheet's origin and axes in the view's frame; normal = right × up. */
  readonly origin: Vec3;
  readonly right: Vec3;
  readonly up: Vec3;
  readonly lines: readonly SectionLine[];
}

export interface Hit {
  readonly slot: string;
  /** Where it is in the view, mm. */
  readonly point: Vec3;
  /** The same in the mesh's own coordinates (before the look's matrix). */
  readonly pointInMesh: Vec3;
  readonly normal: Vec3;
  readonly face: number;
  /** Moved to the highest point nearby. */
  readonly snapped: boolean;
}

export interface LegendStop {
  readonly valueMm: number;
  /** 0 at minMm, 1 at maxMm. */
  readonly at: number;
  readonly css: string;
}

export interface Legend {
  readonly slot: string;
  readonly kind: Scale['kind'];
  readonly minMm: number;
  readonly maxMm: number;
  /** 0: there are no lines. */
  readonly contourMm: number;
  /** Colours evenly along the scale, for a gradient. */
  readonly stops: readonly LegendStop[];
  /** Round values to write beside it, each lying on a contour line. */
  readonly ticks: readonly LegendStop[];
  /** Share of vertices beyond either end, 0 to 1, drawn in the end's colour. */
  readonly below: number;
  readonly above: number;
  /** Vertices without a value, drawn plain. */
  readonly missing: number;
}

export interface ViewStats {
  /** Of the last whole picture, until the graphics had finished it. */
  readonly frameMs: number;
  /** Of the last picture while moving. */
  readonly movingFrameMs: number;
  /** Faces in what is shown, and in what was drawn last. */
  readonly triangles: number;
  readonly drawnTriangles: number;
  /** Faces in the last picture drawn while moving. */
  readonly movingTriangles: number;
  readonly geometryBytes: number;
  /** Whether every shown mesh can be picked in already. */
  readonly isPickable: boolean;
}
