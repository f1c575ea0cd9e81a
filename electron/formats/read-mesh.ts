/** What every reader gives and takes. */
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import type { LengthUnit } from '../../shared-types/units.ts';

export interface ReadMesh {
  readonly mesh: Mesh;
  readonly format: FormatId;
  /** The unit the file states, if its format states one; `mesh` is then in mm. */
  readonly unit?: LengthUnit;
  /** From the file's own coordinates to the mesh's. */
  readonly fromFile: Matrix4;
  /** Texture files the mesh names; the pictures themselves are not read. */
  readonly textures: readonly string[];
  /** Named groups or objects, in order. */
  readonly groups: readonly string[];
}

export interface WrittenMesh {
  readonly bytes: Uint8Array;
  /** From the mesh's coordinates to the file's. */
  readonly toFile: Matrix4;
}

export type FormatId = 'obj' | 'stl' | 'ply' | 'gltf' | '3mf';

export type Reader = (bytes: Uint8Array, run: RunContext) => Outcome<ReadMesh>;

/** Phases of reading any file. */
export const READ_PHASES = { read: 1 } as const;
