/** A tape along the top: where one is, what can be taken back, what is under way. */
import { useEffect, useRef, useState } from 'react';
import { ChoiceField } from '../controls/field.tsx';
import { isUnderWay } from '../state/job-news.ts';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { useAsked } from '../state/use-asked.ts';
import { JobList } from './job-list.tsx';
import './top-strip.css';

/** Centimetres printed on the tape; wider than any screen. */
const MARKS = Array.from({ length: 120 }, (_, index) => index + 1);

export function TopStrip({ isLocked, onSkip }: { readonly isLocked: boolean; readonly onSkip: () => void }) {
  const studio = useStudio();
  const title = useStore(studio.title);
  const place = useStore(studio.place);
  const history = useStore(studio.history);
  const connection = useStore(studio.client.connection);
  return (
    <header className="strip">
      <button type="button" className="skip" onClick={onSkip}>
        To the desk
      </button>
      <div className="strip-row">
        <a className="strip-name" href="#/" aria-current={place.at === 'shelf' ? 'page' : undefined}>
          <svg viewBox="0 0 64 64" width="26" height="26" aria-hidden="true">
            <path
              d="M10 22 22 8h20l12 14v32a4 4 0 0 1-4 4H14a4 4 0 0 1-4-4z"
              fill="none"
              stroke="currentColor"
              strokeWidth="4"
            />
            <circle cx="32" cy="20" r="5" fill="currentColor" />
            <path d="M18 47h28M18 40v7M25 43v4M32 40v7M39 43v4M46 40v7" stroke="currentColor" strokeWidth="3" />
          </svg>
          <span>Wearwright</span>
        </a>
        {place.at === 'shelf' || title === '' ? null : <p className="strip-place">{title}</p>}
        <div className="strip-tools">
          {isLocked ? null : (
            <>
              <StripButton
                label="Undo"
                sign="↶"
                what={history.undo}
                keys="Control+Z Meta+Z"
                onPress={() => void studio.undo()}
              />
              <StripButton
                label="Redo"
                sign="↷"
                what={history.redo}
                keys="Control+Shift+Z Meta+Shift+Z"
                onPress={() => void studio.redo()}
              />
              <JobsButton />
            </>
          )}
          <Preferences />
        </div>
      </div>
      <div className="strip-ticks" aria-hidden="true">
        {MARKS.map((mark) => (
          <span key={mark} className={mark % 10 === 0 ? 'strip-ten' : undefined}>
            {mark}
          </span>
        ))}
      </div>
      {connection === 'lost' ? (
        <p className="strip-lost" role="alert">
          The connection to the program is lost. What was kept is safe; trying again… If the program was ended, start it
          once more: it opens a new page.
        </p>
      ) : null}
    </header>
  );
}

function StripButton(props: {
  readonly label: string;
  readonly sign: string;
  readonly what: string | undefined;
  readonly keys: string;
  readonly onPress: () => void;
}) {
  const isOff = props.what === undefined;
  return (
    <button
      type="button"
      className="strip-button"
      aria-disabled={isOff || undefined}
      aria-label={isOff ? props.label : `${props.label}: ${props.what}`}
      aria-keyshortcuts={props.keys}
      title={isOff ? `Nothing to ${props.label.toLowerCase()}` : `${props.label}: ${props.what}`}
      onClick={() => {
        if (!isOff) props.onPress();
      }}
    >
      <span aria-hidden="true" className="strip-sign">
        {props.sign}
      </span>
      {props.label}
    </button>
  );
}

/** A sheet that hangs from the strip; closes on Esc and when the focus goes elsewhere. */
function Hanging(props: {
  readonly label: string;
  readonly heard?: string;
  readonly panelLabel: string;
  readonly className?: string;
  /** Something in it wants to be looked at. */
  readonly isMarked?: boolean;
  readonly children: (close: () => void) => React.ReactNode;
}) {
  const [isOpen, setOpen] = useState(false);
  const box = useRef<HTMLDivElement>(null);
  const button = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    if (!isOpen) return;
    const away = (event: Event): void => {
      if (event.target instanceof Node && box.current?.contains(event.target) !== true) setOpen(false);
    };
    const key = (event: KeyboardEvent): void => {
      if (event.key !== 'Escape') return;
      setOpen(false);
      button.current?.focus();
    };
    document.addEventListener('pointerdown', away);
    document.addEventListener('focusin', away);
    document.addEventListener('keydown', key);
    return () => {
      document.removeEventListener('pointerdown', away);
      document.removeEventListener('focusin', away);
      document.removeEventListener('keydown', key);
    };
  }, [isOpen]);
  return (
    <div ref={box} className="hanging">
      <button
        ref={button}
        type="button"
        className={`strip-button ${props.className ?? ''}`}
        aria-expanded={isOpen}
        aria-label={props.heard}
        onClick={() => setOpen(!isOpen)}
      >
        {props.label}
        {props.isMarked === true ? (
          <span aria-hidden="true" className="strip-mark">
            !
          </span>
        ) : null}
        <span aria-hidden="true" className="strip-caret">
          ▾
        </span>
      </button>
      {isOpen ? (
        <section className="hanging-sheet" aria-label={props.panelLabel}>
          {props.children(() => setOpen(false))}
        </section>
      ) : null}
    </div>
  );
}

function JobsButton() {
  const jobs = useStore(useStudio().jobs);
  const underWay = jobs.filter(isUnderWay);
  const troubled = jobs.some((job) => job.state === 'failed' || job.state === 'interrupted');
  const [only] = underWay;
  const label =
    only === undefined
      ? 'Jobs'
      : underWay.length === 1
        ? `1 job, ${Math.round(100 * only.fraction)} %`
        : `${underWay.length} jobs`;
  return (
    <Hanging
      label={label}
      isMarked={troubled}
      heard={`${label}${only === undefined ? '' : ' under way'}${troubled ? ', some ended in trouble' : ''}`}
      panelLabel="Jobs"
      className={only === undefined ? '' : 'strip-busy'}
    >
      {(close) => <JobList jobs={jobs} onGone={close} />}
    </Hanging>
  );
}

function About() {
  const about = useAsked('app.about', {});
  if (about.state !== 'value') return null;
  return (
    <p className="soft small about">
      Wearwright {about.value.version}. The library is one file: {about.value.libraryPath}
    </p>
  );
}

function Preferences() {
  const { settings } = useStudio();
  const current = useStore(settings);
  return (
    <Hanging label="View" panelLabel="How things are shown">
      {() => (
        <div className="preferences">
          <ChoiceField
            label="Light"
            value={current.theme}
            onChange={(theme) => settings.set({ ...current, theme })}
            options={[
              { value: 'system', label: 'As the computer' },
              { value: 'light', label: 'Paper' },
              { value: 'dark', label: 'Slate' },
            ]}
          />
          <ChoiceField
            label="Lengths in"
            value={current.unit}
            onChange={(unit) => settings.set({ ...current, unit })}
            options={[
              { value: 'mm', label: 'Millimetres' },
              { value: 'in', label: 'Inches' },
            ]}
          />
          <p className="soft small">
            Either can be written in any field, also as a sum: 172+3, 7 1/8 in, 18 cm. Kept are millimetres.
          </p>
          <About />
        </div>
      )}
    </Hanging>
  );
}
