/**
 * A part as the library gives it to every verb and screen: made ready, in true millimetres; until then as its file has
 * it. Placements, planes and points on a part are in the coordinates of what is given.
 */
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4 } from '../../shared-types/mesh.ts';
import { partSpecification } from '../../shared-types/operations/part.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import type { Part } from '../../shared-types/records/project.ts';
import { readMesh } from '../formats/index.ts';
import { determinant3, IDENTITY, invert, multiply } from '../geometry/mesh/transform.ts';
import type { InputMesh } from '../operations/operation.ts';
import { sizedPart } from '../operations/part-size.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import type { RecordOf } from '../store/tables.ts';
import { byId } from './by-id.ts';
import { meshInput } from './making.ts';

/** What a part was when it was tried: a trial of anything else is outdated. */
export const partState = (part: Part): string => part.madeSha256 ?? part.originalSha256;

/** A part made ready, in true size; else as its file has it. */
export function partInput(library: Library, partId: string): Outcome<InputMesh> {
  const part = byId(library, 'parts', partId, 'part');
  if (!part.ok) return part;
  const { madeSha256, name } = part.value;
  if (madeSha256 === undefined) return partAsBrought(library, part.value);
  const mesh = records.readMeshOf(library, { meshSha256: madeSha256 });
  return mesh.ok ? done(meshInput(mesh.value, name)) : mesh;
}

function partAsBrought(library: Library, part: Part): Outcome<InputMesh> {
  const bytes = records.readOriginal(library, part);
  if (!bytes.ok) return bytes;
  const read = readMesh(bytes.value, part.fileName);
  return read.ok ? done({ ...read.value, name: part.name }, read.warnings) : read;
}

/** From the coordinates of a part's file to those it has now. O(vertices) for a part made ready. */
function nowFromFile(library: Library, part: Part): Outcome<Matrix4> {
  if (part.madeSha256 === undefined) return done(IDENTITY);
  const brought = partAsBrought(library, part);
  if (!brought.ok) return brought;
  const recipe = partSpecification.parameters.parse(part.recipe ?? {});
  const sized = sizedPart(brought.value, { fromFile: IDENTITY }, recipe);
  return sized.ok ? done(multiply(sized.value.ownMatrix, brought.value.fromFile)) : sized;
}

/**
 * Where a trial put the part, from the coordinates that the part has now. A trial from before it was made ready, or
 * that does not say what the part was (those of the command line did not), leads from the file's coordinates; one of
 * another true size is left as it is, and is outdated anyway.
 */
export function placementNow(
  library: Library,
  part: Part,
  { placement, figures }: Pick<RecordOf<'trials'>, 'placement' | 'figures'>,
): Outcome<readonly number[]> {
  const { partState: then = part.originalSha256 } = figures;
  if (then !== part.originalSha256) return done(placement);
  const way = nowFromFile(library, part);
  return way.ok ? done(multiply(placement, invert(way.value))) : way;
}

/** No part in true size is worn half or twice as large; units differ by more. */
const MOST_FACTOR = 2;

/** What is wrong with a placement of this part: flat, or meant for the file of a part that has its true size here. */
export function troubleOfPlacement(part: Part, placement: readonly number[]): Fault | undefined {
  // A mirrored part has a negative one.
  const factor = Math.cbrt(Math.abs(determinant3(placement)));
  if (!(factor > 0)) return fault('job.usage', { reason: 'The placement would make the part flat.' });
  if (part.madeSha256 === undefined || (factor < MOST_FACTOR && factor > 1 / MOST_FACTOR)) return undefined;
  const reason = `The placement makes ${part.name} ${factor.toPrecision(3)} times as large, and it has its true size in this library already; give one that leads from the part in millimetres, as fit --library tells it.`;
  return fault('job.usage', { reason });
}
