/** The six steps of a form's ticket: what each is called, and the figure that shows how it stands. */
import type { CallResult } from '../../../shared-types/contract.ts';
import { REGIONS } from '../../../shared-types/measures/index.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { countText, some } from '../../controls/figure.tsx';
import { isMadeAsDecided } from './made-as-decided.ts';
import type { TicketShown } from './use-ticket.ts';

export const STEPS = ['intake', 'mend', 'trim', 'stand', 'true', 'lighten'] as const;
export type StepName = (typeof STEPS)[number];

export type Stood = CallResult<'ticket.stand'>;

/** Stood up by the landmarks that define its frame, not by a fit or a guess. */
export const isByDefinition = ({ method }: Stood): boolean => method !== 'landmarks' && method !== 'guess';

export type Sized = CallResult<'ticket.size'>;

export interface StepState {
  /** `done`: nothing wanted. `wants`: a decision of the person. `waits`: for an earlier step or running work. */
  readonly state: 'done' | 'wants' | 'waits' | 'trouble';
  readonly figure: string;
}

/** Figures of a making's lighten step. */
export function lightened(shown: TicketShown): { faces: number; maxMm: number; meanMm: number } | undefined {
  const figures = shown.revision?.steps.find(({ verb }) => verb === 'lighten')?.figures;
  if (figures === undefined) return undefined;
  return {
    faces: Number(figures['faces']),
    maxMm: Number(figures['maxDeviationMm']),
    meanMm: Number(figures['meanDeviationMm']),
  };
}

export function stateOf(
  step: StepName,
  shown: TicketShown,
  draft: TicketDraft,
  stood: Stood | undefined,
  sized: Sized | undefined,
): StepState {
  const { prepared } = shown;
  if (prepared === undefined) {
    return { state: 'waits', figure: step === 'intake' || step === 'mend' ? 'being read and mended' : '' };
  }
  switch (step) {
    case 'intake':
      return { state: 'done', figure: `${countText(prepared.facesBefore)} faces` };
    case 'mend':
      return prepared.sound
        ? { state: 'done', figure: `sound, ${some(prepared.holesFilled, 'hole')} filled` }
        : { state: 'trouble', figure: 'not sound' };
    case 'trim':
      return draft.trim.length === 0
        ? { state: 'wants', figure: 'where to cut?' }
        : { state: 'done', figure: some(draft.trim.length, 'cut') };
    case 'stand': {
      const missing = REGIONS[draft.region ?? 'head'].frame.filter((name) => !(name in draft.landmarks)).length;
      if (missing > 0) return { state: 'wants', figure: `${some(missing, 'landmark')} to place` };
      return stood !== undefined && isByDefinition(stood)
        ? { state: 'done', figure: 'level by its landmarks' }
        : { state: 'waits', figure: '' };
    }
    case 'true': {
      if (sized?.fit === undefined) return { state: 'wants', figure: 'which measurements?' };
      const { expandedPercent, outliers } = sized.fit;
      const known = `size to ${expandedPercent.toFixed(2)} %`;
      return outliers.length > 0
        ? { state: 'trouble', figure: `${known}; ${outliers.length} left out` }
        : { state: 'done', figure: known };
    }
    case 'lighten': {
      const made = lightened(shown);
      if (made === undefined) return { state: sized?.fit === undefined ? 'waits' : 'wants', figure: 'not made yet' };
      return isMadeAsDecided(shown, draft)
        ? { state: 'done', figure: `${countText(made.faces)} faces, ${made.maxMm.toFixed(2)} mm at most` }
        : { state: 'wants', figure: 'changed since it was made' };
    }
  }
}
