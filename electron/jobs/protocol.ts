/**
 * What passes between the pool and its threads, as plain data. Inputs are copied in, so that a failed job never costs
 * the caller its mesh; results are transferred out.
 */
import type { Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import type { Warning } from '../../shared-types/outcome.ts';
import type { InputMesh, MadeFile, MadePaper } from '../operations/operation.ts';

/** A mesh file the thread reads itself, so that reading can be watched and stopped too. */
export interface InputFile {
  readonly path: string;
}

/** The bytes of a mesh file that stands on no disk of its own: a scan kept in a library. Read in the thread too. */
export interface InputBytes {
  readonly bytes: Uint8Array;
  /** Name for sentences; its ending helps to tell the format. */
  readonly name: string;
}

export type JobInput = InputMesh | InputFile | InputBytes;

export interface JobOrder {
  readonly verb: string;
  readonly inputs: readonly JobInput[];
  /** As typed or clicked: validated in the thread by the operation's own schema. */
  readonly parameters: unknown;
  /** Give the bytes of a file of this name instead of the mesh. */
  readonly writeAs?: string;
}

export interface JobResult {
  readonly figures: Readonly<Record<string, unknown>>;
  readonly mesh?: Mesh;
  /** From the first input mesh's coordinates to the output mesh's. */
  readonly matrix?: Matrix4;
  /** From the first input file's own coordinates to its mesh's. */
  readonly fromFile: Matrix4;
  /** Of an operation that makes a folder. */
  readonly files?: readonly MadeFile[];
  readonly papers?: readonly MadePaper[];
  /** With `writeAs`: the file's bytes, and from the mesh's coordinates to the file's. */
  readonly file?: { readonly bytes: Uint8Array; readonly toFile: Matrix4 };
}

export type ToThread = { readonly order: JobOrder; readonly flag: Int32Array<SharedArrayBuffer> };

export type FromThread =
  | { readonly kind: 'progress'; readonly fraction: number; readonly phase: string }
  | { readonly kind: 'done'; readonly value: JobResult; readonly warnings: readonly Warning[] }
  | { readonly kind: 'fault'; readonly fault: Fault }
  /** A mistake of ours: the whole account goes to the log, a reference to the person. */
  | { readonly kind: 'threw'; readonly account: string };
