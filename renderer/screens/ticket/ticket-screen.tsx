/** The ticket of a form: six steps on one card with a tape along its edge, and the scan standing beside it. */
import { useEffect, useMemo, useState } from 'react';
import { transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import { FittingView } from '../../controls/fitting-view.tsx';
import { ProgressTape } from '../../controls/progress-tape.tsx';
import { Remark } from '../../controls/paper.tsx';
import { FaultCard, Loading } from '../../controls/states.tsx';
import { go } from '../../state/routes.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Hit, Viewport } from '../../viewport/viewport.ts';
import { framesOf, movePlane } from './frames.ts';
import { IntakeStep } from './intake-step.tsx';
import { LightenStep } from './lighten-step.tsx';
import { MendStep } from './mend-step.tsx';
import { StandStep, wantedLandmarks, type Proposal } from './stand-step.tsx';
import { STEPS, stateOf, type StepName } from './steps.ts';
import { TrimStep } from './trim-step.tsx';
import { TrueStep } from './true-step.tsx';
import { offersOf, standingBounds, useMesh, useScene } from './use-scene.ts';
import { useTicket } from './use-ticket.ts';
import './ticket.css';

const NOTHING_FOUND: readonly Proposal[] = [];

export function TicketScreen({ id }: { readonly id: string }) {
  const studio = useStudio();
  const { asked, draft, edit } = useTicket(id);
  const jobs = useStore(studio.jobs);
  const { unit } = useStore(studio.settings);
  const [chosen, setChosen] = useState<StepName>();
  const [view, setView] = useState<Viewport>();
  const [activeCut, setActiveCut] = useState(-1);
  const [picking, setPicking] = useState<string>();
  const [selected, setSelected] = useState<string>();
  const [isWiped, setWiped] = useState(false);
  const [isPlain, setPlain] = useState(false);
  const [hasEdges, setEdges] = useState(false);

  const shown = asked.state === 'value' ? asked.value : undefined;
  const prepared = shown?.prepared;
  const keep = shown?.ticket.draft.keep;
  const isReady = prepared !== undefined;
  const ready = isReady ? { id } : undefined;
  const proposing = isReady && draft !== undefined ? { id, region: draft.region, side: draft.side } : undefined;
  const stoodAsked = useAsked('ticket.stand', ready);
  const sizedAsked = useAsked('ticket.size', ready);
  const proposedAsked = useAsked('ticket.propose', proposing, { still: true });
  const stood = stoodAsked.state === 'value' ? stoodAsked.value : undefined;
  const sized = sizedAsked.state === 'value' ? sizedAsked.value : undefined;
  const proposals = proposedAsked.state === 'value' ? proposedAsked.value.landmarks : NOTHING_FOUND;

  const title = shown === undefined ? '' : `${shown.ticket.name}, ${shown.wearer.name}`;
  useEffect(() => studio.title.set(title), [studio, title]);

  // The scan is read and mended by itself; asking again while it lies ready or is under way costs nothing.
  const lastPreparing = jobs.findLast((job) => job.kind === 'prepare' && job.ticketId === id);
  const preparing = lastPreparing?.state === 'running' ? lastPreparing : undefined;
  const wantsPreparing = shown !== undefined && !isReady;
  useEffect(() => {
    if (wantsPreparing) void studio.ask('ticket.prepare', { id });
  }, [studio, id, wantsPreparing, keep]);
  const making = jobs.findLast((job) => job.kind === 'make' && job.ticketId === id);

  const key = shown === undefined || !isReady ? undefined : `${shown.ticket.scanId} ${keep}`;
  const mesh = (which: 'mended' | 'scan') => async (signal: AbortSignal) =>
    studio.ask('ticket.mesh', { id, which }, { signal });
  const mended = useMesh(mesh('mended'), key);
  const states =
    shown === undefined || draft === undefined
      ? undefined
      : STEPS.map((step) => stateOf(step, shown, draft, stood, sized));
  const firstWanted = states === undefined ? -1 : states.findIndex(({ state }) => state === 'wants');
  // Until somebody chooses, the first step with a decision lies open; it stays open when that decision is made.
  const step: StepName = chosen ?? (firstWanted < 0 ? 'lighten' : STEPS[firstWanted]);
  useEffect(() => {
    if (chosen === undefined && isReady && stood !== undefined && sized !== undefined) setChosen(step);
  }, [chosen, isReady, stood, sized, step]);

  const wantsRaw = step === 'intake' || isWiped;
  const asItCame = useMesh(mesh('scan'), wantsRaw ? key : undefined);
  const frames = useMemo(() => framesOf(mended?.toFile, stood?.matrix), [mended, stood]);
  const bounds = useMemo(() => standingBounds(mended, frames.stand), [mended, frames]);
  const offers = useMemo(() => offersOf(draft, proposals, frames.toScene), [draft, proposals, frames]);
  useScene({
    view,
    step,
    mended,
    asItCame,
    draft,
    frames,
    sized,
    offers,
    isPlain,
    hasEdges,
    activeCut,
    picking,
    selected,
    unit,
    isWiped: isWiped && step === 'mend',
  });

  // What was framed first lay as the file has it; a limb or torso may stand up far from there.
  const framedFor = draft?.region === undefined ? stood !== undefined : stood?.method;
  useEffect(() => {
    if (mended !== undefined && framedFor !== undefined && framedFor !== false) view?.frame();
  }, [view, mended, framedFor]);

  const isPicking = step === 'stand' && picking !== undefined;
  useEffect(() => view?.setPickMode(isPicking ? 'surface' : 'none'), [view, isPicking]);
  const taken = useMemo(() => new Set(shown?.known.map((one) => one.name)), [shown]);
  const nextToPlace = (after?: string): string | undefined => {
    if (draft === undefined) return undefined;
    const { frame, measured } = wantedLandmarks(draft, taken);
    const wanted = [...frame, ...measured].map((kind) => kind.name);
    const from = after === undefined ? 0 : wanted.indexOf(after) + 1;
    return wanted.slice(from).find((name) => draft?.landmarks[name] === undefined);
  };
  const place = (name: string, scenePoint: Vec3): void => {
    const [x, y, z] = transformPoint(frames.toFile, scenePoint);
    edit('place a landmark', (before) => ({
      ...before,
      landmarks: { ...before.landmarks, [name]: { point: [x, y, z], origin: 'hand' } },
    }));
    setPicking(nextToPlace(name));
  };
  const onPick = (hit: Hit): void => {
    if (picking !== undefined) place(picking, hit.point);
  };
  const onMark = (mark: string): void => {
    if (step === 'stand') setPicking(mark);
    if (step === 'true') setSelected(mark);
  };
  const onPlane = (at: string, point: Vec3, normal: Vec3): void =>
    edit('move a cut', (before) => ({
      ...before,
      trim: before.trim.map((one, index) =>
        String(index) === at ? movePlane(frames.toFile, [...point, ...normal]) : one,
      ),
    }));

  const openStep = (next: StepName): void => {
    setChosen(next);
    setPicking(next === 'stand' ? nextToPlace() : undefined);
    // The one before may have been long: its tail is not where the next one begins.
    requestAnimationFrame(() =>
      document.querySelector(`[aria-controls="step-${next}"]`)?.scrollIntoView({ block: 'nearest' }),
    );
    if (next === 'trim' && draft !== undefined) setActiveCut(draft.trim.length - 1);
  };

  if (asked.state === 'fault') return <FaultCard fault={asked.fault} onAgain={asked.again} />;
  if (shown === undefined || draft === undefined || states === undefined) return <Loading what="Fetching the ticket" />;
  const failure =
    !isReady && (lastPreparing?.state === 'failed' || lastPreparing?.state === 'stopped') ? lastPreparing : undefined;
  const trouble = [stoodAsked, sizedAsked].find((one) => one.state === 'fault');
  const nextWanted = STEPS.find((name, at) => name !== step && states[at].state === 'wants');

  return (
    <div className={`bench${step === 'true' ? ' bench-desk' : ''}`}>
      <div className="bench-view">
        <FittingView
          label={`The scan of ${shown.wearer.name}, standing`}
          onReady={setView}
          onPick={onPick}
          onPlane={onPlane}
          onMark={onMark}
          tools={
            <>
              <Button tone="quiet" aria-pressed={isPlain} onClick={() => setPlain(!isPlain)}>
                Plain skin
              </Button>
              <Button tone="quiet" aria-pressed={hasEdges} onClick={() => setEdges(!hasEdges)}>
                Edges
              </Button>
            </>
          }
        />
      </div>
      {mended === undefined && failure === undefined ? (
        <div className="bench-wait">
          {preparing === undefined ? (
            <Loading what="Laying out the scan" />
          ) : (
            <ProgressTape
              title={preparing.title}
              fraction={preparing.fraction}
              phase={preparing.phase}
              startedAt={preparing.startedAt}
              onStop={() => void studio.ask('job.stop', { id: preparing.id })}
            />
          )}
        </div>
      ) : null}
      <article className="form-ticket" aria-label={`Ticket: ${shown.ticket.name}`}>
        <header className="form-ticket-head">
          <span className="ticket-hole" aria-hidden="true" />
          <div>
            <p className="ticket-kind">
              Form ticket for <a href={`#/wearer/${shown.wearer.id}`}>{shown.wearer.name}</a>
            </p>
            <h1>{shown.ticket.name}</h1>
          </div>
        </header>
        {failure === undefined ? null : (
          <div className="form-ticket-failure">
            <Remark tone="trouble">{failure.sentence}</Remark>
            <div className="button-row">
              <Button tone="main" onClick={() => void studio.ask('ticket.prepare', { id })}>
                Try again
              </Button>
              <Button onClick={() => go({ at: 'wearer', id: shown.wearer.id })}>To the wearer</Button>
            </div>
          </div>
        )}
        <ol className="step-tape">
          {STEPS.map((name, at) => {
            const { state, figure } = states[at];
            const isOpen = name === step;
            return (
              <li key={name} className={`step step-${state}${isOpen ? ' step-open' : ''}`}>
                <button
                  type="button"
                  className="step-head"
                  aria-expanded={isOpen}
                  aria-controls={`step-${name}`}
                  onClick={() => openStep(name)}
                >
                  <span className="step-mark" aria-hidden="true">
                    {at + 1}
                  </span>
                  <span className="step-name">{name}</span>
                  <span className="step-figure numbers">
                    {state === 'wants' ? <span className="only-heard">to decide: </span> : null}
                    {figure}
                  </span>
                </button>
                {isOpen ? (
                  <div className="step-body" id={`step-${name}`}>
                    {trouble?.state === 'fault' && (name === 'stand' || name === 'true') ? (
                      <FaultCard fault={trouble.fault} onAgain={trouble.again} />
                    ) : null}
                    {prepared === undefined ? (
                      failure === undefined ? (
                        <p className="soft">The scan is being read and mended.</p>
                      ) : null
                    ) : name === 'intake' ? (
                      <IntakeStep prepared={prepared} />
                    ) : name === 'mend' ? (
                      <MendStep {...{ prepared, draft, edit, isWiped }} onWipe={setWiped} />
                    ) : name === 'trim' ? (
                      <TrimStep {...{ draft, edit, frames, bounds }} active={activeCut} onActive={setActiveCut} />
                    ) : name === 'stand' ? (
                      <StandStep
                        taken={taken}
                        {...{ draft, edit, stood, proposals, picking, offers }}
                        onPicking={setPicking}
                        onPlace={place}
                      />
                    ) : name === 'true' ? (
                      <TrueStep {...{ shown, draft, edit, sized, selected }} onSelect={setSelected} />
                    ) : (
                      <LightenStep key={draft.faces} {...{ shown, draft, edit, sized }} job={making} />
                    )}
                    {nextWanted === undefined || name === nextWanted || prepared === undefined ? null : (
                      <div className="step-next">
                        <Button tone="plain" onClick={() => openStep(nextWanted)}>
                          On to {nextWanted}
                        </Button>
                      </div>
                    )}
                  </div>
                ) : null}
              </li>
            );
          })}
        </ol>
      </article>
    </div>
  );
}
