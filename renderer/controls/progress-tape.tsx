/** Work under way: a tape drawn out of its case as far as the work has come. */
import { useEffect, useState } from 'react';
import { Button } from './button.tsx';
import './progress-tape.css';

export interface ProgressTapeProps {
  /** 0 to 1; undefined while that is not known. */
  readonly fraction: number | undefined;
  /** What is being done now. */
  readonly phase: string;
  readonly title: string;
  /** When it began, as ISO 8601. */
  readonly startedAt?: string | undefined;
  readonly onStop?: (() => void) | undefined;
}

export function ProgressTape({ fraction, phase, title, startedAt, onStop }: ProgressTapeProps) {
  const percent = fraction === undefined ? undefined : Math.round(100 * Math.min(1, Math.max(0, fraction)));
  return (
    <div className="progress">
      <div className="progress-words">
        <span className="progress-title">{title}</span>
        <span className="soft small">
          {phase}
          {startedAt === undefined ? null : <TimeSoFar since={startedAt} isAlone={phase === ''} />}
        </span>
      </div>
      <div
        className={`tape-track${percent === undefined ? ' tape-unknown' : ''}`}
        role="progressbar"
        aria-label={title}
        aria-valuetext={percent === undefined ? phase : `${percent} percent, ${phase}`}
        aria-valuemin={0}
        aria-valuemax={100}
        aria-valuenow={percent}
      >
        <span className="tape-case" aria-hidden="true" />
        <span className="tape-room" aria-hidden="true">
          <span className="tape-drawn" style={{ width: `${percent ?? 30}%` }} />
        </span>
        <span className="tape-percent numbers" aria-hidden="true">
          {percent === undefined ? '' : `${percent} %`}
        </span>
      </div>
      {onStop === undefined ? null : (
        <Button tone="plain" onClick={onStop} aria-label={`Stop: ${title}`}>
          Stop
        </Button>
      )}
    </div>
  );
}

function TimeSoFar({ since, isAlone }: { readonly since: string; readonly isAlone: boolean }) {
  const [now, setNow] = useState(() => Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), 1000);
    return () => clearInterval(timer);
  }, []);
  const seconds = Math.max(0, Math.floor((now - Date.parse(since)) / 1000));
  if (!Number.isFinite(seconds) || seconds < 1) return null;
  return <span className="numbers">{`${isAlone ? '' : ' · '}${durationText(seconds)} so far`}</span>;
}

export function durationText(seconds: number): string {
  return seconds < 60 ? `${seconds} s` : `${Math.floor(seconds / 60)} min ${String(seconds % 60).padStart(2, '0')} s`;
}
