/** The things of the desk: a paper ticket with a punched hole and a stub to tear off, a hang-tag, a stamp. */
import type { ReactNode } from 'react';
import './paper.css';

export interface TicketCardProps {
  readonly title: ReactNode;
  /** Small line above the title: what kind of ticket it is. */
  readonly kind?: ReactNode;
  /** At the right of the head: buttons, a stamp. */
  readonly aside?: ReactNode;
  /** Below the perforation. */
  readonly stub?: ReactNode;
  readonly level?: 1 | 2 | 3;
  readonly tone?: 'plain' | 'trouble';
  readonly className?: string;
  readonly children?: ReactNode;
}

export function TicketCard(props: TicketCardProps) {
  const Heading = `h${props.level ?? 2}` as 'h1' | 'h2' | 'h3';
  return (
    <section
      className={`ticket-card ticket-card-${props.tone ?? 'plain'}${props.className === undefined ? '' : ` ${props.className}`}`}
    >
      <header className="ticket-head">
        <span className="ticket-hole" aria-hidden="true" />
        <div className="ticket-names">
          {props.kind === undefined ? null : <p className="ticket-kind">{props.kind}</p>}
          <Heading>{props.title}</Heading>
        </div>
        {props.aside === undefined ? null : <div className="ticket-aside">{props.aside}</div>}
      </header>
      <div className="ticket-body">{props.children}</div>
      {props.stub === undefined ? null : <footer className="ticket-stub">{props.stub}</footer>}
    </section>
  );
}

/** A plain sheet on the desk, for what is no ticket. */
export function Sheet({ children, className }: { readonly children: ReactNode; readonly className?: string }) {
  return <div className={`sheet${className === undefined ? '' : ` ${className}`}`}>{children}</div>;
}

/** A stamped word: how something stands. Never by colour alone. */
export function Stamp({
  tone,
  children,
}: {
  readonly tone: 'good' | 'doubt' | 'trouble' | 'plain';
  readonly children: ReactNode;
}) {
  return <span className={`stamp stamp-${tone}`}>{children}</span>;
}

/** A tag on a string. */
export function HangTag({ children, className }: { readonly children: ReactNode; readonly className?: string }) {
  return (
    <div className={`hang-tag${className === undefined ? '' : ` ${className}`}`}>
      <span className="hang-string" aria-hidden="true" />
      <div className="hang-paper">{children}</div>
    </div>
  );
}

/** A remark in the margin: advice, doubt, trouble. */
export function Remark({
  tone,
  children,
}: {
  readonly tone: 'good' | 'doubt' | 'trouble' | 'plain';
  readonly children: ReactNode;
}) {
  const word = { good: 'Good: ', doubt: 'Look again: ', trouble: 'Trouble: ', plain: '' }[tone];
  return (
    <p className={`remark remark-${tone}`}>
      <span className="only-heard">{word}</span>
      {children}
    </p>
  );
}
