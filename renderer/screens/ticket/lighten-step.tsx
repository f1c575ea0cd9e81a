import { useState } from 'react';
import type { JobView } from '../../../shared-types/contract.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { SOLID_CAD_FACES } from '../../../shared-types/tolerances.ts';
import { Button } from '../../controls/button.tsx';
import { Figure, countText, dayText } from '../../controls/figure.tsx';
import { TextField } from '../../controls/field.tsx';
import { Remark, Stamp } from '../../controls/paper.tsx';
import { ProgressTape } from '../../controls/progress-tape.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';
import { isMadeAsDecided } from './made-as-decided.ts';
import { lightened, type Sized } from './steps.ts';
import type { Edit, TicketShown } from './use-ticket.ts';

export interface LightenStepProps {
  readonly shown: TicketShown;
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly sized: Sized | undefined;
  readonly job: JobView | undefined;
}

const LEAST_FACES = 200;
const MOST_FACES = 2_000_000;

export function LightenStep({ shown, draft, edit, sized, job }: LightenStepProps) {
  const studio = useStudio();
  const [text, setText] = useState(String(draft.faces));
  const wanted = Number(text);
  const isFine = Number.isInteger(wanted) && wanted >= LEAST_FACES && wanted <= MOST_FACES;
  const made = lightened(shown);
  const { revision } = shown;
  const isRunning = job?.state === 'running';
  const isCurrent = isMadeAsDecided(shown, draft);
  const canMake = sized?.fit !== undefined && isFine;
  const commit = (): void => {
    if (isFine && wanted !== draft.faces) edit('choose how many faces', (before) => ({ ...before, faces: wanted }));
  };
  return (
    <>
      <TextField
        label="At most so many faces"
        inputMode="numeric"
        hint={
          isFine && wanted > SOLID_CAD_FACES
            ? `Solid modellers usually stop coping above about ${countText(SOLID_CAD_FACES)}.`
            : `Under ${countText(SOLID_CAD_FACES)} goes into solid modelling programs.`
        }
        trouble={isFine ? undefined : `A whole number from ${countText(LEAST_FACES)} to ${countText(MOST_FACES)}.`}
        value={text}
        onChange={setText}
        onBlur={commit}
        onKeyDown={(event) => {
          if (event.key === 'Enter') commit();
        }}
      />
      {isRunning ? (
        <ProgressTape
          title={job.title}
          fraction={job.fraction}
          phase={job.phase}
          startedAt={job.startedAt}
          onStop={() => void studio.ask('job.stop', { id: job.id })}
        />
      ) : (
        <div className="button-row">
          <Button
            tone={isCurrent ? 'plain' : 'main'}
            disabled={!canMake}
            onClick={() => {
              commit();
              void studio.ask('ticket.make', { id: shown.ticket.id });
            }}
          >
            {revision === undefined ? 'Make the form' : 'Make the form again'}
          </Button>
          {sized?.fit === undefined ? <span className="small soft">first the size: step true</span> : null}
        </div>
      )}
      {job !== undefined && (job.state === 'failed' || job.state === 'stopped') ? (
        <Remark tone={job.state === 'failed' ? 'trouble' : 'plain'}>{job.sentence}</Remark>
      ) : null}
      {made === undefined || revision === undefined ? null : (
        <div className="made">
          <p>
            <Stamp tone={isCurrent ? 'good' : 'doubt'}>{isCurrent ? 'made' : 'decisions changed since'}</Stamp>{' '}
            <span className="soft">
              making {revision.revision}, {dayText(revision.createdAt)}
            </span>
          </p>
          <dl className="figures">
            <Figure label="Faces" value={countText(made.faces)} />
            <Figure
              label="From the full surface"
              value={`${made.meanMm.toFixed(3)} mm`}
              note={`on average; ${made.maxMm.toFixed(2)} mm at most, measured both ways`}
            />
          </dl>
          <div className="button-row">
            <Button tone={isCurrent ? 'main' : 'plain'} onClick={() => go({ at: 'form', id: revision.id })}>
              Look at the form
            </Button>
          </div>
        </div>
      )}
    </>
  );
}
