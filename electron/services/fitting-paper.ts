/** Gathers from the library what a fitting sheet says about one making of a form. */
import { fault } from '../../shared-types/faults/index.ts';
import { countText, dayText, some } from '../../shared-types/counts.ts';
import { easeEvidence, linerEvidence, sightEvidence } from '../../shared-types/fitting-evidence.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { FormRevision } from '../../shared-types/records/form.ts';
import type { Making } from '../../shared-types/records/making.ts';
import type { Scan } from '../../shared-types/records/scan.ts';
import { checksOf, evidenceOf } from '../../shared-types/step-evidence.ts';
import { drawnSpansOf } from '../geometry/measure/drawn-spans.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { cutListOf } from '../papers/cut-list.ts';
import type { FittingSheet, SheetChapter, SheetLength, SheetPicture } from '../papers/fitting-sheet.ts';
import type { Library } from '../store/connection.ts';
import { filesOf } from '../store/making-records.ts';
import * as records from '../store/records.ts';
import { paperPicture } from './paper-picture.ts';
import { viewFrom } from './shade-mesh.ts';
import { knownLengths } from './studio/known-lengths.ts';

/** Fine enough that a print at 1:3 has about 200 dots to the inch. */
const PIXELS_PER_MM = 2.8;
const PICTURE_MARGIN_MM = 8;

/** Toward -x and toward -y; `axis` runs across the picture. */
const VIEWS = [
  { view: viewFrom(0, 0), axis: 1 },
  { view: viewFrom(90, 0), axis: 0 },
] as const;

interface Standing {
  readonly frame: string;
  readonly captions: readonly [string, string];
}
const UPRIGHT: Standing = {
  frame: 'x forward, y to the wearer’s left, z up',
  captions: ['From the front', 'From the wearer’s left'],
};
/** By the way a form was stood up, where it is not upright like a head or torso. */
const OTHER_STANDING: Readonly<Record<string, Standing>> = {
  limb: {
    frame: 'x toward thumb or kneecap, z along it toward the trunk',
    captions: ['From thumb or kneecap', 'A quarter round from there'],
  },
  part: { frame: 'as its three points set it', captions: ['Along its first axis', 'Along its second axis'] },
};

const CAUTIONS: readonly string[] = [
  'These are costume parts. They are not protective equipment and do not protect head, eyes, breath or hearing.',
  'Nobody puts a closed part on alone the first time. Agree on a sign for “take it off”, and see that it comes off in seconds.',
  'Sight through an opening is narrow: no stairs, edges, traffic or fire without somebody who guides. Air must reach the mouth; watch for heat, and take breaks.',
  'A hard edge must never lie on bone or throat. What weighs on head or neck is worn for short times first.',
  'Cutting, sanding, gluing and printing: dust, hot tools and solvents need the protection and air that local rules ask for.',
];

