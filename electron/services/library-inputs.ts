/**
 * A mesh of the library by its name, as an operation takes it, with what the library already knows that the operation
 * may ask for: landmarks, readings, planes, the recipe. Points come in the coordinates of the mesh given.
 */
import type { MakingSource } from '../../shared-types/calls/makings.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import { complaintOf, placeOf } from '../../shared-types/operations/complaint.ts';
import { sheetOfStock } from '../../shared-types/operations/pad.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { FormRevision } from '../../shared-types/records/form.ts';
import { recipeSchema, type Recipe } from '../../shared-types/recipe.ts';
import type { Scan } from '../../shared-types/records/scan.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import type { JobInput } from '../jobs/protocol.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import { readingSheetOf } from './block-form.ts';
import { given } from './given.ts';
import { fittingOf, wornPlacement } from './fitting.ts';
import { meshInput, withPresentReadings } from './making.ts';
import { partInput } from './part-ready.ts';

export const MESH_KINDS = ['form', 'part', 'scan', 'liner'] as const;
export type MeshKind = (typeof MESH_KINDS)[number];

export interface LibraryMesh {
  readonly kind: MeshKind;
  /** Of the form, part, scan or liner. */
  readonly id: string;
  readonly name: string;
  readonly revision?: number;
  /** Of a form: its newest making. */
  readonly revisionId?: string;
  readonly wearerId?: string;
  /** Of a part: it stands in its true size, in mm. */
  readonly isReady?: boolean;
  /** Of a scan: the form last made from it. */
  readonly formId?: string;
  /** Parameters by the operations' names for them, where the library knows them. */
  readonly known: Readonly<Record<string, unknown>>;
  /** The mesh itself, read when it is needed. */
  readonly read: () => Outcome<JobInput>;
}

/** A word as typed: "form:NAME" and the like, or a bare name, which is looked for among forms, parts and wearers. */
export function findMesh(library: Library, word: string): Outcome<LibraryMesh> {
  const colon = word.indexOf(':');
  const kind = MESH_KINDS.find((one) => one === word.slice(0, colon));
  if (kind !== undefined) return FINDERS[kind](library, word.slice(colon + 1));
  for (const finder of [FINDERS.form, FINDERS.part, FINDERS.scan]) {
    const found = finder(library, word);
    if (found.ok || found.fault.code !== 'store.no-record') return found;
  }
  return failed(fault('store.no-record', { kind: 'form, part or wearer', id: word }));
}

const FINDERS: Readonly<Record<MeshKind, (library: Library, text: string) => Outcome<LibraryMesh>>> = {
  form: (library, text) => {
    const form = records.findOne(library, 'forms', text);
    if (!form.ok) return form;
    const { id, name, wearerId } = form.value;
    const revision = records.revisionsOf(library, id).at(-1);
    if (revision === undefined) return failed(fault('store.no-record', { kind: 'making of the form', id: name }));
    const read = (): Outcome<JobInput> => {
      const mesh = records.readMeshOf(library, revision);
      return mesh.ok ? done(meshInput(mesh.value, name)) : mesh;
    };
    const onForm = knownOnForm(library, name, wearerId, revision);
    if (!onForm.ok) return onForm;
    const known = { ...onForm.value, sheet: readingSheetOf(library, wearerId) };
    const { revision: making, id: revisionId } = revision;
    return done({ kind: 'form', id, name, revision: making, revisionId, wearerId, known, read });
  },
  part: (library, text) => {
    const part = records.findOne(library, 'parts', text);
    if (!part.ok) return part;
    const { id, name, madeSha256 } = part.value;
    const read = (): Outcome<JobInput> => partInput(library, id);
    return done({ kind: 'part', id, name, isReady: madeSha256 !== undefined, known: {}, read });
  },
  scan: (library, text) => {
    const found = findScan(library, text);
    if (!found.ok) return found;
    const { id, fileName, wearerId } = found.value;
    const read = (): Outcome<JobInput> => {
      const bytes = records.readOriginal(library, found.value);
      return bytes.ok ? done({ bytes: bytes.value, name: fileName }) : bytes;
    };
    const last = records.allOf(library, 'form_revisions', 'WHERE scan_id = ?', id).at(-1);
    const known = knownOnScan(library, found.value, last);
    if (!known.ok) return known;
    const made = last === undefined ? {} : { formId: last.formId };
    return done({ kind: 'scan', id, name: fileName, wearerId, known: known.value, read, ...made });
  },
  liner: (library, text) => {
    const form = records.findOne(library, 'forms', text);
    if (!form.ok) return form;
    const { name, wearerId } = form.value;
    const revisions = records.revisionsOf(library, form.value.id).map((one) => one.id);
    const liner = records.allOf(library, 'liners').findLast((one) => revisions.includes(one.formRevisionId));
    if (liner === undefined) return failed(fault('store.no-record', { kind: 'liner over the form', id: name }));
    const read = (): Outcome<JobInput> => {
      const mesh = records.readMeshOf(library, liner);
      return mesh.ok ? done(meshInput(mesh.value, name)) : mesh;
    };
    return done({ kind: 'liner', id: liner.id, name: `${liner.foamMm} mm over ${name}`, wearerId, known: {}, read });
  },
};

