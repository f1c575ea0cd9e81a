import { wearersAndScans } from './0001-wearers-and-scans.ts';
import { formsAndProjects } from './0002-forms-and-projects.ts';
import { journalAndJobs } from './0003-journal-and-jobs.ts';
import { lock } from './0004-lock.ts';
import { tickets } from './0005-tickets.ts';
import { fittingsAndMakings } from './0006-fittings-and-makings.ts';
import { plans } from './0007-plans.ts';
import { usualUncertainties } from './0008-usual-uncertainties.ts';
import { fillPlans } from './0009-fill-plans.ts';
import { shells } from './0010-shells.ts';

/** One step of the library's build. Never edited once released: a change is a new migration. */
export interface Migration {
  readonly number: number;
  readonly name: string;
  readonly sql: string;
}

export const MIGRATIONS: readonly Migration[] = [
  wearersAndScans,
  formsAndProjects,
  journalAndJobs,
  lock,
  tickets,
  fittingsAndMakings,
  plans,
  usualUncertainties,
  fillPlans,
  shells,
];

/** The version this program writes: the number of the last migration, kept in `user_version`. */
export const LATEST_VERSION = MIGRATIONS.length;

for (const [index, migration] of MIGRATIONS.entries()) {
  if (migration.number !== index + 1) throw new Error(`migration ${migration.name} leaves a gap at ${index + 1}`);
}
