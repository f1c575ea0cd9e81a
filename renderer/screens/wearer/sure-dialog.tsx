/** What a reading is worth where nobody said, for the whole library, by what is measured and with what. */
import { useState } from 'react';
import { READING_UNCERTAINTY_MM } from '../../../shared-types/tolerances.ts';
import {
  LEAST_SURE_MM,
  MOST_SURE_MM,
  SURE_KINDS,
  SURE_TITLES,
  type SureKind,
  type UsualUncertainty,
} from '../../../shared-types/usual-uncertainty.ts';
import { Button } from '../../controls/button.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { FieldRow } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';

export function SureDialog({ usual, onClose }: { readonly usual: UsualUncertainty; readonly onClose: () => void }) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  // A field that cannot be read has no value, and nothing is set while there is one.
  const [read, setRead] = useState<Partial<Record<SureKind, number | undefined>>>(usual);
  const changed = SURE_KINDS.filter((kind) => read[kind] !== usual[kind]);
  const isReady = changed.length > 0 && changed.every((kind) => isSane(read[kind]));
  const isOwn = SURE_KINDS.every((kind) => usual[kind] === READING_UNCERTAINTY_MM[kind]);
  const set = async (): Promise<void> => {
    const wanted = Object.fromEntries(changed.map((kind) => [kind, read[kind]]));
    if ((await studio.ask('usual.set', { usual: wanted })) !== undefined) onClose();
  };
  const takeBack = async (): Promise<void> => {
    if ((await studio.ask('usual.reset', {})) !== undefined) onClose();
  };
  return (
    <Dialog title="How sure readings are" onClose={onClose} action={{ label: 'Set it so', run: set, isReady }}>
      <p className="small">
        Standard uncertainty of one careful reading: two readings in three lie within it of the true length. It counts
        wherever a reading says nothing of its own, for every wearer in this library. Lengths that were taken more than
        once also go by how far their readings lie apart.
      </p>
      <FieldRow least="13rem">
        {SURE_KINDS.map((kind) => (
          <LengthField
            key={kind}
            label={SURE_TITLES[kind]}
            hint={
              usual[kind] === READING_UNCERTAINTY_MM[kind]
                ? undefined
                : `The program’s own: ${lengthText(READING_UNCERTAINTY_MM[kind], unit, 1)}.`
            }
            unit={unit}
            digits={2}
            valueMm={usual[kind]}
            leastMm={LEAST_SURE_MM}
            mostMm={MOST_SURE_MM}
            onRead={(mm) => setRead((before) => ({ ...before, [kind]: mm }))}
          />
        ))}
      </FieldRow>
      <div className="button-row">
        <Button onClick={() => void takeBack()} disabled={isOwn}>
          All as the program has them
        </Button>
        {isOwn ? <span className="soft small">They are.</span> : null}
      </div>
    </Dialog>
  );
}

const isSane = (mm: number | undefined): boolean => mm !== undefined && mm >= LEAST_SURE_MM && mm <= MOST_SURE_MM;
