/** The states every screen has besides its result: nothing there, on its way, trouble. */
import type { ReactNode } from 'react';
import { faultSentence, type Fault } from '../../shared-types/faults/index.ts';
import type { Asked } from '../state/use-asked.ts';
import { Button } from './button.tsx';
import { TicketCard } from './paper.tsx';
import './states.css';

/** Appears only after a moment, so that quick answers do not flicker. */
export function Loading({ what }: { readonly what: string }) {
  return (
    <div className="state state-loading" role="status">
      <span className="state-calliper" aria-hidden="true" />
      <p>{what}</p>
    </div>
  );
}

export function FaultCard({
  fault,
  onAgain,
  children,
}: {
  readonly fault: Fault;
  readonly onAgain?: (() => void) | undefined;
  readonly children?: ReactNode;
}) {
  return (
    <div role="alert" className="state-fault">
      <TicketCard title="That did not work" tone="trouble">
        <p className="state-sentence">{faultSentence(fault)}</p>
        <div className="button-row">
          {onAgain === undefined ? null : (
            <Button tone="main" onClick={onAgain}>
              Try again
            </Button>
          )}
          {children}
        </div>
      </TicketCard>
    </div>
  );
}

export function Empty({
  title,
  children,
  actions,
}: {
  readonly title: ReactNode;
  readonly children?: ReactNode;
  readonly actions?: ReactNode;
}) {
  return (
    <div className="state state-empty">
      <h3>{title}</h3>
      {children === undefined ? null : <div className="state-words">{children}</div>}
      {actions === undefined ? null : <div className="button-row">{actions}</div>}
    </div>
  );
}

/** One of the three states of something asked, or what `children` makes of the value. */
export function AskedView<T>({
  asked,
  loading,
  children,
}: {
  readonly asked: Asked<T>;
  readonly loading: string;
  readonly children: (value: T) => ReactNode;
}) {
  if (asked.state === 'loading') return <Loading what={loading} />;
  if (asked.state === 'fault') return <FaultCard fault={asked.fault} onAgain={asked.again} />;
  return children(asked.value);
}
