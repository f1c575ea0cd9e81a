/** Gathers from the library what a fitting sheet says about one making of a form. */
import { fault } from '../../shared-types/faults/index.ts';
import { countText, dayText, some } from '../../shared-types/counts.ts';
import { easeByRegion, easeEvidence, linerEvidence, sightEvidence } from '../../shared-types/fitting-evidence.ts';
import { hatSize } from '../../shared-types/measures/hat-sizes.ts';
import { regionOfMeasure } from '../../shared-types/measures/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { FormRevision } from '../../shared-types/records/form.ts';
import type { Making } from '../../shared-types/records/making.ts';
import type { Scan } from '../../shared-types/records/scan.ts';
import type { FormPicture } from '../../shared-types/operations/desk-pictures.ts';
import { checksOf, evidenceOf, guessedOf } from '../../shared-types/step-evidence.ts';
import { cutListOf } from '../papers/cut-list.ts';
import type { FittingSheet, SheetChapter, SheetEntry, SheetLength } from '../papers/fitting-sheet.ts';
import type { Column } from '../papers/page-flow.ts';
import type { PerimeterChart } from '../papers/perimeter-chart.ts';
import type { Library } from '../store/connection.ts';
import { filesOf } from '../store/making-records.ts';
import * as records from '../store/records.ts';
import { usualUncertainty } from '../store/usual-records.ts';
import { onSheet, standingOf } from './fitting-pictures.ts';
import { knownLengths } from './studio/known-lengths.ts';

const CAUTIONS: readonly string[] = [
  'These are costume parts. They are not protective equipment and do not protect head, eyes, breath or hearing.',
  'Nobody puts a closed part on alone the first time. Agree on a sign for “take it off”, and see that it comes off in seconds.',
  'Sight through an opening is narrow: no stairs, edges, traffic or fire without somebody who guides. Air must reach the mouth; watch for heat, and take breaks.',
  'A hard edge must never lie on bone or throat. What weighs on head or neck is worn for short times first.',
  'Cutting, sanding, gluing and printing: dust, hot tools and solvents need the protection and air that local rules ask for.',
];

/** Everything about one making of a form, with the pictures drawn of it. */
export function fittingSheetOf(
  library: Library,
  revision: FormRevision,
  pictures: readonly FormPicture[],
): Outcome<FittingSheet> {
  const [form] = records.allOf(library, 'forms', 'WHERE id = ?', revision.formId);
  const [wearer] = records.allOf(library, 'wearers', 'WHERE id = ?', form?.wearerId);
  const [scan] = records.allOf(library, 'scans', 'WHERE id = ?', revision.scanId);
  if (form === undefined || wearer === undefined) {
    return failed(fault('store.no-record', { kind: 'wearer of the form', id: revision.id }));
  }
  const newest = records.revisionsOf(library, form.id).at(-1);
  const isOld = newest !== undefined && newest.revision > revision.revision;
  const names = new Set(pictures.flatMap(({ spans, tapes }) => [...spans, ...tapes].map(({ name }) => name)));
  const lengths = numbered(lengthsOf(library, wearer.id, revision), names);
  const tags = new Map(lengths.map(({ name, tag = '' }) => [name, tag]));
  const standing = standingOf(revision);
  const facts: [string, string][] = [
    ['Wearer', wearer.name],
    ['Agreed to it', consentWords(wearer)],
    ['Form', `${countText(revision.faceCount)} faces, in mm: ${standing.frame}`],
    ['Scan', scanWords(scan)],
    ...hatFacts(lengths),
    ['Program', `Wearwright ${revision.programVersion}`],
    ...(isOld ? ([['Outdated', `There is a newer making, number ${newest.revision}.`]] as [string, string][]) : []),
    ...(wearer.note === undefined ? [] : ([['Note', wearer.note]] as [string, string][])),
  ];
  return done({
    title: form.name,
    under: `Form of ${wearer.name}, making ${revision.revision}, ${dayText(revision.createdAt)}`,
    facts,
    pictures: onSheet(pictures, standing, tags),
    lengths,
    chapters: [
      {
        title: 'How the form was made',
        none: 'No step was kept.',
        entries: [...revision.steps.map((step) => evidenceOf(step)), ...guessesOf(revision)],
      },
      linersOf(library, revision),
      partsOf(library, revision),
      makingsOf(library, revision),
    ],
    cautions: CAUTIONS,
  });
}

/** Of a form without a scan: what nobody read, and how far the person may differ. */
function guessesOf({ steps }: FormRevision): SheetEntry[] {
  const rows = guessedOf(steps).map(({ name, onFormMm, within95Mm, why }) => [
    name,
    `${onFormMm.toFixed(1)} mm`,
    `± ${within95Mm.toFixed(0)} mm`,
    '',
    why,
  ]);
  if (rows.length === 0) return [];
  return [{ title: 'Guessed', sentences: [], doubts: ['Nobody read these.'], table: { columns: GUESS_COLUMNS, rows } }];
}

