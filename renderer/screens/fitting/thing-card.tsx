/** Room inside the part as it lies for a thing of given size: a fan, a microphone, a battery. */
import { useState } from 'react';
import type { Tried } from '../../../shared-types/calls/fittings.ts';
import type { CallInput } from '../../../shared-types/contract.ts';
import { Button } from '../../controls/button.tsx';
import { Figure, Length } from '../../controls/figure.tsx';
import { SelectField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';

type Thing = NonNullable<CallInput<'fitting.try'>['thing']>;
type Within = NonNullable<Thing['within']>;

const PLACES: readonly { readonly value: Within; readonly label: string }[] = [
  { value: 'anywhere', label: 'anywhere' },
  { value: 'brow', label: 'over the brow' },
  { value: 'face', label: 'before the face' },
  { value: 'back', label: 'at the back' },
];
/** A small fan. Own judgement. */
const FIRST_MM: readonly [number, number, number] = [15, 40, 40];
const FIRST_CLEARANCE_MM = 2;

export function ThingCard(props: {
  readonly tried: Tried | undefined;
  readonly busy: boolean;
  readonly onTry: (thing: Thing) => void;
}) {
  const { unit } = useStore(useStudio().settings);
  const [size, setSize] = useState(FIRST_MM);
  const [clearanceMm, setClearance] = useState(FIRST_CLEARANCE_MM);
  const [within, setWithin] = useState<Within>('anywhere');
  const sight = props.tried?.sight;
  const asked = sight?.roomFor;
  const room = sight?.room;
  const edge = (label: string, k: number) => (
    <LengthField
      label={label}
      unit={unit}
      valueMm={size[k]}
      leastMm={1}
      mostMm={500}
      onCommit={(mm) => setSize(([a, b, c]) => [k === 0 ? mm : a, k === 1 ? mm : b, k === 2 ? mm : c])}
    />
  );
  return (
    <TicketCard
      title="Room for a thing inside"
      className="stacked"
      stub={
        <Button busy={props.busy} onClick={() => props.onTry({ sizeMm: [...size], within, clearanceMm })}>
          Look for room
        </Button>
      }
    >
      {edge('Its length, forward', 0)}
      {edge('Its breadth, across', 1)}
      {edge('Its height, up', 2)}
      <LengthField
        label="Free round it"
        unit={unit}
        valueMm={clearanceMm}
        leastMm={0}
        mostMm={50}
        onCommit={setClearance}
      />
      <SelectField label="Where" value={within} onChange={setWithin} options={PLACES} />
      {asked === undefined || asked === null ? (
        <p className="soft">Not looked for yet, as the part lies now.</p>
      ) : room === null || room === undefined ? (
        <Remark tone="doubt">
          No place was found for {asked.sizeMm.join(' × ')} mm with {asked.clearanceMm} mm round it. There may still be
          one between the places tried.
        </Remark>
      ) : (
        <dl className="figures">
          <Figure
            label={`${asked.sizeMm.join(' × ')} mm`}
            value={
              <>
                <Length mm={room.clearanceMm} /> free
              </>
            }
            note={`its middle lies ${placeWords(room.centre)} from between the ears; turned by up to 150° and nodded by up to 30°`}
          />
        </dl>
      )}
      <Remark tone="plain">
        Nothing hard or warm lies against skin, eyes or ears, and no cable holds the part on: it must come off as
        quickly as before.
      </Remark>
    </TicketCard>
  );
}

/** A point of a head's form in words. */
function placeWords([x = 0, y = 0, z = 0]: readonly number[]): string {
  const way = (mm: number, plus: string, minus: string): string =>
    `${Math.abs(mm).toFixed(0)} mm ${mm < 0 ? minus : plus}`;
  return `${way(x, 'forward', 'back')}, ${way(y, 'left', 'right')}, ${way(z, 'up', 'down')}`;
}
