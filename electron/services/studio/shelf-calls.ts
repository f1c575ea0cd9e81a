/** Calls about the shelf: wearers, their sheets and projects, the library's history. */
import type { WearerCard } from '../../../shared-types/contract.ts';
import { linerTold } from '../../../shared-types/liner-words.ts';
import { done, type Outcome } from '../../../shared-types/outcome.ts';
import type { Liner } from '../../../shared-types/records/project.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import type { Wearer } from '../../../shared-types/records/wearer.ts';
import type { Library } from '../../store/connection.ts';
import { historyOf } from '../../store/ledger.ts';
import { splitSide } from '../../../shared-types/measures/index.ts';
import { forgetWearer, planForget } from '../../store/privacy.ts';
import * as records from '../../store/records.ts';
import { usualUncertainty } from '../../store/usual-records.ts';
import * as library from '../library.ts';
import { knownLengths, repeatability } from './known-lengths.ts';
import { byId } from '../by-id.ts';
import { given } from '../given.ts';
import { changed, type Handlers } from './session.ts';

/** Lengths a hang-tag shows, in this order; of limbs, either. */
const ON_THE_TAG = [
  'head circumference',
  'head length',
  'head breadth',
  'chest circumference',
  'waist circumference',
  'biacromial breadth',
  'hand length',
  'forearm circumference',
  'foot length',
  'calf circumference',
];

function cardsOf(file: Library, text: string): WearerCard[] {
  const wanted = text.trim().toLocaleLowerCase();
  const of = <T extends { wearerId: string }>(all: readonly T[]): Map<string, T[]> =>
    Map.groupBy(all, ({ wearerId }) => wearerId);
  const wearers = records.allOf(file, 'wearers').filter(({ name }) => name.toLocaleLowerCase().includes(wanted));
  const scans = of(records.allOf(file, 'scans'));
  const forms = of(records.allOf(file, 'forms'));
  const usual = usualUncertainty(file);
  const tickets = of(records.allOf(file, 'tickets'));
  const sheets = of(standing(records.allOf(file, 'readings')));
  // Only what a card needs: recipes and evidence of hundreds of forms are long.
  const newest = new Map<string, { id: string; at: string }>();
  const rows = file.db
    .prepare('SELECT id, form_id AS formId, created_at AS at FROM form_revisions ORDER BY form_id, revision')
    .all() as { id: string; formId: string; at: string }[];
  for (const { id, formId, at } of rows) newest.set(formId, { id, at });
  return wearers
    .map((wearer) => {
      const { id, name, consentDate } = wearer;
      const [hisScans, hisForms, hisTickets, sheet] = [scans, forms, tickets, sheets].map((map) => map.get(id) ?? []);
      const made = (hisForms as { id: string }[]).flatMap((form) => newest.get(form.id) ?? []);
      const latest = made.toSorted((a, b) => a.at.localeCompare(b.at)).at(-1);
      const moments = [wearer, ...(hisScans as Wearer[]), ...(hisTickets as Wearer[]), ...(sheet as Wearer[])].map(
        ({ createdAt }) => createdAt,
      );
      const known = knownLengths(sheet as Reading[], usual);
      return {
        id,
        name,
        scans: hisScans.length,
        readings: sheet.length,
        forms: hisForms.length,
        tickets: hisTickets.length,
        ...(consentDate === undefined ? {} : { consentDate }),
        lastSeen: [...moments, latest?.at ?? ''].reduce((a, b) => (a > b ? a : b)),
        ...(latest === undefined ? {} : { revisionId: latest.id }),
        sizes: ON_THE_TAG.flatMap((wantedName) => known.find((one) => splitSide(one.name).name === wantedName) ?? []),
      };
    })
    .toSorted((a, b) => b.lastSeen.localeCompare(a.lastSeen) || a.name.localeCompare(b.name));
}

/** Readings neither replaced nor withdrawn. */
function standing(all: readonly Reading[]): Reading[] {
  const replaced = new Set(all.map(({ replacesId }) => replacesId));
  return all.filter(({ id, withdrawn }) => !withdrawn && !replaced.has(id));
}

const only = <T extends { id: string }>(outcome: Outcome<T>): Outcome<{ id: string }> =>
  outcome.ok ? done({ id: outcome.value.id }, outcome.warnings) : outcome;
const listedLiner = ({ parameters, ...liner }: Liner) => ({ ...liner, told: [...linerTold(parameters)] });

export const quietly = (outcome: Outcome<unknown>): Outcome<Record<string, never>> =>
  outcome.ok ? done({}, outcome.warnings) : outcome;

export const shelfCalls: Handlers<
  | 'history.show'
  | 'history.undo'
  | 'history.redo'
  | 'shelf.show'
  | 'project.add'
  | 'project.use'
  | 'project.show'
  | 'wearer.add'
  | 'wearer.edit'
  | 'wearer.show'
  | 'wearer.forgetPlan'
  | 'wearer.forget'
  | 'reading.add'
  | 'reading.withdraw'
  | 'reading.import'
  | 'reading.export'
