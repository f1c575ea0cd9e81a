/** One making of a form: the form itself, the evidence of each step, and what can be made of it. */
import { useEffect, useRef, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { Button } from '../../controls/button.tsx';
import { ExportChoice } from '../../controls/export-choice.tsx';
import { countText, dayText, Length } from '../../controls/figure.tsx';
import { LinerItems } from '../../controls/liner-list.tsx';
import { Remark, Stamp, TicketCard } from '../../controls/paper.tsx';
import { PaperChoice, type PaperOrder } from '../../controls/paper-choice.tsx';
import { ProgressTape } from '../../controls/progress-tape.tsx';
import { AskedView } from '../../controls/states.tsx';
import { isUnderWay } from '../../state/job-news.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useLive } from '../../state/use-live.ts';
import { usePlan } from '../../state/use-plan.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import { AllowanceCard } from './allowance-card.tsx';
import { FillCard } from './fill-card.tsx';
import { useFilling } from './use-filling.ts';
import { FormView } from './form-view.tsx';
import { GuessedCard } from './guessed-card.tsx';
import { MakingsCard } from '../making/makings-card.tsx';
import { LinerCard } from './liner-card.tsx';
import { FIRST_PLAN, LINER_STEPS, parametersOf, type LinerTool } from './liner-plan.ts';
import { checksOf, evidenceOf, filledOf, guessedOf, type LengthCheck } from '../../../shared-types/step-evidence.ts';
import './form.css';

type Shown = CallResult<'form.show'>;

export function FormScreen({ revisionId }: { readonly revisionId: string }) {
  const asked = useAsked('form.show', { revisionId });
  return (
    <AskedView asked={asked} loading="Fetching the form">
      {(shown) => <FormDesk shown={shown} />}
    </AskedView>
  );
}

function FormDesk({ shown }: { readonly shown: Shown }) {
  const { form, revision, wearer } = shown;
  useTitle(`${form.name}, making ${revision.revision}`);
  const checks = checksOf(revision.steps);
  const guessed = guessedOf(revision.steps);
  const filled = filledOf(revision.steps);
  const filling = useFilling(revision.id, form.id);
  const isHead = (revision.recipe['region'] ?? 'head') === 'head';
  const { plan, change, isBegun, isReady } = usePlan('liner', { formId: form.id }, FIRST_PLAN, LINER_STEPS);
  const [isOpen, setOpen] = useState(false);
  const [isStarted, setStarted] = useState(false);
  const [tool, setTool] = useState<LinerTool>();
  const isPlanning = isOpen && isReady;
  const parameters = isPlanning ? parametersOf(plan) : undefined;
  const shownLiner = useLive(
    'liner.preview',
    parameters === undefined ? undefined : { revisionId: revision.id, parameters },
  );
  const mesh = useAsked('form.mesh', isPlanning ? { revisionId: revision.id } : undefined, { still: true });
  const close = (): void => {
    setOpen(false);
    setTool(undefined);
  };
  return (
    <div className="form-desk">
      <FormView
        revision={revision}
        label={`${form.name}, making ${revision.revision}`}
        planned={isPlanning ? { plan, tool, preview: shownLiner.preview } : undefined}
        filling={isPlanning || !filling.isShown ? undefined : filling}
        onPlan={change}
        onPlace={(place) => {
          if (tool?.kind === 'curve') setTool({ ...tool, drawing: { ...tool.drawing, place } });
        }}
      />
      <div className="form-papers">
        <TicketCard
          level={1}
          title={form.name}
          kind={
            <>
              Form of <a href={`#/wearer/${wearer.id}`}>{wearer.name}</a> · making {revision.revision} ·{' '}
              {dayText(revision.createdAt)}
            </>
          }
          stub={<ExportChoice revisionId={revision.id} />}
        >
          <p>
            {countText(revision.faceCount)} faces, in millimetres, x forward, y to the wearer’s left, z up.{' '}
            <a href={`#/wearer/${wearer.id}`}>Their sheet</a>
          </p>
          {guessed.length === 0 ? null : (
            <Remark tone="doubt">
              No scan stands behind this form: it was made from readings alone, and the rest is guessed.
            </Remark>
          )}
          {filled === undefined ? null : (
            <Remark tone="doubt">
              {capital(filled.patch.join(', '))}: guessed, not scanned. 95 of 100 people lie within{' '}
              <Length mm={filled.usually95Mm} /> of it at most places, within <Length mm={filled.within95Mm} /> at the
              worst. Leave room there.
            </Remark>
          )}
        </TicketCard>
        {isPlanning ? (
          <LinerCard
            revisionId={revision.id}
            region={revision.recipe['region']}
            plan={plan}
            onPlan={(next) => change(() => next)}
            tool={tool}
            onTool={setTool}
            shown={shownLiner}
            surface={mesh.state === 'value' ? mesh.value : undefined}
            onClose={close}
            onStarted={() => {
              setStarted(true);
              close();
            }}
            onAnew={() => {
              setTool(undefined);
              change(() => FIRST_PLAN);
            }}
          />
        ) : (
          <Liners
            shown={shown}
            isBegun={isBegun}
            isStarted={isStarted}
            onMake={() => {
              setStarted(false);
              setOpen(true);
            }}
          />
        )}
        {checks.length === 0 ? null : <Checks checks={checks} wearerId={shown.wearer.id} />}
        {guessed.length === 0 ? null : <GuessedCard guessed={guessed} />}
        <MakingsCard source={{ formRevisionId: revision.id }} kinds={['pattern']} subject={shown.form.name} />
        {isHead && guessed.length === 0 && filling.isReady ? (
          <FillCard revisionId={revision.id} formName={form.name} filling={filling} />
        ) : null}
        {isHead ? <AllowanceCard revisionId={revision.id} /> : null}
        <OnPaper revisionId={revision.id} />
        <TicketCard title="How it was made" kind={`Program ${revision.programVersion}`}>
          <ol className="evidence">
            {revision.steps.map((step, number) => {
              const { verb, title, sentences, doubts } = evidenceOf(step);
              return (
                <li key={`${verb} ${number}`}>
                  <h3>{title}</h3>
                  {sentences.map((sentence) => (
                    <p key={sentence}>{sentence}</p>
                  ))}
                  {doubts.map((doubt) => (
                    <Remark key={doubt} tone="doubt">
                      {doubt}
                    </Remark>
                  ))}
                </li>
              );
            })}
          </ol>
        </TicketCard>
      </div>
    </div>
  );
}

const capital = (words: string): string => words.replace(/^./, (letter) => letter.toUpperCase());

function OnPaper({ revisionId }: { readonly revisionId: string }) {
  const studio = useStudio();
  const make: PaperOrder['make'] = (paper, watch) => studio.ask('paper.fitting', { revisionId, paper }, watch);
  return (
    <TicketCard
      title="On paper"
      kind="PDF, to lie beside the work"
      stub={<PaperChoice orders={[{ label: 'Fitting sheet', make }]} />}
    >
      <p>Pictures, lengths and their evidence, liners, parts tried on, what to cut and print, and cautions.</p>
    </TicketCard>
  );
}

const ROLES: Readonly<Record<string, string>> = {
  used: 'gave the size',
  'held back': 'held back as a check',
  'left out': 'left out',
};

function Checks({ checks, wearerId }: { readonly checks: readonly LengthCheck[]; readonly wearerId: string }) {
  const asked = useAsked('wearer.show', { id: wearerId });
  const known = asked.state === 'value' ? asked.value.known : [];
  const anew = checks.flatMap(({ name, measuredMm }) => {
    const now = known.find((one) => one.name === name);
    return now !== undefined && Math.abs(now.mm - measuredMm) > 2 * now.uMm
      ? [{ name, now, byMm: now.mm - measuredMm }]
      : [];
  });
  return (
    <TicketCard title="The form against the hand" kind="Each length taken again on the finished form">
      <table className="checks">
        <thead>
          <tr>
            <th scope="col">Length</th>
            <th scope="col">By hand</th>
            <th scope="col">On the form</th>
            <th scope="col">Off by</th>
          </tr>
        </thead>
        <tbody>
          {checks.map((check) => (
            <tr key={check.name}>
              <th scope="row">
                {check.name}
                <span className="soft small">{ROLES[check.role] ?? check.role}</span>
              </th>
              <td>
                <Length mm={check.measuredMm} />
              </td>
              <td>
                <Length mm={check.onFormMm} />
              </td>
              <td>
                {check.differenceMm > 0 ? '+' : ''}
                <Length mm={check.differenceMm} uMm={check.uTogetherMm} />
                {check.role === 'left out' ? (
                  <Stamp tone="plain">left out</Stamp>
                ) : check.agrees ? (
                  <Stamp tone="good">agrees</Stamp>
                ) : (
                  <Stamp tone="trouble">does not agree</Stamp>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {anew.map(({ name, now, byMm }) => (
        <Remark tone="doubt" key={name}>
          Measured anew since: {name} <Length mm={now.mm} uMm={now.uMm} />, <Length mm={Math.abs(byMm)} />{' '}
          {byMm > 0 ? 'more' : 'less'} than when this form was made.{' '}
          {now.earlier === undefined
            ? 'Make it again with that.'
            : 'The form is of an earlier body: bring a newer scan.'}
        </Remark>
      ))}
      <p className="soft small">“Agrees” is within twice the standard uncertainty of reading and form together.</p>
    </TicketCard>
  );
}

/** `isStarted`: one was just asked for, on the desk that stood here. */
function Liners(props: {
  readonly shown: Shown;
  readonly isBegun: boolean;
  readonly isStarted: boolean;
  readonly onMake: () => void;
}) {
  const { shown, isBegun, isStarted, onMake } = props;
  const studio = useStudio();
  const jobs = useStore(studio.jobs);
  const running = jobs.filter((job) => job.kind === 'line' && job.revisionId === shown.revision.id && isUnderWay(job));
  const top = useRef<HTMLDivElement>(null);
  useEffect(() => {
    // The desk was longer than this card: without it the page stands among others.
    if (isStarted) top.current?.scrollIntoView({ block: 'center' });
  }, [isStarted]);
  const asked = useAsked('wearer.show', { id: shown.wearer.id });
  const all = asked.state === 'value' ? asked.value.liners : [];
  const liners = all.filter((liner) => liner.formRevisionId === shown.revision.id);
  const isNewest =
    asked.state !== 'value' ||
    !asked.value.forms
      .find(({ form }) => form.id === shown.form.id)
      ?.revisions.some((one) => one.revision > shown.revision.revision);
  return (
    <TicketCard
      title="Liners"
      kind="At foam thickness from the form"
      aside={
        <Button onClick={onMake} disabled={!isNewest}>
          {isBegun ? 'Go on with the liner…' : 'Make a liner…'}
        </Button>
      }
    >
      {isNewest ? null : (
        <Remark tone="plain">There is a newer making of this form; liners are made over that one.</Remark>
      )}
      <div ref={top}>
        {running.map((job) => (
          <ProgressTape
            key={job.id}
            title="A liner is being made"
            phase={job.phase}
            fraction={job.fraction}
            startedAt={job.startedAt}
            onStop={() => void studio.ask('job.stop', { id: job.id })}
          />
        ))}
      </div>
      {liners.length === 0 && running.length > 0 ? null : liners.length === 0 ? (
        <p className="soft">None yet. A liner is where the inside of the part has to be, or a printable shell.</p>
      ) : (
        <ul className="plain-list">
          <LinerItems liners={liners} />
        </ul>
      )}
    </TicketCard>
  );
}
