/** The sheet on which lengths taken by hand are written, one line for each measure, several readings in a line. */
import { useRef, useState } from 'react';
import type { MeasureKind, Side } from '../../../shared-types/measures/index.ts';
import { saveBytes } from '../../client/download.ts';
import { Button } from '../../controls/button.tsx';
import { ChoiceField, TextField } from '../../controls/field.tsx';
import { Length, some } from '../../controls/figure.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { today } from '../../state/today.ts';
import { MeasureLine } from './measure-line.tsx';
import { ReadingDialog } from './reading-dialog.tsx';
import { firstPart, isPaired, linesOf, partsOf, type SheetPart } from './sheet-parts.ts';
import { SureDialog } from './sure-dialog.tsx';
import type { Wearing } from './wearing.ts';

/** What readings of a kind are taken with. */
const BY: Readonly<Record<MeasureKind['kind'], string>> = {
  span: 'calliper',
  girth: 'tape, round',
  arc: 'tape, along',
};

export function MeasurementSheet({ wearing }: { readonly wearing: Wearing }) {
  const studio = useStudio();
  const settings = useStore(studio.settings);
  const [takenOn, setTakenOn] = useState(today());
  const [isAdding, setAdding] = useState(false);
  const [isSetting, setSetting] = useState(false);
  const parts = partsOf(wearing);
  const [chosen, setChosen] = useState<SheetPart>();
  const [side, setSide] = useState<Side>('right');
  const wanted = chosen ?? firstPart(parts);
  const part = parts.some((one) => one.part === wanted) ? wanted : 'head';
  const file = useRef<HTMLInputElement>(null);
  const { id, name } = wearing.wearer;

  const takeOut = async (): Promise<void> => {
    const table = await studio.ask('reading.export', { wearerId: id });
    if (table !== undefined) saveBytes(`${name} readings.csv`, table.csv, 'text/csv');
  };
  const bringIn = async (chosen: File): Promise<void> => {
    const added = await studio.ask('reading.import', { wearerId: id, csv: await chosen.text() });
    if (added === undefined) return;
    const there = added.alreadyHere === 0 ? '' : ` Already on the sheet: ${added.alreadyHere}.`;
    studio.notes.add({ tone: 'good', text: `${some(added.added, 'reading')} written on the sheet.${there}` });
  };

  return (
    <TicketCard
      className="sheet-card"
      kind="Taken by hand"
      title="Measurement sheet"
      aside={
        <>
          <Button tone="quiet" onClick={() => setSetting(true)}>
            How sure…
          </Button>
          <Button tone="quiet" onClick={() => file.current?.click()}>
            Bring a table…
          </Button>
          <Button tone="quiet" onClick={() => void takeOut()} disabled={wearing.readings.length === 0}>
            Save as a table
          </Button>
        </>
      }
      stub={
        <div className="button-row">
          <Button onClick={() => setAdding(true)}>Write down another length…</Button>
          <span className="soft small">Sums and inches can be written too: 172+3, 7 1/8 in, 18 cm.</span>
        </div>
      }
    >
      <div className="sheet-who">
        <TextField
          label="Taken by"
          value={settings.takenBy}
          onChange={(takenBy) => studio.settings.set({ ...settings, takenBy })}
          maxLength={200}
        />
        <TextField label="On" type="date" value={takenOn} onChange={setTakenOn} />
      </div>
      <div className="sheet-parts">
        <ChoiceField
          label="Part of the body"
          isLabelHidden
          value={part}
          onChange={setChosen}
          options={parts.map((one) => ({
            value: one.part,
            label: (
              <>
                {one.title}
                {one.taken === 0 ? null : <small className="numbers">{one.taken}</small>}
              </>
            ),
            heard: `${one.title}, ${some(one.taken, 'length')} taken of ${one.all}`,
          }))}
        />
        {isPaired(part) ? (
          <ChoiceField
            label="Side"
            isLabelHidden
            value={side}
            onChange={setSide}
            options={[
              { value: 'left', label: 'Left' },
              { value: 'right', label: 'Right' },
            ]}
          />
        ) : null}
      </div>
      <ul className="sheet-lines">
        {linesOf(wearing, part, side).map((measure) => (
          <MeasureLine key={measure.name} measure={measure} wearing={wearing} takenOn={takenOn} />
        ))}
      </ul>
      <Repeats wearing={wearing} />
      <input
        ref={file}
        type="file"
        accept=".csv,text/csv"
        className="only-heard"
        tabIndex={-1}
        aria-label="Table of readings"
        onChange={(event) => {
          const [chosen] = event.target.files ?? [];
          if (chosen !== undefined) void bringIn(chosen);
          event.target.value = '';
        }}
      />
      {isAdding ? (
        <ReadingDialog wearerId={id} usual={wearing.usual} takenOn={takenOn} onClose={() => setAdding(false)} />
      ) : null}
      {isSetting ? <SureDialog usual={wearing.usual} onClose={() => setSetting(false)} /> : null}
    </TicketCard>
  );
}

/** How well this hand repeats its readings, over all lengths taken more than once. */
function Repeats({ wearing: { repeatability } }: { readonly wearing: Wearing }) {
  if (repeatability.length === 0) {
    return (
      <p className="soft small sheet-repeats">
        Take each length twice or three times, the instrument off in between: only then does the sheet know how well
        your readings repeat.
      </p>
    );
  }
  return (
    <div className="sheet-repeats">
      <h3>How well the readings repeat</h3>
      <ul className="plain-list small">
        {repeatability.map(({ kind, temMm, lengths, readings }) => (
          <li key={kind}>
            By {BY[kind]}: to <Length mm={temMm} />{' '}
            <span className="soft">
              technical error of measurement, from {some(readings, 'reading')} of {some(lengths, 'length')}
            </span>
          </li>
        ))}
      </ul>
    </div>
  );
}
