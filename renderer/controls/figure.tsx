/** A value with its unit and how far it can be trusted; no size is shown without. */
import type { ReactNode } from 'react';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { lengthNumber, lengthText } from './parse-length.ts';
import './figure.css';

/** A length in the unit preferred, with its standard uncertainty if given: "181.0 ± 0.4 mm". */
export function Length(props: { readonly mm: number; readonly uMm?: number | undefined; readonly digits?: number }) {
  const { unit } = useStore(useStudio().settings);
  const { mm, uMm, digits = 1 } = props;
  return (
    <span className="numbers length">
      {uMm === undefined ? (
        lengthText(mm, unit, digits)
      ) : (
        <>
          {lengthNumber(mm, unit, digits)}
          <span className="length-plus"> ± {lengthText(uMm, unit, Math.max(1, digits))}</span>
        </>
      )}
    </span>
  );
}

export interface FigureProps {
  readonly label: ReactNode;
  readonly value: ReactNode;
  /** What it rests on, or what it means, in a few words. */
  readonly note?: ReactNode;
  readonly tone?: 'plain' | 'good' | 'doubt' | 'trouble';
}

/** In a `<dl className="figures">`. */
export function Figure({ label, value, note, tone = 'plain' }: FigureProps) {
  return (
    <div className={`figure figure-${tone}`}>
      <dt>{label}</dt>
      <dd>
        <span className="figure-value numbers">{value}</span>
        {note === undefined ? null : <span className="figure-note">{note}</span>}
      </dd>
    </div>
  );
}

export { bytesText, countText, dayText, momentText, some } from '../../shared-types/counts.ts';