/** Everything about one making of a form. O(faces + pixels) for the pictures. */
export function fittingSheetOf(library: Library, revisionId: string): Outcome<FittingSheet> {
  const [revision] = records.allOf(library, 'form_revisions', 'WHERE id = ?', revisionId);
  if (revision === undefined) return failed(fault('store.no-record', { kind: 'form', id: revisionId }));
  const [form] = records.allOf(library, 'forms', 'WHERE id = ?', revision.formId);
  const [wearer] = records.allOf(library, 'wearers', 'WHERE id = ?', form?.wearerId);
  const [scan] = records.allOf(library, 'scans', 'WHERE id = ?', revision.scanId);
  if (form === undefined || wearer === undefined) {
    return failed(fault('store.no-record', { kind: 'wearer of the form', id: revisionId }));
  }
  const mesh = records.readMeshOf(library, revision);
  if (!mesh.ok) return mesh;
  const newest = records.revisionsOf(library, form.id).at(-1);
  const isOld = newest !== undefined && newest.revision > revision.revision;
  const lengths = lengthsOf(library, wearer.id, revision);
  const facts: [string, string][] = [
    ['Wearer', wearer.name],
    ['Agreed to it', consentWords(wearer)],
    ['Form', `${countText(revision.faceCount)} faces, in mm: ${standingOf(revision).frame}`],
    ['Scan', scanWords(scan)],
    ['Program', `Wearwright ${revision.programVersion}`],
    ...(isOld ? ([['Outdated', `There is a newer making, number ${newest.revision}.`]] as [string, string][]) : []),
    ...(wearer.note === undefined ? [] : ([['Note', wearer.note]] as [string, string][])),
  ];
  return done({
    title: form.name,
    under: `Form of ${wearer.name}, making ${revision.revision}, ${dayText(revision.createdAt)}`,
    facts,
    pictures: picturesOf(
      mesh.value,
      revision,
      new Map(lengths.flatMap(({ name, tag }) => (tag === undefined ? [] : [[name, tag]]))),
    ),
    lengths,
    chapters: [
      {
        title: 'How the form was made',
        none: 'No step was kept.',
        entries: revision.steps.map((step) => evidenceOf(step)),
      },
      linersOf(library, revision),
      partsOf(library, revision),
      makingsOf(library, revision),
    ],
    cautions: CAUTIONS,
  });
}

function scanWords(scan: Scan | undefined): string {
  if (scan === undefined) return 'no longer in the library';
  const day = dayText(scan.createdAt);
  return scan.kind === 'sheet'
    ? `none: made from measurements alone, ${day}. What was not measured is guessed.`
    : `${scan.fileName}, of ${day}`;
}

function consentWords({
  consentDate,
  consentNote,
}: {
  consentDate?: string | undefined;
  consentNote?: string | undefined;
}) {
  if (consentDate === undefined) return 'not noted: ask, and write it down';
  return `${dayText(consentDate)}${consentNote === undefined ? '' : `: ${consentNote}`}`;
}

function standingOf({ steps }: FormRevision): Standing {
  const method = steps.find(({ verb }) => verb === 'stand')?.figures['method'];
  return (typeof method === 'string' ? OTHER_STANDING[method] : undefined) ?? UPRIGHT;
}

function picturesOf(mesh: Mesh, revision: FormRevision, tags: ReadonlyMap<string, string>): SheetPicture[] {
  const { min, max } = boundsOf(mesh.positions);
  const heightMm = max[2] - min[2] + 2 * PICTURE_MARGIN_MM;
  const spans = drawnSpansOf(revision);
  return VIEWS.map(({ view, axis }, index) => {
    const widthMm = max[axis] - min[axis] + 2 * PICTURE_MARGIN_MM;
    const picture = paperPicture(mesh, view, { widthMm, heightMm, pixelsPerMm: PIXELS_PER_MM });
    // A length that runs mostly toward the eye would be drawn too short: it belongs on the other picture.
    const across = spans.filter(({ from, to }) => {
      const [side, ahead] = [Math.abs(from[axis] - to[axis]), Math.abs(from[1 - axis] - to[1 - axis])];
      return Math.hypot(side, from[2] - to[2]) > ahead;
    });
    return {
      png: picture.png,
      caption: standingOf(revision).captions[index],
      widthMm: picture.widthMm,
      heightMm: picture.heightMm,
      lengths: across.map(({ name, from, to }) => ({
        tag: tags.get(name) ?? '',
        from: picture.toPicture(from),
        to: picture.toPicture(to),
      })),
    };
  });
}

const ROLE_WORDS: Readonly<Record<string, string>> = { used: 'gave the size', 'held back': 'held back as a check' };

