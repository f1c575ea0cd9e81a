/** A section through what is shown: the plane is moved here, and what it cuts is drawn flat with its dimensions. */
import { useEffect, useId, useState } from 'react';
import type { Viewport } from '../viewport/viewport.ts';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { ChoiceField } from './field.tsx';
import { heightsFrom } from './heights.ts';
import { lengthText } from './parse-length.ts';
import { boxOf, gapsOf, lengthOf, pathOf, type FlatGap, type FlatLine } from './section-figures.ts';
import './section-sheet.css';

type Way = 'level' | 'side' | 'front';

/** Where the plane lies along its own axis, which side stays, and what the sheet's width and height are called. */
const WAYS: Readonly<
  Record<
    Way,
    {
      axis: 0 | 1 | 2;
      normal: readonly [number, number, number];
      where: string;
      wide: string;
      high: string;
    }
  >
> = {
  level: { axis: 2, normal: [0, 0, -1], where: 'above', wide: 'wide', high: 'deep' },
  side: { axis: 1, normal: [0, -1, 0], where: 'left of the middle', wide: 'deep', high: 'high' },
  front: { axis: 0, normal: [-1, 0, 0], where: 'in front of', wide: 'wide', high: 'high' },
};

export interface SectionSheetProps {
  /** Of the body, as its recipe names it. */
  readonly region?: unknown;
  readonly view: Viewport | undefined;
  /** xyz triples of the mesh that fixes how far the plane may go. */
  readonly positions: Float32Array;
  /** Grows when what is shown has changed. */
  readonly shown: number;
}

export function SectionSheet({ view, positions, shown, region }: SectionSheetProps) {
  const { unit } = useStore(useStudio().settings);
  const [way, setWay] = useState<Way>('level');
  const [places, setPlaces] = useState<Partial<Record<Way, number>>>({});
  const [lines, setLines] = useState<readonly FlatLine[]>([]);
  const id = useId();
  const { axis, normal, wide, high } = WAYS[way];
  const where = way === 'side' ? WAYS.side.where : `${WAYS[way].where} ${heightsFrom(region)}`;
  const [least, most] = extentOf(positions, axis);
  const at =
    places[way] ?? (way === 'level' ? Math.min(most, Math.max(least, 60)) : way === 'side' ? 0 : (least + most) / 2);

  useEffect(() => {
    if (view === undefined) return;
    const point = [0, 0, 0] as [number, number, number];
    point[axis] = at;
    view.setSection({ point, normal: [...normal] });
    setLines(view.getSection()?.lines ?? []);
  }, [view, axis, normal, at, shown]);
  useEffect(() => () => view?.setSection(undefined), [view]);

  const longest = way === 'level' ? lines.filter((line) => line.closed && line.slot === 'form').map(lengthOf) : [];
  return (
    <div className="section-sheet">
      <ChoiceField
        label="Section"
        isLabelHidden
        value={way}
        onChange={setWay}
        options={[
          { value: 'level', label: 'Level' },
          { value: 'side', label: 'Lengthwise' },
          { value: 'front', label: 'Across' },
        ]}
      />
      <label className="only-heard" htmlFor={id}>
        Place of the section
      </label>
      <input
        id={id}
        type="range"
        min={Math.ceil(least)}
        max={Math.floor(most)}
        step={1}
        value={at}
        aria-valuetext={`${at.toFixed(0)} mm ${where}`}
        onChange={(event) => setPlaces({ ...places, [way]: Number(event.target.value) })}
      />
      <p className="small numbers">
        {lengthText(at, unit, 0)} {where}
      </p>
      <Drawing lines={lines} way={way} />
      <GapsLine gaps={gapsOf(lines)} way={way} />
      <p className="small numbers" role="status">
        {figuresText(
          lines,
          wide,
          high,
          (mm) => lengthText(mm, unit),
          longest.length === 0 ? '' : `, ${lengthText(Math.max(...longest), unit, 0)} round following every hollow`,
        )}
      </p>
    </div>
  );
}

function extentOf(positions: Float32Array, axis: number): [number, number] {
  let [least, most] = [Infinity, -Infinity];
  for (let at = axis; at < positions.length; at += 3) {
    least = Math.min(least, positions[at]);
    most = Math.max(most, positions[at]);
  }
  return least > most ? [0, 0] : [least, most];
}

/** `round`: what is said of the form's own outline besides. */
function figuresText(
  lines: readonly FlatLine[],
  wide: string,
  high: string,
  say: (mm: number) => string,
  round: string,
): string {
  const words: string[] = [];
  for (const slot of new Set(lines.map((line) => line.slot))) {
    // Volumes left free have names of their own, and sizes of their own beside the form.
    if (slot.startsWith('keep ')) continue;
    const box = boxOf(lines.filter((line) => line.slot === slot));
    if (box === undefined) continue;
    const name = slot.replace(/^./, (first) => first.toUpperCase());
    words.push(
      `${name} ${say(box.maxX - box.minX)} ${wide}, ${say(box.maxY - box.minY)} ${high}${slot === 'form' ? round : ''}`,
    );
  }
  return words.length === 0 ? 'Nothing is cut here' : words.join('; ');
}

