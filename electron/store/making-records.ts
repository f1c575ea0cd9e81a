/** Stock, fittings and makings: each function is one transaction and one step of undo. */
import { randomUUID } from 'node:crypto';
import type { Outcome } from '../../shared-types/outcome.ts';
import type { Fitting, Making, MakingFile, Stock } from '../../shared-types/records/making.ts';
import type { Plan, PlanSubject } from '../../shared-types/records/plan.ts';
import type { Part } from '../../shared-types/records/project.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { packBlob, readBlob, storeBlob } from './blobs.ts';
import type { Library } from './connection.ts';
import { change, readRecord } from './ledger.ts';
import { encodeMesh } from './meshes.ts';
import { allOf, stamp, type New } from './records.ts';
import { columnOf } from './tables.ts';
import { attempt } from './trouble.ts';

export function addStock(library: Library, stock: New<Stock>): Outcome<Stock> {
  return attempt(library.path, () =>
    change(library, 'add a foam to the stock', (w) => w.insert('stock', { ...stamp(library), ...stock })),
  );
}

export function editStock(library: Library, id: string, edits: Partial<New<Stock>>): Outcome<Stock> {
  return attempt(library.path, () =>
    change(library, 'edit a foam of the stock', (w) => {
      const next = { ...readRecord(library, 'stock', id), ...edits };
      w.update('stock', next);
      return next;
    }),
  );
}

export function dropStock(library: Library, id: string): Outcome<void> {
  return attempt(library.path, () => change(library, 'take a foam off the stock', (w) => w.remove('stock', id)));
}

/** What was decided so that a part can be used: its recipe, the sized mesh it gives, and the figures of that. */
export function finishPart(
  library: Library,
  id: string,
  made: { recipe: Record<string, unknown>; figures: Record<string, unknown>; mesh: Mesh },
): Outcome<Part> {
  return attempt(library.path, () => {
    const { mesh, recipe, figures } = made;
    const blob = packBlob(encodeMesh(mesh));
    return change(library, 'make a part ready', (w) => {
      const next = { ...readRecord(library, 'parts', id), recipe, figures, madeSha256: storeBlob(library, blob) };
      w.update('parts', next);
      return next;
    });
  });
}

export function editPart(library: Library, id: string, edits: Partial<Pick<Part, 'name' | 'projectId'>>) {
  return attempt(library.path, () =>
    change(library, 'edit a part', (w) => {
      const next = { ...readRecord(library, 'parts', id), ...edits };
      w.update('parts', next);
      return next;
    }),
  );
}

export function addFitting(library: Library, fitting: New<Fitting>): Outcome<Fitting> {
  return attempt(library.path, () =>
    change(library, 'start a fitting', (w) => w.insert('fittings', { ...stamp(library), ...fitting })),
  );
}

/** Change what has been decided; `label` says in words what undo would take back. */
export function editFitting(
  library: Library,
  id: string,
  edits: Partial<Pick<Fitting, 'name' | 'draft' | 'partId' | 'projectId'>>,
  label: string,
): Outcome<Fitting> {
  return attempt(library.path, () =>
    change(library, label, (w) => {
      const next = { ...readRecord(library, 'fittings', id), ...edits };
      w.update('fittings', next);
      return next;
    }),
  );
}

/** The plan of a kind about one form, liner, part or fitting. */
export function planOf(library: Library, kind: Plan['kind'], subject: PlanSubject): Plan | undefined {
  const [[field, id] = []] = Object.entries(subject);
  if (field === undefined || id === undefined) return undefined;
  return allOf(library, 'plans', `WHERE kind = ? AND ${columnOf(field)} = ?`, kind, id).at(0);
}

/** Keep a plan in place of what was planned before; `label` says in words what undo would take back. */
export function keepPlan(
  library: Library,
  plan: Pick<Plan, 'kind' | 'draft'> & { readonly subject: PlanSubject },
  label: string,
): Outcome<Plan> {
  return attempt(library.path, () =>
    change(library, label, (w) => {
      const { kind, subject, draft } = plan;
      const kept = planOf(library, kind, subject);
      if (kept === undefined) return w.insert('plans', { ...stamp(library), kind, ...subject, draft });
      const next = { ...kept, draft };
      w.update('plans', next);
      return next;
    }),
  );
}

export interface NewMaking extends New<Making> {
  readonly files: readonly { readonly name: string; readonly bytes: Uint8Array }[];
}

export function addMaking(
  library: Library,
  made: NewMaking,
): Outcome<{ readonly making: Making; readonly files: readonly MakingFile[] }> {
  return attempt(library.path, () => {
    const { files, ...rest } = made;
    const packed = files.map(({ name, bytes }) => ({ name, blob: packBlob(bytes) }));
    return change(library, `keep ${WORDS[rest.kind]}`, (w) => {
      const making = w.insert('makings', { ...stamp(library), ...rest });
      const kept = packed.map(({ name, blob }) =>
        w.insert('making_files', {
          id: randomUUID(),
          makingId: making.id,
          name,
          byteCount: blob.byteCount,
          sha256: storeBlob(library, blob),
        }),
      );
      return { making, files: kept };
    });
  });
}

const WORDS: Readonly<Record<Making['kind'], string>> = {
  pads: 'pads',
  pattern: 'a pattern',
  pieces: 'pieces',
  gauge: 'gauge bands',
  shell: 'a shell',
  paper: 'a paper',
};

export const filesOf = (library: Library, makingId: string): MakingFile[] =>
  allOf(library, 'making_files', 'WHERE making_id = ?', makingId);

/** The bytes of one kept file, verified. */
export function readMakingFile(library: Library, id: string): Outcome<{ name: string; bytes: Uint8Array }> {
  return attempt(library.path, () => {
    const { name, sha256 } = readRecord(library, 'making_files', id);
    return { name, bytes: readBlob(library, sha256) };
  });
}

/** Take a making off the shelf with its files; undo brings it back. */
export function dropMaking(library: Library, id: string): Outcome<void> {
  return attempt(library.path, () =>
    change(library, 'throw a making away', (w) => {
      for (const file of filesOf(library, id)) w.remove('making_files', file.id);
      w.remove('makings', id);
    }),
  );
}