> = {
  'history.show': (_given, { library: file }) => done(historyOf(file)),
  'history.undo': (_given, session) => {
    const undone = records.undo(session.library);
    return changed(session, undone.ok ? done({ label: undone.value }) : undone);
  },
  'history.redo': (_given, session) => {
    const redone = records.redo(session.library);
    return changed(session, redone.ok ? done({ label: redone.value }) : redone);
  },

  'shelf.show': ({ text }, { library: file }) => {
    const wanted = text.trim().toLocaleLowerCase();
    const used = Map.groupBy(records.allOf(file, 'project_forms'), ({ projectId }) => projectId);
    const projects = records
      .allOf(file, 'projects')
      .filter(({ name }) => name.toLocaleLowerCase().includes(wanted))
      .map((project) => ({ ...project, forms: used.get(project.id)?.length ?? 0 }));
    return done({ wearers: cardsOf(file, text), projects });
  },
  'project.add': (given, session) => changed(session, only(records.addProject(session.library, given))),
  'project.use': ({ projectId, formId }, session) =>
    changed(session, quietly(records.useForm(session.library, projectId, formId))),
  'project.show': ({ id }, { library: file }) => {
    const project = byId(file, 'projects', id, 'project');
    if (!project.ok) return project;
    const used = new Set(records.allOf(file, 'project_forms', 'WHERE project_id = ?', id).map(({ formId }) => formId));
    const names = new Map(records.allOf(file, 'wearers').map((wearer) => [wearer.id, wearer.name]));
    const forms = records.allOf(file, 'forms').filter((form) => used.has(form.id));
    return done({
      project: project.value,
      forms: forms.map((form) => {
        const revision = records.revisionsOf(file, form.id).at(-1);
        const wearerName = names.get(form.wearerId) ?? '';
        return { form, wearerName, ...(revision === undefined ? {} : { revisionId: revision.id }) };
      }),
      liners: records.allOf(file, 'liners', 'WHERE project_id = ?', id).map(listedLiner),
    });
  },

  'wearer.add': (given, session) => changed(session, only(records.addWearer(session.library, given))),
  'wearer.edit': ({ id, ...edits }, session) =>
    changed(session, quietly(records.editWearer(session.library, id, given(edits))), 'library', id),
  'wearer.show': ({ id }, { library: file }) => {
    const wearer = byId(file, 'wearers', id, 'wearer');
    if (!wearer.ok) return wearer;
    const forms = records
      .allOf(file, 'forms', 'WHERE wearer_id = ?', id)
      .map((form) => ({ form, revisions: records.revisionsOf(file, form.id) }));
    const revisions = new Set(forms.flatMap((one) => one.revisions.map((revision) => revision.id)));
    const readings = records.sheetOf(file, id);
    const usual = usualUncertainty(file);
    return done({
      wearer: wearer.value,
      scans: records.allOf(file, 'scans', 'WHERE wearer_id = ?', id).filter(({ kind }) => kind !== 'sheet'),
      tickets: records.allOf(file, 'tickets', 'WHERE wearer_id = ?', id),
      forms,
      liners: records
        .allOf(file, 'liners')
        .filter(({ formRevisionId }) => revisions.has(formRevisionId))
        .map(listedLiner),
      readings,
      known: knownLengths(readings, usual),
      usual,
      repeatability: repeatability(readings),
    });
  },
  'wearer.forgetPlan': ({ id }, { library: file }) => {
    const plan = planForget(file, id);
    if (!plan.ok) return plan;
    const { name, rows, historySteps, copiesHolding, copiesUnread } = plan.value;
    return done({
      name,
      rows: { ...rows },
      historySteps,
      copiesHolding: [...copiesHolding],
      copiesUnread: [...copiesUnread],
    });
  },
  'wearer.forget': ({ id }, session) => changed(session, quietly(forgetWearer(session.library, id))),

  'reading.add': ({ wearerId, ...reading }, session) => {
    const added = records.addReadings(session.library, wearerId, [reading]);
    return changed(session, added.ok ? done({ id: added.value[0].id }) : added, 'library', wearerId);
  },
  'reading.withdraw': ({ wearerId, id }, session) =>
    changed(session, quietly(records.withdrawReading(session.library, wearerId, id)), 'library', wearerId),
  'reading.import': ({ wearerId, csv }, session) => {
    const merged = library.importReadings(session.library, wearerId, new TextEncoder().encode(csv));
    return changed(session, merged.ok ? done({ ...merged.value }) : merged, 'library', wearerId);
  },
  'reading.export': ({ wearerId }, { library: file }) => done({ csv: library.exportReadings(file, wearerId) }),
};