const GUESS_COLUMNS: readonly Column[] = [
  { head: 'Length', share: 4 },
  { head: 'On the form', share: 2.4, align: 'right' },
  { head: '95 of 100 within', share: 2.8, align: 'right' },
  { head: '', share: 0.4 },
  { head: 'Because', share: 5 },
];

function scanWords(scan: Scan | undefined): string {
  if (scan === undefined) return 'no longer in the library';
  const day = dayText(scan.createdAt);
  return scan.kind === 'sheet'
    ? `none: made from measurements alone, ${day}. What was not measured is guessed.`
    : `${scan.fileName}, of ${day}`;
}

/** A size to order by, where the head's girth is known. */
function hatFacts(lengths: readonly SheetLength[]): [string, string][] {
  const girth = lengths.find(({ name }) => name === 'head circumference')?.byHandMm;
  if (girth === undefined) return [];
  const { cm, us, uk, letter } = hatSize(girth);
  const letters = letter === undefined ? '' : `, ${letter} with most makers`;
  return [['Hat size', `${cm} cm, UK ${uk}, US ${us}${letters}`]];
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

const ROLE_WORDS: Readonly<Record<string, string>> = { used: 'gave the size', 'held back': 'held back as a check' };

function lengthsOf(library: Library, wearerId: string, revision: FormRevision): SheetLength[] {
  const checks = new Map(checksOf(revision.steps).map((check) => [check.name, check]));
  const standing = revision.recipe['region'] ?? 'head';
  // A wearer's sheet holds all of their body; here stands what concerns this part of it.
  const known = knownLengths(records.sheetOf(library, wearerId), usualUncertainty(library)).filter(({ name }) => {
    const region = regionOfMeasure(name);
    return checks.has(name) || region === undefined || region.standing === standing;
  });
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
  return rows;
}

/** Those that are on the pictures get numbers, from 1. */
function numbered(lengths: readonly SheetLength[], drawn: ReadonlySet<string>): SheetLength[] {
  let tag = 0;
  return lengths.map((length) => (drawn.has(length.name) ? { tag: `${++tag}`, ...length } : length));
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

/** What each eye sees through the part, as it was kept with the trial. */
function chartsOf(seen: Readonly<Record<string, unknown>>): PerimeterChart[] {
  return (['left', 'right'] as const).flatMap((side) => {
    const { clearDeg, naturalDeg } = (seen[side] ?? {}) as Readonly<Record<string, unknown>>;
    if (!isDegrees(clearDeg) || !isDegrees(naturalDeg)) return [];
    const caption = `What the ${side} eye sees; grey: hidden by the part`;
    return [{ caption, clearDeg, naturalDeg }];
  });
}

const isDegrees = (value: unknown): value is number[] =>
  Array.isArray(value) && value.length > 2 && value.every((one) => Number.isFinite(one));

const EASE_COLUMNS: readonly Column[] = [
  { head: 'Ease at', share: 4 },
  { head: 'Least', share: 2, align: 'right' },
  { head: 'Mean', share: 2, align: 'right' },
];

function partsOf(library: Library, revision: FormRevision): SheetChapter {
  // The newest trial of each part; those of the company's table are quick ones.
  const trials = records
    .allOf(library, 'trials', 'WHERE form_revision_id = ?', revision.id)
    .filter(({ figures }) => figures['company'] === undefined);
  const newest = new Map(trials.map((trial) => [trial.partId, trial]));
  const parts = new Map(records.allOf(library, 'parts').map((part) => [part.id, part]));
  return {
    title: 'Parts tried on',
    none: 'No part was tried on this making of the form.',
    entries: [...newest.values()].flatMap((trial): SheetEntry[] => {
      const part = parts.get(trial.partId);
      const name = part?.name ?? 'A part no longer in the library';
      const { fit = trial.figures, sight } = trial.figures as Record<string, Readonly<Record<string, unknown>>>;
      const { sentences, doubts } = easeEvidence(fit);
      const known =
        part?.knownMm === undefined ? [] : [`Its ${part.knownName ?? 'known length'} is ${part.knownMm} mm.`];
      const ease = {
        title: `${name}, ${dayText(trial.createdAt)}`,
        sentences: [...known, ...sentences],
        doubts,
        table: { columns: EASE_COLUMNS, rows: easeByRegion(fit) },
      };
      if (sight === undefined) return [ease];
      return [ease, { title: `Sight and breath in it: ${name}`, ...sightEvidence(sight), charts: chartsOf(sight) }];
    }),
  };
}

const KIND_WORDS: Readonly<Record<Making['kind'], string>> = {
  pads: 'Pads to cut',
  pattern: 'Pattern to cut',
  pieces: 'Pieces to print',
  gauge: 'Gauge bands to print',
  shell: 'Shell to print',
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
