import type { Prepared } from '../../../shared-types/contract.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { Button } from '../../controls/button.tsx';
import { ChoiceField } from '../../controls/field.tsx';
import { Figure, countText, some } from '../../controls/figure.tsx';
import { Remark, Stamp } from '../../controls/paper.tsx';
import type { Edit } from './use-ticket.ts';

export interface MendStepProps {
  readonly prepared: Prepared;
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly isWiped: boolean;
  readonly onWipe: (on: boolean) => void;
}

const roughly = (mm: number): string => `${mm < 10 ? mm.toFixed(2) : mm.toFixed(0)} mm`;

export function MendStep({ prepared, draft, edit, isWiped, onWipe }: MendStepProps) {
  const { dropped } = prepared;
  return (
    <>
      <p className="step-words">
        <Stamp tone={prepared.sound ? 'good' : 'trouble'}>{prepared.sound ? 'sound' : 'not sound'}</Stamp>{' '}
        {prepared.sound
          ? 'Closed, with one side outward, and no face cuts another: proven on these very numbers.'
          : 'The surface could not be made sound.'}
      </p>
      <dl className="figures">
        <Figure label="Faces now" value={countText(prepared.facesAfter)} />
        <Figure
          label="Holes filled"
          value={countText(prepared.holesFilled)}
          note={prepared.holesFilled > 0 ? `the largest ${roughly(prepared.largestHoleMm)} round` : undefined}
        />
        <Figure
          label="Scan points moved"
          value={roughly(prepared.movedMeanMm)}
          note={`on average; ${roughly(prepared.movedMaxMm)} at most`}
        />
      </dl>
      {prepared.warnings.map(({ sentence }) => (
        <Remark key={sentence} tone="doubt">
          {sentence}
        </Remark>
      ))}
      {dropped.length === 0 ? null : (
        <details className="step-more">
          <summary>{some(dropped.length, 'piece')} left out as not part of the body</summary>
          <ul>
            {dropped.slice(0, 12).map((piece, at) => (
              <li key={at}>
                {some(piece.faces, 'face')}, {roughly(piece.widthMm)} wide, {roughly(piece.distanceMm)} away
              </li>
            ))}
            {dropped.length > 12 ? <li>and {dropped.length - 12} smaller ones</li> : null}
          </ul>
        </details>
      )}
      <ChoiceField
        label="Which pieces stay"
        value={draft.keep}
        onChange={(keep) => edit('choose which pieces stay', (before) => ({ ...before, keep }))}
        options={[
          { value: 'largest', label: 'the body' },
          { value: 'all', label: 'everything but dust' },
        ]}
      />
      <p className="small soft">Lengths here are by the guessed unit.</p>
      <div className="button-row">
        <Button aria-pressed={isWiped} onClick={() => onWipe(!isWiped)}>
          {isWiped ? 'Show the mended scan alone' : 'Compare with the scan as it came'}
        </Button>
      </div>
    </>
  );
}