/** What the library knows of meshes taken together: how the part is worn on the form, and the foam to pad it with. */
export function knownTogether(
  library: Library,
  verb: string,
  [part, form]: readonly LibraryMesh[],
): Readonly<Record<string, unknown>> {
  const isPair = part?.kind === 'part' && form?.kind === 'form';
  const placement = isPair ? wornPlacement(library, part.id, form.id) : undefined;
  if (verb === 'sight') return placement === undefined ? {} : { placement: { placement } };
  if (verb !== 'pad') return {};
  const stock = records.allOf(library, 'stock').map(sheetOfStock);
  return {
    ...(stock.length === 0 ? {} : { stock: { stock } }),
    ...(placement === undefined ? {} : { place: { matrix: placement } }),
  };
}

/** What is made from these meshes: of which part, form or liner, for which fitting and project. */
export function sourceOfMeshes(
  library: Library,
  meshes: readonly LibraryMesh[],
  projectName: string | undefined,
): Outcome<MakingSource> {
  const idOf = (kind: MeshKind): string | undefined => meshes.find((mesh) => mesh.kind === kind)?.id;
  const [partId, formId, linerId] = [idOf('part'), idOf('form'), idOf('liner')];
  const formRevisionId = meshes.find(({ kind }) => kind === 'form')?.revisionId;
  const fitting =
    partId === undefined || formId === undefined ? undefined : fittingOf(library, partId, formId)?.fitting;
  let projectId = fitting?.projectId;
  if (projectName !== undefined) {
    const project = records.findOne(library, 'projects', projectName);
    if (!project.ok) return project;
    projectId = project.value.id;
  }
  projectId ??= records.allOf(library, 'parts', 'WHERE id = ?', partId ?? '').at(0)?.projectId;
  projectId ??= records.allOf(library, 'liners', 'WHERE id = ?', linerId ?? '').at(0)?.projectId;
  return done(given({ projectId, fittingId: fitting?.id, formRevisionId, linerId, partId }));
}

/** A scan by its id, its file's name, or its wearer: then the newest. */
function findScan(library: Library, text: string): Outcome<Scan> {
  const scans = records.allOf(library, 'scans').filter(({ kind }) => kind !== 'sheet');
  const own = scans.filter((scan) => scan.id === text || (text.length >= 6 && scan.id.startsWith(text)));
  const named = own.length > 0 ? own : scans.filter((scan) => scan.fileName === text);
  if (named.length === 1) return done(named[0]);
  if (named.length > 1) return failed(fault('store.not-one', { kind: 'scan', text, count: named.length }));
  const wearer = records.findOne(library, 'wearers', text);
  if (!wearer.ok) return wearer;
  const newest = scans.findLast((scan) => scan.wearerId === wearer.value.id);
  return newest === undefined
    ? failed(fault('store.no-record', { kind: 'scan of', id: wearer.value.name }))
    : done(newest);
}

/** The recipe kept with a form's making, with what the wearer's sheet says now. */
function recipeNow(library: Library, name: string, wearerId: string, kept: unknown): Outcome<Recipe> {
  const parsed = recipeSchema.safeParse(kept);
  if (parsed.success) {
    const now = withPresentReadings(library, wearerId, parsed.data);
    return done(now.recipe, now.warnings);
  }
  const { path, sentence } = complaintOf(parsed.error);
  return failed(fault('store.unreadable-recipe', { name, place: placeOf(path), reason: sentence.slice(0, -1) }));
}

type Known = Outcome<Record<string, unknown>>;

function knownOnScan(library: Library, scan: Scan, last: FormRevision | undefined): Known {
  const landmarks = Object.fromEntries(
    records.allOf(library, 'landmarks', 'WHERE scan_id = ?', scan.id).map(({ name, point }) => [name, point]),
  );
  const some = Object.keys(landmarks).length > 0 ? { landmarks } : {};
  if (last === undefined) return done(some);
  const now = recipeNow(library, scan.fileName, scan.wearerId, last.recipe);
  if (!now.ok) return now;
  const recipe = now.value;
  const { spans, girths, arcs = [], levels, trim } = recipe;
  const told = levels === undefined ? {} : { levels, landmarks: { ...recipe.landmarks, ...landmarks } };
  const count = spans.length + girths.length + arcs.length + (levels?.length ?? 0);
  const known = {
    ...some,
    recipe: { ...recipe, ...some },
    ...(count > 0 ? { spans: { spans, girths, arcs, ...told } } : {}),
    ...(trim.length > 0 ? { planes: trim } : {}),
  };
  return done(known, now.warnings);
}

function knownOnForm(library: Library, name: string, wearerId: string, revision: FormRevision): Known {
  const way = revision.steps.find((step) => step.verb === 'form')?.figures['matrix'] as Matrix4 | undefined;
  if (way === undefined) return done({});
  const now = recipeNow(library, name, wearerId, revision.recipe);
  if (!now.ok) return now;
  const recipe = now.value;
  const move = (at: readonly number[]): number[] => [...transformPoint(way, at as unknown as Vec3)];
  const spans = recipe.spans.map((span) => ({ ...span, from: move(span.from), to: move(span.to) }));
  const girths = recipe.girths.map((girth) => ({ ...girth, through: girth.through.map(move) }));
  const arcs = (recipe.arcs ?? []).map((arc) => ({ ...arc, along: arc.along.map(move) }));
  const landmarks = Object.fromEntries(Object.entries(recipe.landmarks).map(([name, at]) => [name, move(at)]));
  const told = recipe.levels === undefined ? {} : { levels: recipe.levels, landmarks };
  const count = spans.length + girths.length + arcs.length + (recipe.levels?.length ?? 0);
  return done({
    landmarks,
    ...(count > 0 ? { spans: { spans, girths, arcs, ...told } } : {}),
    recipe,
    way: { matrix: way },
  });
}
