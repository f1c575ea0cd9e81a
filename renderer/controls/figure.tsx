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

export const countText = (count: number): string => count.toLocaleString('en-GB').replaceAll(',', ' ');

export function bytesText(bytes: number): string {
  const mega = bytes / 1e6;
  if (mega >= 100) return `${mega.toFixed(0)} MB`;
  if (mega >= 1) return `${mega.toFixed(1)} MB`;
  return `${Math.max(1, Math.round(bytes / 1000))} kB`;
}

/** "25 November 2026"; with the clock for today. */
export function dayText(moment: string): string {
  const date = new Date(moment);
  return date.toLocaleDateString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
}

/** "1 scan", "3 scans". */
export function some(count: number, one: string, many = `${one}s`): string {
  return `${countText(count)} ${count === 1 ? one : many}`;
}
