/** The sheet on which lengths taken by hand are written, one line for each measure, several readings in a line. */
import { useRef, useState } from 'react';
import { HEAD_MEASURES, type MeasureKind } from '../../../shared-types/measures/index.ts';
import { saveBytes } from '../../client/download.ts';
import { Button } from '../../controls/button.tsx';
import { TextField } from '../../controls/field.tsx';
import { some } from '../../controls/figure.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { today } from '../../state/today.ts';
import { MeasureLine } from './measure-line.tsx';
import { ReadingDialog } from './reading-dialog.tsx';
import type { Wearing } from './wearing.ts';

const OTHER_HOW: Readonly<Record<MeasureKind['kind'], string>> = {
  span: 'Straight, by calliper.',
  girth: 'Round, by tape.',
  arc: 'Along the surface, by tape.',
};

/** The catalogue's measures, then whatever else stands on the sheet. */
function linesOf(wearing: Wearing): readonly MeasureKind[] {
  const known = new Set(HEAD_MEASURES.map((measure) => measure.name));
  const others = new Map<string, MeasureKind>();
  for (const { name, kind, instrument, uncertaintyMm } of wearing.readings) {
    if (known.has(name) || others.has(name)) continue;
    others.set(name, {
      name,
      kind,
      landmarks: [],
      how: OTHER_HOW[kind],
      instrument: instrument ?? (kind === 'span' ? 'spreading calliper' : 'tape'),
      uMm: uncertaintyMm ?? 2,
    });
  }
  return [...HEAD_MEASURES, ...others.values()];
}

export function MeasurementSheet({ wearing }: { readonly wearing: Wearing }) {
  const studio = useStudio();
  const settings = useStore(studio.settings);
  const [takenOn, setTakenOn] = useState(today());
  const [isAdding, setAdding] = useState(false);
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
      <ul className="sheet-lines">
        {linesOf(wearing).map((measure) => (
          <MeasureLine key={measure.name} measure={measure} wearing={wearing} takenOn={takenOn} />
        ))}
      </ul>
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
      {isAdding ? <ReadingDialog wearerId={id} takenOn={takenOn} onClose={() => setAdding(false)} /> : null}
    </TicketCard>
  );
}
