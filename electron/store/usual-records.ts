/** What readings are worth in this library where nobody said. */
import type { Outcome } from '../../shared-types/outcome.ts';
import { READING_UNCERTAINTY_MM } from '../../shared-types/tolerances.ts';
import { SURE_KINDS, type SureKind, type UsualUncertainty } from '../../shared-types/usual-uncertainty.ts';
import type { Library } from './connection.ts';
import { change } from './ledger.ts';
import { allOf, stamp } from './records.ts';
import { attempt } from './trouble.ts';

/** Every kind: as set here, else the program's own. */
export function usualUncertainty(library: Library): UsualUncertainty {
  const set = allOf(library, 'usual_uncertainties').map(({ kind, uMm }) => [kind, uMm] as const);
  return { ...READING_UNCERTAINTY_MM, ...Object.fromEntries(set) };
}

/** Set kinds to so many mm; the program's own value, or none, takes a kind back to that. One step of history. */
export function setUsual(
  library: Library,
  wanted: Readonly<Partial<Record<SureKind, number | undefined>>>,
  label = 'set how sure readings are',
): Outcome<void> {
  return attempt(library.path, () =>
    change(library, label, (writer) => {
      const there = new Map(allOf(library, 'usual_uncertainties').map((row) => [row.kind, row]));
      for (const kind of SURE_KINDS.filter((one) => one in wanted)) {
        const row = there.get(kind);
        const uMm = wanted[kind] ?? READING_UNCERTAINTY_MM[kind];
        const isOwn = uMm === READING_UNCERTAINTY_MM[kind];
        if (row === undefined && !isOwn) writer.insert('usual_uncertainties', { ...stamp(library), kind, uMm });
        else if (row !== undefined && isOwn) writer.remove('usual_uncertainties', row.id);
        else if (row !== undefined) writer.update('usual_uncertainties', { ...row, uMm });
      }
    }),
  );
}

/** Every kind back to the program's own value. */
export const resetUsual = (library: Library): Outcome<void> =>
  setUsual(library, Object.fromEntries(SURE_KINDS.map((kind) => [kind, undefined])), 'take back how sure readings are');
