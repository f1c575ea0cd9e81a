/** The true-up desk: the measurement sheet beside the head, each reading against the scan. */
import { useState } from 'react';
import { foundLandmarkUMm, measureKind, REGIONS } from '../../../shared-types/measures/index.ts';
import type { TicketDraft, TicketMeasure } from '../../../shared-types/records/ticket.ts';
import { dayOfReading, isLongBefore } from '../../../shared-types/sitting.ts';
import { sureKindOf } from '../../../shared-types/usual-uncertainty.ts';
import { Button } from '../../controls/button.tsx';
import { SelectField } from '../../controls/field.tsx';
import { Length } from '../../controls/figure.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import type { LengthUnit } from '../../controls/parse-length.ts';
import { Remark } from '../../controls/paper.tsx';
import { Loading } from '../../controls/states.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { today } from '../../state/today.ts';
import { AddGirth, GirthPlace } from './level-fields.tsx';
import { ResidualBar } from './residual-bar.tsx';
import type { Sized } from './steps.ts';
import type { Edit, TicketShown } from './use-ticket.ts';

export interface TrueStepProps {
  readonly shown: TicketShown;
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly sized: Sized | undefined;
  readonly selected: string | undefined;
  readonly onSelect: (name: string | undefined) => void;
}

export function TrueStep({ shown, draft, edit, sized, selected, onSelect }: TrueStepProps) {
  const fit = sized?.fit;
  const { unit } = useStore(useStudio().settings);
  const [isAdding, setAdding] = useState(false);
  const unseen = Object.values(draft.landmarks).filter(({ origin }) => origin === 'guess').length;
  return (
    <>
      <p className="step-words">
        Every reading of the wearer takes part in the size, weighed by how sure it is. Type what the calliper or the
        tape read; <span className="numbers">7 1/8 in</span> or <span className="numbers">172+3</span> will do.
      </p>
      {fit === undefined ? (
        <Remark tone="plain">{sized?.missing ?? 'The size is being worked out.'}</Remark>
      ) : (
        <div className="size-result">
          <p className="size-factor">
            <span className="numbers">{factorText(fit.factor)}</span> mm for one number of the scan
          </p>
          <p>
            known to <strong className="numbers">{fit.expandedPercent.toFixed(2)} %</strong> (95 %): on a 200 mm length
            that is <Length mm={(200 * fit.expandedPercent) / 100} digits={2} /> either way
          </p>
        </div>
      )}
      {unseen === 0 ? null : (
        <Remark tone="doubt">
          {unseen} landmarks were found by the program and not looked at yet; lengths between them count with{' '}
          {foundLandmarkUMm(draft.region)} mm more uncertainty until you confirm them (step stand).
        </Remark>
      )}
      <div className="remarks">
        {fit?.advice.map((sentence) => (
          <Remark key={sentence} tone={toneOf(sentence, sized?.warnings ?? [])}>
            {sentence}
          </Remark>
        ))}
      </div>
      <table className="measure-sheet">
        <thead>
          <tr>
            <th scope="col">Measure</th>
            <th scope="col">On the person</th>
            <th scope="col">On the scan</th>
            <th scope="col">Off by</th>
            <th scope="col">In the size</th>
          </tr>
        </thead>
        <tbody>
          {draft.measures.map((measure) => (
            <MeasureRow
              key={`${measure.kind} ${measure.name}`}
              {...{ measure, shown, draft, edit, sized, onSelect }}
              isSelected={selected === measure.name}
            />
          ))}
        </tbody>
      </table>
      <div className="button-row">
        <Button onClick={() => setAdding(true)}>Add a girth…</Button>
      </div>
      {isAdding ? (
        <AddGirth
          {...{ draft, unit, edit }}
          onClose={(added) => {
            setAdding(false);
            if (added !== undefined) onSelect(added);
          }}
        />
      ) : null}
      {sized === undefined ? <Loading what="Measuring the scan" /> : null}
    </>
  );
}

const factorText = (factor: number): string => (factor >= 100 ? factor.toFixed(1) : factor.toPrecision(5));

function toneOf(sentence: string, warnings: readonly { sentence: string }[]): 'good' | 'doubt' {
  return warnings.some((warning) => warning.sentence === sentence) ? 'doubt' : 'good';
}

/** How the tape lay: over hair, or pulled tight. Spans have no tape. */
function TapeTold(props: {
  readonly measure: TicketMeasure;
  readonly unit: LengthUnit;
  readonly change: (label: string, by: Partial<TicketMeasure>) => void;
}) {
  const { measure, unit, change } = props;
  const { name, kind, hairMm = 0, taut } = measure;
  if (kind === 'span') return null;
  if (kind === 'arc') {
    return (
      <div className="measure-tape">
        <SelectField
          label="The tape"
          value={taut === false ? 'laid' : 'taut'}
          onChange={(next) => change(`change the tape of ${name}`, { taut: next === 'taut' })}
          options={[
            { value: 'taut', label: 'pulled tight over hollows' },
            { value: 'laid', label: 'laid on the skin everywhere' },
          ]}
        />
      </div>
    );
  }
  return (
    <div className="measure-tape">
      <LengthField
        label="Hair under the tape"
        hint="How far off the skin it lay, pressed flat; 0 for none."
        unit={unit}
        valueMm={hairMm}
        leastMm={0}
        mostMm={60}
        onCommit={(mm) => change(`change the hair under ${name}`, { hairMm: mm })}
      />
      {hairMm > 0 ? (
        <p className="small">
          Takes <Length mm={2 * Math.PI * hairMm} /> off the reading, and makes it that much less sure: told by eye,
          hair is known to a third at best.
        </p>
      ) : null}
    </div>
  );
}

