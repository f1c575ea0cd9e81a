/**
 * An indexed triangle mesh: the one shape in which surfaces travel through the program.
 *
 * Triangles run counter-clockwise seen from outside. Lengths are millimetres, except in a scan whose
 * unit is not yet known, where they are the file's own numbers. Connectivity, normals and search trees
 * are derived, cached beside a mesh and never stored in it. Treat the arrays as read-only: operations
 * return new meshes.
 *
 * Coordinates are doubles in memory so that a scan far from its origin loses nothing; results that
 * carry a proof of soundness are rounded to single precision first (`roundToSingle`), because that is
 * what mesh files hold and the proof must be about what is written.
 */
export interface Mesh {
  /** xyz triples, one per vertex. */
  readonly positions: Float64Array;
  /** Vertex index triples, one per face. */
  readonly triangles: Uint32Array;
  /** Optional 8-bit RGB triples, one per vertex. */
  readonly colours?: Uint8Array;
}

/** A point or direction. */
export type Vec3 = readonly [number, number, number];

/** 16 numbers, row-major, acting on column vectors: p' = M · (x, y, z, 1). */
export type Matrix4 = readonly number[];

/** A plane through `point`; `normal` (any length but zero) points to the side that is kept. */
export interface Plane {
  readonly point: Vec3;
  readonly normal: Vec3;
}
