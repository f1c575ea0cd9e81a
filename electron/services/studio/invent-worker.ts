/** A thread that invents one scanned wearer: a second or two of work that no window should wait for. */
import { parentPort, workerData } from 'node:worker_threads';
import type { Recipe } from '../../../shared-types/recipe.ts';
import { writeMesh } from '../../formats/index.ts';
import { transformPoint } from '../../geometry/mesh/transform.ts';
import { scanWearer, type InventedWearer } from '../../invented/production.ts';

export interface InventOrder {
  readonly wearer: InventedWearer;
  readonly fileName: string;
}

export interface InventedScan {
  readonly bytes: Uint8Array;
  readonly recipe: Recipe;
  /** In the scan file's coordinates. */
  readonly landmarks: Readonly<Record<string, [number, number, number]>>;
}

const { wearer, fileName } = workerData as InventOrder;
const { head, scan, recipe } = scanWearer(wearer);
const written = writeMesh(scan.mesh, fileName);
if (!written.ok) throw new Error(`${fileName} could not be written`);
const { bytes, toFile } = written.value;
const brow = head.girths.find(({ name }) => name === 'head circumference')?.through[0];
const points = { ...head.landmarks, ...(brow === undefined ? {} : { brow }) };
const landmarks = Object.fromEntries(
  Object.entries(points).map(([name, point]) => {
    const [x, y, z] = transformPoint(toFile, transformPoint(scan.truth.formToScan, point));
    return [name, [x, y, z] as [number, number, number]];
  }),
);
parentPort?.postMessage({ bytes, recipe, landmarks } satisfies InventedScan);
