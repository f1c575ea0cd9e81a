import type { Mesh } from '../../shared-types/mesh.ts';
import type { Warning } from '../../shared-types/outcome.ts';
import { DOUBLED_SHARE, doubledShare } from '../geometry/measure/doubled.ts';

/** A warning when the scan shows the body twice, else none; `mmPerUnit` as far as it is known. */
export function doubledWarnings(scan: Mesh, mmPerUnit: number, tick?: () => void): Warning[] {
  const { share, gap } = doubledShare(scan, tick);
  if (share < DOUBLED_SHARE) return [];
  const percent = (100 * share).toFixed(0);
  return [
    {
      code: 'scan.doubled',
      sentence: `Over ${percent} % of the scan a second surface lies about ${(gap * mmPerUnit).toFixed(1)} mm from the first, as when the wearer moved between two rounds of pictures. Which of them is right nobody can tell, so no size is sure; make the scan again from the pictures of one round.`,
    },
  ];
}
