/** What to tell when jobs end, whatever screen is open by then. */
import type { JobView } from '../../shared-types/contract.ts';
import type { Note } from './notes.ts';
import { go, hashOf, type Place } from './routes.ts';

/** Where the result of a job is seen. */
export function placeOfJob(job: JobView): Place | undefined {
  if (job.makingId !== undefined) return { at: 'making', id: job.makingId };
  if (job.fittingId !== undefined) return { at: 'fitting', id: job.fittingId };
  if (job.linerId !== undefined) return { at: 'liner', id: job.linerId };
  if (job.kind !== 'prepare' && job.revisionId !== undefined) return { at: 'form', id: job.revisionId };
  if (job.ticketId !== undefined) return { at: 'ticket', id: job.ticketId };
  if (job.wearerId !== undefined) return { at: 'wearer', id: job.wearerId };
  return job.kind === 'demo' ? { at: 'shelf' } : undefined;
}

/** So much of what a job has to tell goes into a note; its page tells all. */
const MOST_LETTERS = 160;

/** Whole sentences from the first on, as many as a note has room for. */
function beginning(told: string): string {
  const sentences = told.split(/(?<=[.?!]) (?=\p{Lu}|")/u);
  let text = '';
  for (const sentence of sentences) {
    if (text !== '' && text.length + sentence.length > MOST_LETTERS) return `${text} More is told on its page.`;
    text = `${text} ${sentence}`.trim();
  }
  return text;
}

export const isUnderWay = (job: JobView): boolean => job.state === 'running';

/** Notes for the jobs that were under way before and have ended now; a ticket that is open shows its own good news. */
export function notesOfJobs(before: readonly JobView[], now: readonly JobView[], open: Place): Omit<Note, 'id'>[] {
  const news: Omit<Note, 'id'>[] = [];
  for (const job of now) {
    const was = before.find((one) => one.id === job.id);
    if (was === undefined || !isUnderWay(was) || isUnderWay(job)) continue;
    const place = placeOfJob(job);
    const isThere = place === undefined || hashOf(place) === hashOf(open);
    const action = isThere ? undefined : { label: 'Open', run: () => go(place) };
    const withAction = action === undefined ? {} : { action };
    const isSeen = job.kind === 'prepare' && open.at === 'ticket' && open.id === job.ticketId;
    if (job.state === 'done' && isSeen) continue;
    if (job.state === 'done') {
      const { sentence: told } = job;
      const more = told === undefined ? '' : ` ${place === undefined ? told : beginning(told)}`;
      news.push({ tone: 'good', text: `Done: ${job.title}.${more}`, ...withAction });
    } else if (job.state === 'stopped') {
      news.push({ tone: 'plain', text: `${job.title}: ${job.sentence ?? 'stopped.'}` });
    } else {
      news.push({ tone: 'trouble', text: `${job.title}: ${job.sentence ?? 'it did not end well.'}`, ...withAction });
    }
  }
  return news;
}
