import type { JobView } from '../../shared-types/contract.ts';
import { Button } from '../controls/button.tsx';
import { Stamp } from '../controls/paper.tsx';
import { ProgressTape } from '../controls/progress-tape.tsx';
import { isUnderWay, placeOfJob } from '../state/job-news.ts';
import { go } from '../state/routes.ts';
import { useStudio } from '../state/studio.ts';

const ENDINGS = {
  done: { word: 'Done', tone: 'good' },
  failed: { word: 'Did not work', tone: 'trouble' },
  stopped: { word: 'Stopped', tone: 'plain' },
  interrupted: { word: 'Cut off', tone: 'doubt' },
  waiting: { word: 'Waiting', tone: 'plain' },
  running: { word: 'Under way', tone: 'plain' },
} as const;

export function JobList({ jobs, onGone }: { readonly jobs: readonly JobView[]; readonly onGone: () => void }) {
  const studio = useStudio();
  if (jobs.length === 0) {
    return <p className="soft">Nothing under way. Reading, mending and making run here while you go on working.</p>;
  }
  const newest = [...jobs].sort((a, b) => rank(a) - rank(b) || b.startedAt.localeCompare(a.startedAt));
  return (
    <ol className="job-list">
      {newest.map((job) => (
        <li key={job.id}>
          {isUnderWay(job) ? (
            <ProgressTape
              title={job.title}
              fraction={job.fraction}
              phase={job.phase}
              startedAt={job.startedAt}
              onStop={() => void studio.ask('job.stop', { id: job.id })}
            />
          ) : (
            <EndedJob job={job} onGone={onGone} />
          )}
        </li>
      ))}
    </ol>
  );
}

/** Running first, then waiting, then what has ended. */
const rank = (job: JobView): number => (job.state === 'running' ? 0 : isUnderWay(job) ? 1 : 2);

function EndedJob({ job, onGone }: { readonly job: JobView; readonly onGone: () => void }) {
  const studio = useStudio();
  const place = placeOfJob(job);
  const { word, tone } = ENDINGS[job.state];
  return (
    <div className="job-ended">
      <div className="job-ended-head">
        <strong>{job.title}</strong>
        <Stamp tone={tone}>{word}</Stamp>
      </div>
      {job.sentence === undefined ? null : <p className="small">{job.sentence}</p>}
      <div className="button-row">
        {place === undefined ? null : (
          <Button
            onClick={() => {
              onGone();
              go(place);
            }}
          >
            Open
          </Button>
        )}
        {job.state === 'interrupted' || job.state === 'failed' || job.state === 'stopped' ? (
          <Button onClick={() => void studio.ask('job.again', { id: job.id })}>Run again</Button>
        ) : null}
        <Button tone="quiet" onClick={() => void studio.ask('job.dismiss', { id: job.id })}>
          Put away
        </Button>
      </div>
    </div>
  );
}
