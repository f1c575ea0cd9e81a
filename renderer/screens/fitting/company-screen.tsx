/** Everyone against everything: who can wear what, and who can step in for whom. */
import { useState } from 'react';
import { COMPANY_LIMITS, type CompanyCell } from '../../../shared-types/calls/fittings.ts';
import type { CallResult, JobView } from '../../../shared-types/contract.ts';
import { saveBytes } from '../../client/download.ts';
import { Button } from '../../controls/button.tsx';
import { CheckField, SelectField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Length, some } from '../../controls/figure.tsx';
import { ProgressTape } from '../../controls/progress-tape.tsx';
import { Remark, Stamp, TicketCard } from '../../controls/paper.tsx';
import { AskedView, Empty } from '../../controls/states.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import '../making/making.css';
import '../project/project.css';
import './fitting.css';

type Table = CallResult<'company.show'>;

/** Thin padding and some ease. Own judgement. */
const USUAL_ROOM_MM = 6;

export function CompanyScreen({ projectId }: { readonly projectId: string }) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const running = useStore(studio.jobs).find(({ kind, state }) => kind === 'company' && state === 'running');
  const [roomMm, setRoomMm] = useState(USUAL_ROOM_MM);
  const asked = useAsked('company.show', { projectId, wish: { roomMm } });
  useTitle('The company');
  const wish = { projectId, wish: { roomMm } };
  const run = async (): Promise<void> => {
    const started = await studio.ask('company.run', wish);
    if (started !== undefined)
      studio.notes.add({ tone: 'plain', text: 'Everyone is being tried; the table fills as it goes.' });
  };
  const save = async (): Promise<void> => {
    const file = await studio.ask('company.export', wish);
    if (file !== undefined) saveBytes('company.csv', file.csv, 'text/csv');
  };
  return (
    <div className="page company">
      <header className="page-head">
        <div>
          <h1>The company</h1>
          <p className="soft">
            Every part of <a href={`#/project/${projectId}`}>the project</a> against every form of it. What is known
            stays; only what has changed is tried again. Each part is tried up to {COMPANY_LIMITS.limitTiltDegrees}°
            turned and <Length mm={COMPANY_LIMITS.limitShiftMm} /> shifted from the way it was placed last; a fitting
            has limits of its own.
          </p>
        </div>
        <div className="company-wish">
          <LengthField
            label="Room wanted everywhere"
            unit={unit}
            valueMm={roomMm}
            leastMm={0}
            mostMm={100}
            onCommit={setRoomMm}
          />
          <Button tone="main" disabled={running !== undefined} onClick={() => void run()}>
            Try what is not known
          </Button>
          <Button onClick={() => void save()}>Save as CSV</Button>
        </div>
      </header>
      <AskedView asked={asked} loading="Fetching the company">
        {(table) => <CompanyTable table={table} running={running} />}
      </AskedView>
    </div>
  );
}

function CompanyTable({ table, running }: { readonly table: Table; readonly running: JobView | undefined }) {
  const studio = useStudio();
  const { forms, parts, cells } = table;
  const [only, setOnly] = useState(false);
  const [standIn, setStandIn] = useState('');
  if (forms.length === 0 || parts.length === 0) {
    return (
      <Empty title="Nobody to compare yet">
        <p>The table needs a form and a part in this project.</p>
      </Empty>
    );
  }
  const byPair = new Map(cells.map((one) => [`${one.partId} ${one.formId}`, one]));
  const cell = (partId: string, formId: string): CompanyCell | undefined => byPair.get(`${partId} ${formId}`);
  const known = cells.filter(({ trialId }) => trialId !== undefined).length;
  const outdated = cells.filter((one) => one.outdated === true).length;
  // Whoever can wear everything that the one to be replaced can wear.
  const worn = parts.filter(({ id }) => standIn !== '' && cell(id, standIn)?.goesOn === true);
  const shown = forms.filter((form) => {
    if (only && !parts.some((part) => cell(part.id, form.id)?.goesOn === true)) return false;
    return worn.length === 0 || form.id === standIn || worn.every((part) => cell(part.id, form.id)?.goesOn === true);
  });
  return (
    <TicketCard className="stacked" title={`${some(parts.length, 'part')}, ${some(forms.length, 'form')}`}>
      {running === undefined ? (
        <p className="soft">
          {known} of {some(cells.length, 'pair')} known
          {outdated === 0
            ? '.'
            : `; ${outdated} outdated: what they were tried with, or the way of trying, has changed.`}
        </p>
      ) : (
        <ProgressTape
          title={`${known} of ${some(cells.length, 'pair')} known`}
          phase={running.phase}
          fraction={known / cells.length}
          startedAt={running.startedAt}
          onStop={() => void studio.ask('job.stop', { id: running.id })}
        />
      )}
      <div className="company-wish">
        <CheckField label="Only who can wear something" checked={only} onChange={setOnly} />
        <SelectField
          label="Who can step in for"
          value={standIn}
          onChange={setStandIn}
          options={[
            { value: '', label: 'nobody in particular' },
            ...forms.map((form) => ({ value: form.id, label: form.wearerName })),
          ]}
        />
      </div>
      {standIn !== '' && worn.length === 0 ? (
        <Remark tone="doubt">As far as tried, nothing here goes on the one to be replaced: everyone is shown.</Remark>
      ) : null}
      <div className="table-room">
        <table className="making-table company-table">
          <thead>
            <tr>
              <th scope="col">Wearer</th>
              {parts.map((part) => (
                <th key={part.id} scope="col">
                  <a href={`#/part/${part.id}`}>{part.name}</a>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {shown.map((form) => (
              <tr key={form.id}>
                <th scope="row">
                  <a href={`#/form/${form.revisionId}`}>{form.wearerName}</a>
                </th>
                {parts.map((part) => (
                  <td key={part.id}>
                    <Cell cell={cell(part.id, form.id)} />
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </TicketCard>
  );
}

function Cell({ cell }: { readonly cell: CompanyCell | undefined }) {
  if (cell?.trialId === undefined)
    return <span className="soft">{cell?.outdated === true ? 'outdated' : 'not tried'}</span>;
  if (cell.leastEaseMm === undefined) return <span className="soft small">{cell.sentence}</span>;
  return (
    <>
      <Stamp tone={cell.goesOn === true ? 'good' : 'doubt'}>{cell.goesOn === true ? 'Goes on' : 'Too tight'}</Stamp>
      <p className="small">
        <Length mm={cell.leastEaseMm} /> at least
        {cell.goesOn === true ? null : (
          <>
            <br />
            {cell.scale === undefined ? 'no size found' : `at ${(100 * cell.scale).toFixed(1)} % it would`}
          </>
        )}
      </p>
    </>
  );
}
