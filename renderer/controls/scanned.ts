/** Which part of the body a scan is of. Pure. */
import type { RegionName, Side } from '../../shared-types/measures/index.ts';

export interface Scanned {
  readonly region: RegionName;
  readonly side?: Side | undefined;
}

/** What whoever named the file most likely scanned; shown to be put right. */
export function scannedByName(fileName: string): Scanned {
  const words = fileName.toLowerCase().split(/[^a-z]+/);
  const has = (...some: readonly string[]): boolean => words.some((word) => some.includes(word));
  if (has('torso', 'chest', 'bust', 'trunk')) return { region: 'torso' };
  const side = has('left') ? 'left' : 'right';
  if (has('arm', 'forearm', 'hand', 'wrist')) return { region: 'arm', side };
  if (has('leg', 'foot', 'calf', 'shin')) return { region: 'leg', side };
  return { region: 'head' };
}
