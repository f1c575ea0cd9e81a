/** Forms standing on shelf boards, each with a hang-tag below. */
import type { ReactNode } from 'react';
import { FormPicture } from './form-picture.tsx';
import { HangTag } from './paper.tsx';
import './stand.css';

export function Boards({ children }: { readonly children: ReactNode }) {
  return <ul className="boards">{children}</ul>;
}

export interface StandProps {
  readonly name: string;
  readonly href: string;
  readonly revisionId: string | undefined;
  /** On the tag, below the name. */
  readonly children?: ReactNode;
}

/** The whole of it leads on, but only the name is the link that is read out. */
export function Stand({ name, href, revisionId, children }: StandProps) {
  return (
    <li className="stand">
      <div className="stand-all">
        <a className="stand-form" href={href} tabIndex={-1} aria-hidden="true">
          <FormPicture revisionId={revisionId} label="" />
        </a>
        <div className="stand-board" aria-hidden="true" />
        <HangTag>
          <h2 className="stand-name" title={name}>
            <a className="stand-link" href={href}>
              {name}
            </a>
          </h2>
          {children}
        </HangTag>
      </div>
    </li>
  );
}
