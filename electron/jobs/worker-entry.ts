/** One thread of the pool: takes an order, runs the registered operation, sends back plain data. Keeps nothing. */
import { parentPort, workerData } from 'node:worker_threads';
import { fault } from '../../shared-types/faults/index.ts';
import { Cancelled } from '../../shared-types/progress.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { writeMesh } from '../formats/index.ts';
import { fromFileOf, runOperation, type InputMesh, type Operation } from '../operations/operation.ts';
import type { FromThread, JobOrder, JobResult, ToThread } from './protocol.ts';
import { readInputBytes, readInputFile } from './read-input.ts';
import { hooksFor, portion } from './run-context.ts';

const port = parentPort;
if (port === null) throw new Error('worker-entry runs only as a worker thread');
const registry = (await import((workerData as { registry: string }).registry)) as { OPERATIONS: readonly Operation[] };

const send = (message: FromThread, transfer: ArrayBuffer[] = []): void => port.postMessage(message, transfer);

port.on('message', ({ order, flag }: ToThread) => {
  try {
    const outcome = work(order, flag);
    if (!outcome.ok) return send({ kind: 'fault', fault: outcome.fault });
    const { mesh, file, files = [] } = outcome.value;
    const arrays = [mesh?.positions, mesh?.triangles, mesh?.colours, file?.bytes, ...files.map(({ bytes }) => bytes)];
    const buffers = new Set(arrays.flatMap((array) => (array === undefined ? [] : [array.buffer as ArrayBuffer])));
    send({ kind: 'done', value: outcome.value, warnings: outcome.warnings }, [...buffers]);
  } catch (error) {
    if (error instanceof Cancelled) send({ kind: 'fault', fault: fault('job.cancelled', {}) });
    else send({ kind: 'threw', account: error instanceof Error ? (error.stack ?? error.message) : String(error) });
  }
});

/** Shares of the progress when files are read and written around the operation. */
const READ_SHARE = 0.15;
const WRITE_SHARE = 0.05;

function work(order: JobOrder, flag: Int32Array<SharedArrayBuffer>): Outcome<JobResult> {
  const operation = registry.OPERATIONS.find(({ specification }) => specification.verb === order.verb);
  if (operation === undefined) return failed(fault('job.usage', { reason: `There is no operation "${order.verb}".` }));
  const hooks = hooksFor(flag, (fraction, phase) => send({ kind: 'progress', fraction, phase }));
  const warnings: Warning[] = [];
  const inputs: InputMesh[] = [];
  const toRead = order.inputs.filter((input) => !('mesh' in input)).length;
  const begin = toRead > 0 ? READ_SHARE : 0;
  const end = order.writeAs === undefined ? 1 : 1 - WRITE_SHARE;
  let read = 0;
  for (const input of order.inputs) {
    if ('mesh' in input) {
      inputs.push(input);
      continue;
    }
    const share = portion(hooks, (begin * read) / toRead, (begin * (read + 1)) / toRead);
    const outcome =
      'path' in input ? readInputFile(input.path, share) : readInputBytes(input.bytes, input.name, input.name, share);
    if (!outcome.ok) return outcome;
    read++;
    inputs.push(outcome.value);
    warnings.push(...outcome.warnings);
  }
  const outcome = runOperation(operation, inputs, order.parameters, portion(hooks, begin, end));
  if (!outcome.ok) return outcome;
  warnings.push(...outcome.warnings);
  const { figures, mesh, matrix, papers } = outcome.value;
  const files = outcome.value.files?.map(({ name, bytes }) => ({ name, bytes: own(bytes) }));
  const told = {
    figures,
    fromFile: fromFileOf(inputs),
    ...(matrix === undefined ? {} : { matrix }),
    ...(files === undefined ? {} : { files }),
    ...(papers === undefined ? {} : { papers }),
  };
  if (mesh === undefined) return done(told, warnings);
  if (order.writeAs === undefined) return done({ ...told, mesh: ownArrays(mesh) }, warnings);
  const written = writeMesh(mesh, order.writeAs);
  if (!written.ok) return written;
  hooks.progress(1, 'write');
  const { bytes, toFile } = written.value;
  return done({ ...told, file: { bytes: own(bytes), toFile } }, [...warnings, ...written.warnings]);
}

/** A view of a larger, shared or wasm buffer is copied, since a transfer would take all of it away. */
function own<T extends Uint8Array | Uint32Array | Float64Array>(view: T): T {
  const whole = view.buffer instanceof ArrayBuffer && view.byteLength === view.buffer.byteLength;
  return whole ? view : (view.slice() as T);
}

function ownArrays(mesh: NonNullable<JobResult['mesh']>): NonNullable<JobResult['mesh']> {
  const { positions, triangles, colours } = mesh;
  return {
    positions: own(positions),
    triangles: own(triangles),
    ...(colours === undefined ? {} : { colours: own(colours) }),
  };
}