function lengthsOf(library: Library, wearerId: string, revision: FormRevision): SheetLength[] {
  const checks = new Map(checksOf(revision.steps).map((check) => [check.name, check]));
  const known = knownLengths(records.sheetOf(library, wearerId));
  const rows = known.map(({ name, kind, mm, uMm, count, doubt }): SheetLength => {
    const check = checks.get(name);
    checks.delete(name);
    return {
      name,
      kind,
      byHandMm: mm,
      uMm,
      readings: count,
      ...(doubt === undefined ? {} : { doubt: doubt.replace(/\.$/, '') }),
      ...verdictOf(check),
    };
  });
  // Lengths that the making knew and the wearer's sheet does not.
  for (const check of checks.values()) {
    rows.push({ name: check.name, kind: check.kind, byHandMm: check.measuredMm, ...verdictOf(check) });
  }
  const drawn = new Set(drawnSpansOf(revision).map(({ name }) => name));
  let tag = 0;
  return rows.map((row) => (drawn.has(row.name) ? { tag: `${++tag}`, ...row } : row));
}

function verdictOf(check: ReturnType<typeof checksOf>[number] | undefined): Pick<SheetLength, 'onFormMm' | 'verdict'> {
  if (check === undefined) return {};
  const { role, agrees, differenceMm, onFormMm } = check;
  const off = `${differenceMm < 0 ? '−' : '+'}${Math.abs(differenceMm).toFixed(1)} mm`;
  if (role === 'left out') return { onFormMm, verdict: `left out, ${off}` };
  return { onFormMm, verdict: `${ROLE_WORDS[role] ?? role}; ${agrees ? 'agrees' : 'does not agree'}, ${off}` };
}

function linersOf(library: Library, revision: FormRevision): SheetChapter {
  const liners = records.allOf(library, 'liners', 'WHERE form_revision_id = ?', revision.id);
  return {
    title: 'Liners',
    none: 'No liner was made over this making of the form.',
    entries: liners.map((liner) => ({
      title: `For ${liner.foamMm} mm of foam, ${dayText(liner.createdAt)}`,
      ...linerEvidence(liner),
    })),
  };
}

function partsOf(library: Library, revision: FormRevision): SheetChapter {
  const trials = records.allOf(library, 'trials', 'WHERE form_revision_id = ?', revision.id);
  const parts = new Map(records.allOf(library, 'parts').map((part) => [part.id, part]));
  return {
    title: 'Parts tried on',
    none: 'No part was tried on this making of the form.',
    entries: trials.map((trial) => {
      const part = parts.get(trial.partId);
      const seen = trial.figures['sight'] as Readonly<Record<string, unknown>> | undefined;
      const [ease, sight] = [easeEvidence(trial.figures), sightEvidence(seen ?? {})];
      const known =
        part?.knownMm === undefined ? [] : [`Its ${part.knownName ?? 'known length'} is ${part.knownMm} mm.`];
      return {
        title: `${part?.name ?? 'A part no longer in the library'}, ${dayText(trial.createdAt)}`,
        sentences: [...known, ...ease.sentences, ...sight.sentences],
        doubts: [...ease.doubts, ...sight.doubts],
      };
    }),
  };
}

const KIND_WORDS: Readonly<Record<Making['kind'], string>> = {
  pads: 'Pads to cut',
  pattern: 'Pattern to cut',
  pieces: 'Pieces to print',
  gauge: 'Gauge bands to print',
  paper: 'Paper',
};

/** The cut and print list: each making with its files. */
function makingsOf(library: Library, revision: FormRevision): SheetChapter {
  const makings = records.allOf(library, 'makings', "WHERE form_revision_id = ? AND kind <> 'paper'", revision.id);
  return {
    title: 'To cut and to print',
    none: 'Nothing to cut or print was made for this making of the form.',
    entries: makings.map((making) => {
      const files = filesOf(library, making.id);
      return {
        title: `${KIND_WORDS[making.kind]}: ${making.name}, ${dayText(making.createdAt)}`,
        sentences:
          files.length === 0 ? [] : [`${some(files.length, 'file')}: ${files.map(({ name }) => name).join(', ')}.`],
        table: cutListOf(making.figures),
      };
    }),
  };
}
