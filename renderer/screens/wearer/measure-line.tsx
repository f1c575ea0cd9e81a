import { useState } from 'react';
import { hatSize } from '../../../shared-types/measures/hat-sizes.ts';
import { measureKind, splitSide, type MeasureKind, type MeasureRange } from '../../../shared-types/measures/index.ts';
import { measurePicture } from '../../../shared-types/measures/pictures.ts';
import { sureKindOf, type UsualUncertainty } from '../../../shared-types/usual-uncertainty.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import { BodyPicture } from '../../controls/body-picture.tsx';
import { Button } from '../../controls/button.tsx';
import { dayText, Length, some } from '../../controls/figure.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark } from '../../controls/paper.tsx';
import { lengthText, type LengthUnit } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { ReadingDialog } from './reading-dialog.tsx';
import { otherSide } from './sheet-parts.ts';
import type { Wearing } from './wearing.ts';

export function MeasureLine(props: {
  readonly measure: MeasureKind;
  readonly wearing: Wearing;
  readonly takenOn: string;
}) {
  const { measure, wearing, takenOn } = props;
  const studio = useStudio();
  const { unit, takenBy } = useStore(studio.settings);
  const [round, setRound] = useState(0);
  const [valueMm, setValueMm] = useState<number>();
  const [isBusy, setBusy] = useState(false);
  const [isDetailed, setDetailed] = useState(false);
  const readings = wearing.readings.filter((one) => one.name === measure.name && !one.withdrawn);
  const known = wearing.known.find((one) => one.name === measure.name);
  const other = wearing.known.find((one) => one.name === otherSide(measure.name));
  const picture = measurePicture(measure.name);
  const usualMm = wearing.usual[measure.sure];
  const usual = `to ± ${lengthText(usualMm, unit, 1)}, or say otherwise…`;

  const write = async (mm: number): Promise<void> => {
    if (isBusy) return;
    setBusy(true);
    const added = await studio.ask('reading.add', {
      wearerId: wearing.wearer.id,
      kind: measure.kind,
      name: measure.name,
      valueMm: mm,
      instrument: measure.instrument,
      ...(takenBy.trim() === '' ? {} : { takenBy: takenBy.trim() }),
      ...(takenOn === '' ? {} : { takenOn }),
    });
    setBusy(false);
    if (added === undefined) return;
    setRound(round + 1);
    setValueMm(undefined);
  };
  return (
    <li className="line">
      <div className="line-picture">{picture === undefined ? null : <BodyPicture picture={picture} />}</div>
      <div className="line-name">
        <h3>{splitSide(measure.name).name.replace(/^./, (first) => first.toUpperCase())}</h3>
        <p className="soft small">
          {measure.how} <em>{measure.instrument.replace(/^./, (first) => first.toUpperCase())}.</em>
        </p>
      </div>
      <div className="line-value" aria-live="polite">
        {known === undefined ? (
          <span className="soft">Not taken</span>
        ) : (
          <>
            <Length mm={known.mm} uMm={known.uMm} />
            <span className="soft small">
              {some(known.count, 'reading')}
              {known.spreadMm === undefined ? null : (
                <>
                  , <Length mm={known.spreadMm} /> apart
                </>
              )}
            </span>
            {known.earlier === undefined ? null : (
              <span className="soft small">
                <Length mm={known.earlier.mm} /> up to {dayText(known.earlier.takenOn)}, no longer counted:{' '}
                {changeText(known.mm - known.earlier.mm, unit)} since
              </span>
            )}
            {measure.name === 'head circumference' ? <HatSizes girthMm={known.mm} /> : null}
          </>
        )}
        {other === undefined ? null : (
          <span className="soft small">
            {splitSide(other.name).side} <Length mm={other.mm} />
          </span>
        )}
      </div>
      <form
        className="line-entry"
        onSubmit={(event) => {
          event.preventDefault();
          if (valueMm !== undefined) void write(valueMm);
        }}
      >
        <LengthField
          key={round}
          label={`A reading of ${measure.name}`}
          isLabelHidden
          unit={unit}
          placeholder={known === undefined ? 'Reading' : 'One more'}
          autoFocus={round > 0}
          onRead={setValueMm}
        />
        <Button type="submit" busy={isBusy} disabled={valueMm === undefined} aria-label={`Write down ${measure.name}`}>
          Write
        </Button>
        <Button
          tone="quiet"
          className="line-more"
          aria-label={`${usual} (${measure.name})`}
          onClick={() => setDetailed(true)}
        >
          {usual}
        </Button>
      </form>
      {isDetailed ? (
        <ReadingDialog
          wearerId={wearing.wearer.id}
          usual={wearing.usual}
          takenOn={takenOn}
          of={measure}
          onClose={() => setDetailed(false)}
        />
      ) : null}
      {valueMm !== undefined && isUnheardOf(valueMm, measure) ? (
        <div className="line-wide">
          <Remark tone="doubt">
            {OUTSIDE[measure.range?.from ?? 'judged']} {lengthText(measure.range?.mm[0] ?? 0, unit, 0)} to{' '}
            {lengthText(measure.range?.mm[1] ?? 0, unit, 0)}. It may be right all the same; look at the{' '}
            {byWhat(measure)} once more.
          </Remark>
        </div>
      ) : null}
      {known?.doubt === undefined ? null : (
        <div className="line-wide">
          <Remark tone="doubt">{known.doubt}</Remark>
        </div>
      )}
      {readings.length === 0 ? null : (
        <details className="line-wide line-readings">
          <summary>{readings.length === 1 ? 'The reading' : `The ${readings.length} readings`}</summary>
          <ul>
            {readings.map((reading) => (
              <ReadingRow key={reading.id} reading={reading} usual={wearing.usual} />
            ))}
          </ul>
        </details>
      )}
    </li>
  );
}