/** What lies at the ends of the sheet's axes: x as the drawing shows it from left to right, y from below. */
const ENDS: Readonly<Record<Way, Readonly<Record<FlatGap['way'], string>>>> = {
  level: { 'high x': 'left', 'low x': 'right', 'low y': 'back', 'high y': 'front' },
  side: { 'high x': 'front', 'low x': 'back', 'low y': 'below', 'high y': 'top' },
  front: { 'high x': 'left', 'low x': 'right', 'low y': 'below', 'high y': 'top' },
};

/** Foam and wall in words, along the dimension lines of the drawing. */
function GapsLine({ gaps, way }: { readonly gaps: readonly FlatGap[]; readonly way: Way }) {
  const { unit } = useStore(useStudio().settings);
  if (gaps.length === 0) return null;
  return (
    <dl className="section-gaps small numbers">
      {gaps.map((gap) => (
        <div key={gap.way}>
          <dt>{ENDS[way][gap.way].replace(/^./, (first) => first.toUpperCase())}</dt>
          <dd>
            {gap.foamMm === undefined ? null : <span>foam {lengthText(gap.foamMm, unit)}</span>}
            {gap.wallMm === undefined ? null : <span>wall {lengthText(gap.wallMm, unit)}</span>}
          </dd>
        </div>
      ))}
    </dl>
  );
}

/** The dimension lines: ticks where form, liner and wall are met, drawn as the lines are (mirrored in x, y upward). */
function gapPath({ way, at, across }: FlatGap, tick: number): string {
  const isLevel = way.endsWith('x');
  const place = (c: number, aside: number): string =>
    isLevel ? `${-c} ${-across + aside}` : `${-across + aside} ${-c}`;
  const ticks = at.map((c) => `M${place(c, -tick)}L${place(c, tick)}`).join('');
  return `M${place(at[0], 0)}L${place(at[at.length - 1], 0)}${ticks}`;
}

/** Of the larger side of what is cut: room for the sizes, and their letters. */
const MARGIN = 0.16;
const LETTERS = 0.062;
const GRID_MM = 50;

/** The lines on squared paper, with the width below and the height at the left between calliper marks. */
function Drawing({ lines, way }: { readonly lines: readonly FlatLine[]; readonly way: Way }) {
  const { unit } = useStore(useStudio().settings);
  const id = useId();
  const box = boxOf(lines);
  if (box === undefined) return <div className="section-nothing" />;
  const { minX, minY, maxX, maxY } = box;
  const [width, height] = [maxX - minX, maxY - minY];
  const margin = MARGIN * Math.max(width, height, 1);
  const letters = LETTERS * Math.max(width, height, 1);
  const tip = letters / 3;
  const [left, top] = [-maxX - margin, -maxY - margin];
  const [belowY, leftX] = [-minY + letters * 0.8, -maxX - letters * 0.8];
  const sheet = { width: width + 2 * margin, height: height + 2 * margin };
  return (
    <svg
      className="section-drawing"
      viewBox={`${left} ${top} ${sheet.width} ${sheet.height}`}
      fontSize={letters}
      aria-hidden="true"
    >
      <defs>
        <pattern id={id} width={GRID_MM} height={GRID_MM} patternUnits="userSpaceOnUse">
          <path className="section-grid" d={`M0 0H${GRID_MM}M0 0V${GRID_MM}`} />
        </pattern>
      </defs>
      <rect x={left} y={top} {...sheet} fill={`url(#${id})`} />
      {lines.map((line, index) => (
        <path key={index} className={`section-line section-${line.slot}`} d={pathOf(line)} />
      ))}
      {gapsOf(lines).map((gap) => (
        <path key={gap.way} className="section-gap" d={gapPath(gap, letters / 2)} />
      ))}
      <path
        className="section-calliper"
        d={`M${-maxX} ${belowY - tip}V${belowY}H${-minX}V${belowY - tip}M${leftX + tip} ${-maxY}H${leftX}V${-minY}H${leftX + tip}`}
      />
      {way === 'front' ? null : (
        <text
          className="section-front"
          textAnchor="middle"
          transform={
            way === 'level'
              ? `translate(${-(minX + maxX) / 2} ${-maxY - 0.6 * letters})`
              : `translate(${-maxX + 2.4 * letters} ${-maxY - 0.6 * letters})`
          }
        >
          {way === 'level' ? 'front' : '← front'}
        </text>
      )}
      <text className="section-size" x={-(minX + maxX) / 2} y={belowY + 1.2 * letters} textAnchor="middle">
        {lengthText(width, unit, 0)}
      </text>
      <text
        className="section-size"
        textAnchor="middle"
        transform={`translate(${leftX - tip} ${-(minY + maxY) / 2}) rotate(-90)`}
      >
        {lengthText(height, unit, 0)}
      </text>
    </svg>
  );
}
