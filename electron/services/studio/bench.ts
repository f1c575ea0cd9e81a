/**
 * What lies ready while a ticket is worked on: the scan read and mended, kept in memory for the few scans looked at
 * last. All of it can be made again from the scan, so none of it is in the library.
 */
import type { Prepared, ViewMesh } from '../../../shared-types/contract.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../../shared-types/mesh.ts';
import type { mendFigures } from '../../../shared-types/operations/mend.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { Scan } from '../../../shared-types/records/scan.ts';
import type { LengthUnit } from '../../../shared-types/units.ts';
import { IDENTITY, invert, multiply } from '../../geometry/mesh/transform.ts';
import type { JobPool, Watch } from '../../jobs/pool.ts';
import type { InputMesh } from '../../operations/operation.ts';
import type { Library } from '../../store/connection.ts';
import * as records from '../../store/records.ts';

export interface Ready {
  readonly scan: Scan;
  readonly mended: InputMesh;
  /** From the mended mesh's coordinates to the view's: standing by a guess, near the origin, about mm. */
  readonly toView: Matrix4;
  /** How sure the guess is, 0 to 1. */
  readonly confidence: number;
  readonly prepared: Prepared;
}

export type Keep = 'largest' | 'all';

/** Scans kept ready at once: the one worked on, the one before, one more to compare. */
const READY_SCANS = 3;

export class Bench {
  readonly #ready = new Map<string, Ready>();
  readonly #under = new Map<string, Promise<Outcome<Ready>>>();
  readonly #pool: JobPool;

  constructor(pool: JobPool) {
    this.#pool = pool;
  }

  ready(scanId: string, keep: Keep): Ready | undefined {
    return this.#ready.get(`${scanId} ${keep}`);
  }

  /** Read and mend, unless it lies ready or is being done already. */
  async prepare(library: Library, scanId: string, keep: Keep, watch: Watch): Promise<Outcome<Ready>> {
    const key = `${scanId} ${keep}`;
    const there = this.#ready.get(key);
    if (there !== undefined) return done(there);
    const under = this.#under.get(key);
    if (under !== undefined) {
      const outcome = await under;
      // The one who asked first stopped it; whoever asks now did not.
      if (outcome.ok || outcome.fault.code !== 'job.cancelled') return outcome;
    }
    const work = this.#mend(library, scanId, keep, watch);
    this.#under.set(key, work);
    try {
      const outcome = await work;
      if (outcome.ok) {
        this.#ready.set(key, outcome.value);
        for (const old of [...this.#ready.keys()].slice(0, -READY_SCANS)) this.#ready.delete(old);
      }
      return outcome;
    } finally {
      if (this.#under.get(key) === work) this.#under.delete(key);
    }
  }

  async #mend(library: Library, scanId: string, keep: Keep, watch: Watch): Promise<Outcome<Ready>> {
    const found = readScan(library, scanId);
    if (!found.ok) return found;
    const { scan, bytes } = found.value;
    const order = { verb: 'prepare', inputs: [{ bytes, name: scan.fileName }], parameters: { keep } };
    const outcome = await this.#pool.run(order, watch);
    if (!outcome.ok) return outcome;
    const { mesh, figures, fromFile } = outcome.value;
    if (mesh === undefined) throw new Error('prepare made no mesh');
    const { mend, unit, toView, confidence } = figures as {
      mend: import('zod').output<typeof mendFigures>;
      unit: LengthUnit | null;
      toView: Matrix4;
      confidence: number;
    };
    const mended: InputMesh = { mesh, name: scan.fileName, fromFile, ...(unit === null ? {} : { unit }) };
    return done({ scan, mended, toView, confidence, prepared: preparedOf(scan, mend, [...outcome.warnings]) });
  }

  /** The scan as it came, in the same view. */
  async asItCame(library: Library, ready: Ready, watch: Watch): Promise<Outcome<ViewMesh>> {
    const found = readScan(library, ready.scan.id);
    if (!found.ok) return found;
    const { scan, bytes } = found.value;
    const order = { verb: 'intake', inputs: [{ bytes, name: scan.fileName }], parameters: {} };
    const outcome = await this.#pool.run(order, watch);
    if (!outcome.ok) return outcome;
    const { mesh } = outcome.value;
    if (mesh === undefined) throw new Error('intake made no mesh');
    return done(viewOf(mesh, ready.toView, ready.mended.fromFile));
  }
}

export function readScan(library: Library, scanId: string): Outcome<{ scan: Scan; bytes: Uint8Array }> {
  const [scan] = records.allOf(library, 'scans', 'WHERE id = ?', scanId);
  if (scan === undefined) return failed(fault('store.no-record', { kind: 'scan', id: scanId }));
  const bytes = records.readOriginal(library, scan);
  return bytes.ok ? done({ scan, bytes: bytes.value }) : bytes;
}

/** Single precision, by `toView`; `toFile` leads from there to the file's own coordinates. O(vertices). */
export function viewOf(mesh: Mesh, toView: Matrix4 = IDENTITY, fromFile: Matrix4 = IDENTITY): ViewMesh {
  const { positions: p, triangles, colours } = mesh;
  const m = toView;
  const positions = new Float32Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    const [x, y, z] = [p[i], p[i + 1], p[i + 2]];
    for (let k = 0; k < 3; k++) positions[i + k] = m[k * 4] * x + m[k * 4 + 1] * y + m[k * 4 + 2] * z + m[k * 4 + 3];
  }
  return {
    positions,
    triangles: triangles as Uint32Array<ArrayBuffer>,
    ...(colours === undefined ? {} : { colours: colours as Uint8Array<ArrayBuffer> }),
    toFile: [...invert(multiply(toView, fromFile))],
  };
}

function preparedOf(
  scan: Scan,
  mend: import('zod').output<typeof mendFigures>,
  warnings: Prepared['warnings'],
): Prepared {
  const { before, after } = mend;
  return {
    fileName: scan.fileName,
    byteCount: scan.byteCount,
    sha256: scan.originalSha256,
    unitSentence: before.unitGuess.reason,
    facesBefore: before.faces,
    facesAfter: after.faces,
    openEdgesBefore: before.openEdges,
    selfIntersectionsBefore: before.selfIntersections,
    piecesBefore: before.pieces,
    sound: after.watertight && after.selfIntersections === 0,
    dropped: mend.dropped.map(({ faces, widthMm, distanceMm }) => ({ faces, widthMm, distanceMm })),
    holesFilled: mend.filled.length,
    largestHoleMm: Math.max(0, ...mend.filled.map(({ perimeterMm }) => perimeterMm)),
    movedMaxMm: mend.movedMaxMm,
    movedMeanMm: mend.movedMeanMm,
    ...(mend.reskinned === null ? {} : { reskinned: mend.reskinned.reason }),
    assumedMmPerUnit: mend.assumedMmPerUnit,
    assumedBecause: mend.assumedBecause,
    warnings: [...warnings],
  };
}