/** A hat of that girth says nothing of the head's shape. */
function HatSizes({ girthMm }: { readonly girthMm: number }) {
  const { cm, us, uk, letter } = hatSize(girthMm);
  return (
    <span className="soft small">
      Hat {cm} cm, US {us}, UK {uk}
      {letter === undefined ? '' : `, about ${letter}`}
    </span>
  );
}

const changeText = (mm: number, unit: LengthUnit): string =>
  `${lengthText(Math.abs(mm), unit, 1)} ${mm < 0 ? 'less' : 'more'}`;

function isUnheardOf(mm: number, { range }: MeasureKind): boolean {
  return range !== undefined && (mm < range.mm[0] || mm > range.mm[1]);
}

/** What a reading outside its range is up against. */
const OUTSIDE: Readonly<Record<MeasureRange['from'], string>> = {
  seen: 'Of some six thousand people in a survey of 2012, nobody’s lay outside',
  widened: 'By a survey of 2012 one would expect',
  judged: 'Of an adult one would expect',
};

const byWhat = ({ kind }: MeasureKind): string => (kind === 'span' ? 'calliper' : 'tape');

function ReadingRow({ reading, usual }: { readonly reading: Reading; readonly usual: UsualUncertainty }) {
  const studio = useStudio();
  const [isCorrecting, setCorrecting] = useState(false);
  const withdraw = async (): Promise<void> => {
    const gone = await studio.ask('reading.withdraw', { wearerId: reading.wearerId, id: reading.id });
    if (gone === undefined) return;
    studio.notes.add({
      tone: 'plain',
      text: `A reading of ${reading.name} was withdrawn.`,
      action: { label: 'Undo', run: () => void studio.undo() },
    });
  };
  const about = [
    reading.instrument,
    reading.takenBy === undefined ? undefined : `by ${reading.takenBy}`,
    reading.takenOn === undefined ? undefined : `on ${dayText(reading.takenOn)}`,
  ].filter((part) => part !== undefined);
  return (
    <li className="reading">
      <Length
        mm={reading.valueMm}
        uMm={reading.uncertaintyMm ?? usual[sureKindOf(reading.kind, measureKind(reading.name))]}
      />
      <span className="soft small">{about.join(', ')}</span>
      <span className="button-row">
        <Button tone="quiet" onClick={() => setCorrecting(true)}>
          Correct…
        </Button>
        <Button tone="quiet" onClick={() => void withdraw()}>
          Withdraw
        </Button>
      </span>
      {isCorrecting ? (
        <ReadingDialog
          wearerId={reading.wearerId}
          usual={usual}
          takenOn={reading.takenOn ?? ''}
          replaces={reading}
          onClose={() => setCorrecting(false)}
        />
      ) : null}
    </li>
  );
}
