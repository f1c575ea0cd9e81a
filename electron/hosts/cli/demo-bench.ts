/** What the parts of the demo share: where files go, how jobs are run, how sizes are written. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { crc32, deflateRawSync } from 'node:zlib';
import { fault, type Fault } from '../../../shared-types/faults/index.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { Outcome } from '../../../shared-types/outcome.ts';
import type { Project } from '../../../shared-types/records/project.ts';
import { writeMesh } from '../../formats/index.ts';
import type { JobResult } from '../../jobs/protocol.ts';
import type { MadeFile } from '../../operations/operation.ts';
import type * as library from '../../services/library.ts';
import type { Making } from '../../services/making.ts';
import { writeWhole } from './output.ts';

/** The library being filled. */
export interface Shelf {
  readonly library: library.Library;
  readonly project: Project;
  readonly forms: { readonly wearer: string; readonly formId: string }[];
}

export interface Bench {
  readonly folder: string;
  readonly shelf: Shelf | undefined;
  /** Run a verb on files of the folder; what it makes is saved as `output`, or in a folder of that name. */
  run(
    verb: string,
    input: string | readonly string[],
    parameters: unknown,
    output?: string,
  ): Promise<Outcome<Ran & { readonly made: readonly MadeFile[] }>>;
  /** The same job on a scan or form that stands on the shelf. */
  onShelf<T>(verb: string, work: (making: Making) => Promise<Outcome<T>>): Promise<Outcome<T>>;
  readonly say: (sentence: string) => void;
}

export type Ran = Pick<JobResult, 'figures' | 'matrix'>;

/** A stop inside a chain of steps; carries the fault to the one place that tells it. */
export class Stop extends Error {
  readonly fault: Fault;
  constructor(trouble: Fault) {
    super(trouble.code);
    this.fault = trouble;
  }
}

export function got<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Stop(outcome.fault);
  return outcome.value;
}

export function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    const { code = 'unknown reason' } = error as NodeJS.ErrnoException;
    throw new Stop(fault('file.unwritable', { path: folder, reason: code }));
  }
}

export function save(folder: string, name: string, contents: string | Uint8Array): void {
  const bytes = typeof contents === 'string' ? new TextEncoder().encode(contents) : contents;
  got(writeWhole(join(folder, name), bytes));
}

/** A zip of one deflated file (APPNOTE 6.3: local header, data, central directory, end record). */
export function zipOf(name: string, contents: Uint8Array): Uint8Array {
  const packed = deflateRawSync(contents);
  const title = Buffer.from(name);
  const shared = Buffer.alloc(26);
  shared.writeUInt16LE(20, 0);
  shared.writeUInt16LE(8, 4);
  shared.writeUInt16LE(0x21, 8);
  shared.writeUInt32LE(crc32(contents), 10);
  shared.writeUInt32LE(packed.length, 14);
  shared.writeUInt32LE(contents.length, 18);
  shared.writeUInt16LE(title.length, 22);
  const local = Buffer.concat([Buffer.from('PK\x03\x04', 'latin1'), shared, title, packed]);
  const central = Buffer.concat([Buffer.from('PK\x01\x02\x14\x00', 'latin1'), shared, Buffer.alloc(14), title]);
  const end = Buffer.alloc(22);
  end.write('PK\x05\x06', 'latin1');
  end.writeUInt16LE(1, 8);
  end.writeUInt16LE(1, 10);
  end.writeUInt32LE(central.length, 12);
  end.writeUInt32LE(local.length, 16);
  return Buffer.concat([local, central, end]);
}

export function saveMesh(folder: string, name: string, mesh: Mesh): void {
  if (!name.endsWith('.zip')) return save(folder, name, got(writeMesh(mesh, name)).bytes);
  const inside = name.replace(/\.zip$/, '.obj');
  save(folder, name, zipOf(inside, got(writeMesh(mesh, inside)).bytes));
}

export const mm = (value: number, decimals = 1): string => `${value.toFixed(decimals)} mm`;
export const count = (value: number): string => value.toLocaleString('en');
