/** Jobs: a row while they run, so that a crash leaves a trace; results and the end of a job are one transaction. */
import { randomUUID } from 'node:crypto';
import type { Outcome } from '../../shared-types/outcome.ts';
import type { Job } from '../../shared-types/records/job.ts';
import type { Library } from './connection.ts';
import { readRecord, toRow } from './ledger.ts';
import { attempt } from './trouble.ts';

export function beginJob(
  library: Library,
  job: { verb: string; request: Record<string, unknown>; wearerId?: string },
): Outcome<Job> {
  return attempt(library.path, () => {
    const record: Job = {
      id: randomUUID(),
      ...job,
      state: 'running',
      processId: process.pid,
      startedAt: library.now(),
    };
    const row = toRow(library, 'jobs', record);
    const columns = Object.keys(row);
    library.checkLock();
    library.beforeWrite();
    library.db
      .prepare(`INSERT INTO jobs (${columns.join(', ')}) VALUES (${columns.map((c) => `@${c}`).join(', ')})`)
      .run(row);
    return record;
  });
}

/** End a job. `commit` writes what it made: it and the job's new state are kept together or not at all. */
export function endJob<T>(
  library: Library,
  id: string,
  state: 'done' | 'failed' | 'cancelled',
  commit: () => T,
  sentence?: string,
): Outcome<T> {
  return attempt(library.path, () =>
    library.db
      .transaction(() => {
        const result = commit();
        const job: Job = { ...readRecord(library, 'jobs', id), state, endedAt: library.now() };
        if (sentence !== undefined) job.sentence = sentence;
        const row = toRow(library, 'jobs', job);
        library.beforeWrite();
        library.db
          .prepare('UPDATE jobs SET state = @state, ended_at = @ended_at, sentence = @sentence WHERE id = @id')
          .run({ state: row['state'], ended_at: row['ended_at'], sentence: row['sentence'], id });
        return result;
      })
      .immediate(),
  );
}