function MeasureRow(props: {
  readonly measure: TicketMeasure;
  readonly shown: TicketShown;
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly sized: Sized | undefined;
  readonly isSelected: boolean;
  readonly onSelect: (name: string | undefined) => void;
}) {
  const { measure, shown, draft, edit, sized, isSelected, onSelect } = props;
  const studio = useStudio();
  const { unit, takenBy } = useStore(studio.settings);
  const [trouble, setTrouble] = useState<string>();
  const { name, kind, role } = measure;
  const known = shown.known.find((one) => one.name === name && one.kind === kind);
  const readings = shown.readings.filter((one) => one.name === name && one.kind === kind);
  const drawn = sized?.drawn.find((one) => one.name === name);
  const residual = sized?.fit?.residuals.find((one) => one.name === name);
  const without = sized?.without.find((one) => one.name === name);
  const isBad = residual?.role === 'left out';
  const unplaced = measure.landmarks.filter((landmark) => draft.landmarks[landmark] === undefined);

  // A level lies in the standing body.
  const isFloating =
    measure.level !== undefined &&
    REGIONS[draft.region ?? 'head'].frame.some((landmark) => draft.landmarks[landmark] === undefined);

  const change = (label: string, by: Partial<TicketMeasure>): void =>
    edit(label, (before) => ({
      ...before,
      measures: before.measures.map((one) => (one.name === name && one.kind === kind ? { ...one, ...by } : one)),
    }));

  const save = async (valueMm: number): Promise<void> => {
    const [only] = readings;
    // One reading of these days is corrected; else another is taken: the sheet keeps them all either way.
    const isOfNow = readings.length === 1 && !isLongBefore(dayOfReading(only), today());
    const replaces = isOfNow ? { replacesId: only.id } : {};
    const added = await studio.client.call('reading.add', {
      wearerId: shown.wearer.id,
      kind,
      name,
      valueMm,
      instrument: measureKind(name)?.instrument ?? (kind === 'span' ? 'calliper' : 'tape'),
      ...(takenBy === '' ? {} : { takenBy }),
      takenOn: today(),
      ...replaces,
    });
    setTrouble(added.ok ? undefined : 'It was not kept; look at the value.');
  };

  return (
    <>
      <tr className={`${isBad ? 'measure-bad ' : ''}${isSelected ? 'measure-selected' : ''}`}>
        <th scope="row">
          <Button tone="quiet" aria-pressed={isSelected} onClick={() => onSelect(isSelected ? undefined : name)}>
            {name}
          </Button>
        </th>
        <td className="measure-value">
          <LengthField
            label={`${name} on the person`}
            isLabelHidden
            unit={unit}
            valueMm={known?.mm}
            leastMm={1}
            mostMm={3000}
            placeholder="–"
            trouble={trouble}
            onCommit={(mm) => void save(mm)}
          />
          {known === undefined ? (
            <span className="small soft numbers">to ± {shown.usual[sureKindOf(kind, measureKind(name))]} mm</span>
          ) : (
            <span className="small soft numbers">
              ± {known.uMm.toFixed(1)} mm{known.count > 1 ? `, mean of ${known.count}` : ''}
              {residual?.hairAllowanceMm === undefined ? null : (
                <>
                  , less <Length mm={residual.hairAllowanceMm} /> hair
                </>
              )}
            </span>
          )}
        </td>
        <td className="numbers">
          {drawn === undefined ? (
            <span className="small soft">
              {unplaced.length > 0 ? 'landmarks missing' : isFloating ? 'not standing yet' : '…'}
            </span>
          ) : drawn.scaledMm === undefined ? (
            <span className="small soft">no size yet</span>
          ) : (
            <Length mm={drawn.scaledMm} />
          )}
        </td>
        <td>
          {residual === undefined ? null : (
            <ResidualBar offMm={-residual.residualMm} uMm={residual.residualUMm} isBad={isBad} />
          )}
        </td>
        <td className="measure-role">
          <SelectField
            label={`Part of ${name} in the size`}
            isLabelHidden
            value={role}
            onChange={(next) => change(`change the part of ${name}`, { role: next })}
            options={[
              { value: 'use', label: 'counts' },
              { value: 'hold', label: 'checks only' },
              { value: 'leave', label: 'set aside' },
            ]}
          />
        </td>
      </tr>
      {isSelected || isBad || known?.doubt !== undefined ? (
        <tr className="measure-more">
          <td colSpan={5}>
            {isBad ? (
              <Remark tone="trouble">
                Left out: it is {Math.abs(residual.residualMm).toFixed(1)} mm{' '}
                {residual.residualMm > 0 ? 'more' : 'less'} on the person than the others say. Measure it again and type
                the new value.
              </Remark>
            ) : null}
            {known?.doubt === undefined ? null : <Remark tone="doubt">{known.doubt}</Remark>}
            {isSelected ? (
              <p className="small">
                {measureKind(name)?.how} {unplaced.length > 0 ? `Still to place: ${unplaced.join(', ')}.` : ''}{' '}
                {without === undefined
                  ? ''
                  : `Without it the size would change by ${without.changePercent >= 0 ? '+' : '−'}${Math.abs(without.changePercent).toFixed(2)} % and be known to ${without.expandedPercent.toFixed(2)} %.`}
              </p>
            ) : null}
            {isSelected ? <TapeTold {...{ measure, unit, change }} /> : null}
            {isSelected && kind === 'girth' ? <GirthPlace {...{ measure, draft, unit, edit, change }} /> : null}
          </td>
        </tr>
      ) : null}
    </>
  );
}
