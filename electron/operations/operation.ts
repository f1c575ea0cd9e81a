/**
 * The one shape of an operation: (input, parameters, run) -> Outcome with figures. Operations are pure:
 * they know no file, store or screen, so they run on the command line, in a worker and in a test alike.
 */
import type { z } from 'zod';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import type { PaperDocument } from '../../shared-types/paper.ts';
import type { LengthUnit } from '../../shared-types/units.ts';
import { complaintOf, placeOf } from '../../shared-types/operations/complaint.ts';
import type { OperationSpecification } from '../../shared-types/operations/specification.ts';
import { Cancelled, createRun, type Phases, type RunContext, type RunHooks } from '../../shared-types/progress.ts';
import { areaOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { failed, type Outcome } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';

/** A mesh as an operation receives it, with what its file said about it. */
export interface InputMesh {
  readonly mesh: Mesh;
  /** Name for sentences. */
  readonly name: string;
  /** Unit the file states, if its format states one; the mesh is then already in mm. */
  readonly unit?: LengthUnit;
  /**
   * From the file's own coordinates to the mesh's (identity unless the format states a unit or another
   * up axis). Points the user gives in the file's coordinates go through this first.
   */
  readonly fromFile: Matrix4;
}

/** A file of an operation that makes several: name with its ending, contents. */
export interface MadeFile {
  readonly name: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

/** A paper the host writes as PDF under this name. */
export interface MadePaper {
  readonly name: string;
  readonly document: PaperDocument;
}

export interface OperationResult<Figures> {
  readonly mesh?: Mesh;
  /** For operations whose output is a folder: files whole, and papers that the host writes as PDF. */
  readonly files?: readonly MadeFile[];
  readonly papers?: readonly MadePaper[];
  /**
   * For operations that move points: from the input mesh's coordinates to the output mesh's. The host
   * adds the file's own turns (fromFile, and the writer's) and reports the product as `matrix`.
   */
  readonly matrix?: Matrix4;
  readonly figures: Figures;
}

export interface Operation<S extends OperationSpecification = OperationSpecification> {
  readonly specification: S;
  /** Weights summing to 1. */
  readonly phases: Phases;
  run(
    inputs: readonly InputMesh[],
    parameters: z.output<S['parameters']>,
    run: RunContext,
  ): Outcome<OperationResult<z.output<S['figures']>>>;
}

/**
 * Run an operation on raw parameters: validate, run, turn a stop into its fault, credit the rest of the
 * progress. An unexpected throw passes through: the caller (job pool, dispatch, command line) logs it.
 */
export function runOperation<S extends OperationSpecification>(
  operation: Operation<S>,
  inputs: readonly InputMesh[],
  rawParameters: unknown,
  hooks: RunHooks = {},
): Outcome<OperationResult<z.output<S['figures']>>> {
  const parsed = operation.specification.parameters.safeParse(rawParameters);
  if (!parsed.success) {
    const { path, sentence } = complaintOf(parsed.error);
    const place = path.length === 0 ? 'parameters' : placeOf(path);
    return failed(fault('job.usage', { reason: `${operation.specification.verb}: ${place}: ${sentence}` }));
  }
  // Whatever the verb: a mesh without faces, or with nothing but faces without area, is no surface.
  if (inputs.some(({ mesh }) => !(areaOf(mesh) > 0))) return failed(fault('mesh.no-faces', {}));
  const run = createRun(operation.phases, hooks);
  try {
    const outcome = operation.run(inputs, parsed.data as z.output<S['parameters']>, run);
    if (outcome.ok) {
      operation.specification.figures.parse(outcome.value.figures);
      for (const phase of Object.keys(operation.phases)) run.step(phase, 1, 1);
    }
    return outcome;
  } catch (error) {
    if (error instanceof Cancelled) return failed(fault('job.cancelled', {}));
    throw error;
  }
}

/** From the first input file's own coordinates; what is made from no mesh has no others than its own. */
export const fromFileOf = (inputs: readonly InputMesh[]): Matrix4 => inputs[0]?.fromFile ?? IDENTITY;
