/** Room inside the part as it lies for a thing of given size: a fan, a microphone, a battery. */
import { useState } from 'react';
import type { Tried } from '../../../shared-types/calls/fittings.ts';
import type { CallInput } from '../../../shared-types/contract.ts';
import { Button } from '../../controls/button.tsx';
import { Figure, Length } from '../../controls/figure.tsx';
import { FieldRow, SelectField } from '../../controls/field.tsx';
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
const FIRST_MM: readonly (number | undefined)[] = [15, 40, 40];
const EDGES = ['Its length, forward', 'Its breadth, across', 'Its height, up'] as const;
const FIRST_CLEARANCE_MM = 2;

export function ThingCard(props: {
  readonly tried: Tried | undefined;
  readonly busy: boolean;
  readonly onTry: (thing: Thing) => void;
}) {
  const { unit } = useStore(useStudio().settings);
  const [size, setSize] = useState(FIRST_MM);
  const [clearanceMm, setClearance] = useState<number | undefined>(FIRST_CLEARANCE_MM);
  const [within, setWithin] = useState<Within>('anywhere');
  const sight = props.tried?.sight;
  const asked = sight?.roomFor;
  const room = sight?.room;
  const [length, breadth, height] = size;
  const thing =
    length === undefined || breadth === undefined || height === undefined || clearanceMm === undefined
      ? undefined
      : { sizeMm: [length, breadth, height], within, clearanceMm };
  return (
    <TicketCard
      title="Room for a thing inside"
      className="stacked"
      stub={
        <>
          <Button
            busy={props.busy}
            disabled={thing === undefined}
            onClick={() => {
              if (thing !== undefined) props.onTry(thing);
            }}
          >
            Look for room
          </Button>
          {thing === undefined ? <p className="soft small">Give every length above first.</p> : null}
        </>
      }
    >
      <FieldRow>
        {EDGES.map((label, k) => (
          <LengthField
            key={label}
            label={label}
            unit={unit}
            valueMm={FIRST_MM[k]}
            leastMm={1}
            mostMm={500}
            onRead={(mm) => setSize((before) => before.with(k, mm))}
          />
        ))}
        <LengthField
          label="Free round it"
          unit={unit}
          valueMm={FIRST_CLEARANCE_MM}
          leastMm={0}
          mostMm={50}
          onRead={setClearance}
        />
      </FieldRow>
      <SelectField label="Where" value={within} onChange={setWithin} options={PLACES} />
      {asked === undefined || asked === null ? (
        <p className="soft">Not looked for yet, as the part lies now.</p>
      ) : room === null || room === undefined ? (
        <Remark tone="doubt">
          No place was found for {asked.sizeMm.join(' × ')} mm with {asked.clearanceMm} mm round it, turned in steps of
          30°. There may still be one between the places tried.
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
            note={`its middle lies ${placeWords(room.centre)} from between the ears; ${turnWords(room.axes[0])}`}
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

/** Which way the length of a thing points, in words; turned half round it is the same thing. */
export function turnWords([x = 1, y = 0, z = 0]: readonly number[]): string {
  const sign = x < -ALONG ? -1 : 1;
  const turn = Math.round((Math.atan2(sign * y, sign * x) * 180) / Math.PI);
  const rise = Math.round((Math.asin(Math.max(-1, Math.min(1, sign * z))) * 180) / Math.PI);
  const turned = turn === 0 ? 'straight ahead' : `${Math.abs(turn)}° to the ${turn > 0 ? 'left' : 'right'}`;
  return `its length points ${turned}${rise === 0 ? '' : `, ${Math.abs(rise)}° ${rise > 0 ? 'up' : 'down'}`}`;
}

/** A direction is straight to the side within this. */
const ALONG = 1e-9;
