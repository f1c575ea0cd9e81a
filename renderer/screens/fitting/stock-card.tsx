/** The foam the maker has: pads are stacked from it. */
import { useState } from 'react';
import type { Stock } from '../../../shared-types/records/making.ts';
import { Button } from '../../controls/button.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { Length } from '../../controls/figure.tsx';
import { TextField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import '../making/making.css';

export function StockCard() {
  const studio = useStudio();
  const asked = useAsked('stock.list', {});
  const [isAdding, setAdding] = useState(false);
  const stock = asked.state === 'value' ? asked.value.stock : [];
  return (
    <TicketCard
      title="Foam in stock"
      kind="The same for every project"
      stub={<Button onClick={() => setAdding(true)}>Add a foam…</Button>}
    >
      {stock.length === 0 ? (
        <p className="soft">None written down yet. Pads are stacked from what is here.</p>
      ) : (
        <ul className="plain-list line-list">
          {stock.map((foam) => (
            <StockLine key={foam.id} foam={foam} onDrop={() => void studio.ask('stock.drop', { id: foam.id })} />
          ))}
        </ul>
      )}
      {isAdding ? <AddFoam onClose={() => setAdding(false)} /> : null}
    </TicketCard>
  );
}

function StockLine({ foam, onDrop }: { readonly foam: Stock; readonly onDrop: () => void }) {
  return (
    <li>
      <span>
        {foam.material}, <Length mm={foam.measuredMm ?? foam.nominalMm} />
      </span>{' '}
      <span className="soft small">
        {foam.measuredMm === undefined ? 'as sold' : 'as measured'}, gives {(100 * foam.compression).toFixed(0)} %
      </span>{' '}
      <Button tone="quiet" onClick={onDrop} aria-label={`Used up: ${foam.material}`}>
        Used up
      </Button>
    </li>
  );
}

function AddFoam({ onClose }: { readonly onClose: () => void }) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [material, setMaterial] = useState('');
  const [nominalMm, setNominal] = useState<number>();
  const [measuredMm, setMeasured] = useState<number>();
  const [gives, setGives] = useState('10');
  const compression = Number(gives) / 100;
  const isGood = compression >= 0 && compression <= 0.95;
  const run = async (): Promise<void> => {
    if (nominalMm === undefined) return;
    const added = await studio.ask('stock.add', {
      material: material.trim(),
      nominalMm,
      compression,
      ...(measuredMm === undefined ? {} : { measuredMm }),
    });
    if (added !== undefined) onClose();
  };
  return (
    <Dialog
      title="A foam in stock"
      onClose={onClose}
      action={{ label: 'Add it', run, isReady: material.trim() !== '' && nominalMm !== undefined && isGood }}
    >
      <TextField
        label="Material"
        placeholder="EVA, 100 kg/m³"
        value={material}
        maxLength={200}
        onChange={setMaterial}
        autoFocus
      />
      <LengthField label="Thickness as sold" unit={unit} leastMm={0.5} mostMm={200} onRead={setNominal} />
      <LengthField
        label="Thickness by your calliper"
        hint="Foam is often a tenth off; leave it empty if not measured."
        unit={unit}
        leastMm={0.5}
        mostMm={200}
        onRead={setMeasured}
      />
      <TextField
        label="Gives under wear, %"
        hint="Closed-cell foam 5 to 10, soft open-cell foam 30 and more: common practice, no source."
        value={gives}
        onChange={setGives}
        trouble={isGood ? undefined : 'Write a share from 0 to 95.'}
      />
    </Dialog>
  );
}
