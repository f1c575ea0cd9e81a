/** A reading with everything about it: a length of one's own naming, or a correction. The old one stays in the history. */
import { useState } from 'react';
import { measureKind, type MeasureKind } from '../../../shared-types/measures/index.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import { sureKindOf, type UsualUncertainty } from '../../../shared-types/usual-uncertainty.ts';
import { Dialog } from '../../controls/dialog.tsx';
import { ChoiceField, FieldRow, TextField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';

const KINDS = [
  { value: 'span', label: 'Straight, by calliper' },
  { value: 'girth', label: 'Round, by tape' },
  { value: 'arc', label: 'Along, by tape' },
] as const;

export function ReadingDialog(props: {
  readonly wearerId: string;
  readonly takenOn: string;
  readonly usual: UsualUncertainty;
  readonly replaces?: Reading;
  /** A measure of the catalogue; without it the length is of one's own naming. */
  readonly of?: MeasureKind;
  readonly onClose: () => void;
}) {
  const studio = useStudio();
  const settings = useStore(studio.settings);
  const { replaces, of, onClose } = props;
  const [name, setName] = useState(replaces?.name ?? of?.name ?? '');
  const [kind, setKind] = useState<Reading['kind']>(replaces?.kind ?? of?.kind ?? 'span');
  const [valueMm, setValueMm] = useState(replaces?.valueMm);
  const [uncertaintyMm, setUncertaintyMm] = useState(replaces?.uncertaintyMm);
  const [instrument, setInstrument] = useState(replaces?.instrument ?? of?.instrument ?? '');
  const [takenBy, setTakenBy] = useState(replaces?.takenBy ?? settings.takenBy);
  const [takenOn, setTakenOn] = useState(props.takenOn);
  const usualMm = props.usual[sureKindOf(kind, measureKind(name))];
  const isReady = name.trim() !== '' && valueMm !== undefined;
  const write = async (): Promise<void> => {
    if (!isReady) return;
    const added = await studio.ask('reading.add', {
      wearerId: props.wearerId,
      kind,
      name: name.trim(),
      valueMm,
      ...(uncertaintyMm === undefined ? {} : { uncertaintyMm }),
      ...(instrument.trim() === '' ? {} : { instrument: instrument.trim() }),
      ...(takenBy.trim() === '' ? {} : { takenBy: takenBy.trim() }),
      ...(takenOn === '' ? {} : { takenOn }),
      ...(replaces === undefined ? {} : { replacesId: replaces.id }),
    });
    if (added !== undefined) onClose();
  };
  return (
    <Dialog
      title={
        replaces === undefined
          ? of === undefined
            ? 'Another length'
            : `A reading of ${of.name}`
          : `Correct a reading of ${replaces.name}`
      }
      onClose={onClose}
      action={{ label: replaces === undefined ? 'Write it down' : 'Write the correction', run: write, isReady }}
    >
      {replaces === undefined && of === undefined ? (
        <>
          <TextField
            label="What was measured"
            hint="The same words each time, so that readings of it come together."
            value={name}
            onChange={setName}
            maxLength={200}
            autoFocus
          />
          <ChoiceField label="How" value={kind} onChange={setKind} options={KINDS} />
        </>
      ) : null}
      <LengthField
        label="Reading"
        unit={settings.unit}
        valueMm={replaces?.valueMm}
        autoFocus={replaces !== undefined || of !== undefined}
        onRead={setValueMm}
      />
      <LengthField
        label="How sure (standard uncertainty)"
        hint={`Left empty, ${usualMm} mm: what a reading of this kind is worth in this library.`}
        unit={settings.unit}
        digits={2}
        valueMm={replaces?.uncertaintyMm}
        mostMm={500}
        onRead={setUncertaintyMm}
      />
      <FieldRow>
        <TextField label="Instrument" value={instrument} onChange={setInstrument} maxLength={200} />
        <TextField label="Taken by" value={takenBy} onChange={setTakenBy} maxLength={200} />
        <TextField label="On" type="date" value={takenOn} onChange={setTakenOn} />
      </FieldRow>
    </Dialog>
  );
}
