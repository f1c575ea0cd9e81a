/** Where a girth's tape lies: through landmarks, at a height over one, or where the body is thickest or thinnest. */
import { useState } from 'react';
import { measureKind, REGIONS, sidedName, type RegionName } from '../../../shared-types/measures/index.ts';
import type { TicketDraft, TicketMeasure } from '../../../shared-types/records/ticket.ts';
import { Button } from '../../controls/button.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { FieldRow, SelectField, TextField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import type { LengthUnit } from '../../controls/parse-length.ts';
import type { Edit } from './use-ticket.ts';

/** What of a measure says where its tape lies. */
export type TapePlace = Pick<TicketMeasure, 'landmarks' | 'level'>;

const nameOf = (landmark: string): string => landmark.replaceAll('-', ' ');

/** Where the tape lies, in words. */
export function placeText({ landmarks, level }: TapePlace): string {
  const [first, second = first] = landmarks.map(nameOf);
  if (level === undefined) return `through ${landmarks.map(nameOf).join(', ')}`;
  if ('most' in level) return `where it is ${level.most} between ${first} and ${second}`;
  const { aboveMm } = level;
  return aboveMm === 0 ? `level with ${first}` : `${Math.abs(aboveMm)} mm ${aboveMm < 0 ? 'below' : 'above'} ${first}`;
}

/** Minus nothing, too: "below" may be chosen before the length is typed. */
const isBelow = (aboveMm: number): boolean => aboveMm < 0 || Object.is(aboveMm, -0);

type Way = 'through' | 'height' | 'thickest' | 'thinnest';
const wayOf = ({ level }: TapePlace): Way =>
  level === undefined ? 'through' : 'most' in level ? level.most : 'height';

const WAYS = [
  { value: 'height', label: 'at a height' },
  { value: 'thickest', label: 'at the thickest place' },
  { value: 'thinnest', label: 'at the thinnest place' },
] as const;

/** A place of another way that keeps what it can of the landmarks. */
function changedWay(place: TapePlace, way: Way, own: readonly string[], region: RegionName): TapePlace {
  if (way === 'through') return { landmarks: [...own], level: undefined };
  const { axis, landmarks } = REGIONS[region];
  const [first = landmarks[0].name, second] = place.landmarks;
  if (way === 'height') return { landmarks: [first], level: { aboveMm: 0 } };
  if (place.level !== undefined && 'most' in place.level) return { ...place, level: { most: way } };
  const other = landmarks.find(({ name }) => name !== first)?.name ?? first;
  const stretch = axis === undefined ? [first, second ?? other] : [axis.lower[0], axis.upper[0]];
  return { landmarks: stretch, level: { most: way } };
}

export function LevelFields(props: {
  readonly place: TapePlace;
  /** Landmarks of its own that it can be laid through instead. */
  readonly own?: readonly string[];
  readonly draft: TicketDraft;
  readonly unit: LengthUnit;
  /** Told with every key instead of when a field is left: in a dialog, where Enter ends it. */
  readonly isLive?: boolean;
  readonly onChange: (place: TapePlace) => void;
}) {
  const { place, own, draft, unit, isLive = false, onChange } = props;
  const region = draft.region ?? 'head';
  const { landmarks, level } = place;
  const options = REGIONS[region].landmarks.map(({ name, title }) => ({
    value: name,
    label: draft.landmarks[name] === undefined ? `${title} (not placed yet)` : title,
  }));
  // A stretch has two different ends.
  const landmark = (label: string, at: number, other?: number) => (
    <SelectField
      label={label}
      value={landmarks[at]}
      options={other === undefined ? options : options.filter(({ value }) => value !== landmarks[other])}
      onChange={(name) => onChange({ ...place, landmarks: landmarks.map((old, k) => (k === at ? name : old)) })}
    />
  );
  const aboveMm = level !== undefined && 'aboveMm' in level ? level.aboveMm : 0;
  const [firstMm] = useState(Math.abs(aboveMm));
  const lay = (mm: number): void => onChange({ ...place, level: { aboveMm: isBelow(aboveMm) ? -mm : mm } });
  return (
    <FieldRow least="12.5rem">
      <SelectField<Way>
        label="The tape lies"
        value={wayOf(place)}
        options={own === undefined ? WAYS : [{ value: 'through', label: 'through its landmarks' }, ...WAYS]}
        onChange={(way) => onChange(changedWay(place, way, own ?? [], region))}
      />
      {level === undefined ? null : 'most' in level ? (
        <>
          {landmark('Between', 0, 1)}
          {landmark('and', 1, 0)}
        </>
      ) : (
        <>
          <LengthField
            label="By"
            unit={unit}
            valueMm={isLive ? firstMm : Math.abs(aboveMm)}
            leastMm={0}
            mostMm={1000}
            {...(isLive ? { onRead: (mm) => lay(mm ?? 0) } : { onCommit: lay })}
          />
          <SelectField
            label="Above or below"
            value={isBelow(aboveMm) ? 'below' : 'above'}
            options={[
              { value: 'above', label: 'above' },
              { value: 'below', label: 'below' },
            ]}
            onChange={(side) =>
              onChange({ ...place, level: { aboveMm: (side === 'below' ? -1 : 1) * Math.abs(aboveMm) } })
            }
          />
          {landmark('The landmark', 0)}
        </>
      )}
    </FieldRow>
  );
}

/** A girth of one's own: named by where its tape lies, unless one says otherwise. */
export function AddGirth(props: {
  readonly draft: TicketDraft;
  readonly unit: LengthUnit;
  readonly edit: Edit;
  readonly onClose: (added?: string) => void;
}) {
  const { draft, unit, edit, onClose } = props;
  const region = draft.region ?? 'head';
  const placed = REGIONS[region].landmarks.find(({ name }) => draft.landmarks[name] !== undefined);
  const [place, setPlace] = useState<TapePlace>({
    landmarks: [(placed ?? REGIONS[region].landmarks[0]).name],
    level: { aboveMm: 20 },
  });
  const [own, setOwn] = useState('');
  const name = sidedName(own.trim() === '' ? `girth ${placeText(place)}` : own.trim(), draft.side).slice(0, 100);
  const isTaken = draft.measures.some((one) => one.name === name);
  const isReady = !isTaken && new Set(place.landmarks).size === place.landmarks.length;
  const add = async (): Promise<void> => {
    edit(`add ${name}`, (before) => ({
      ...before,
      measures: [...before.measures, { name, kind: 'girth', role: 'use', ...place }],
    }));
    onClose(name);
  };
  return (
    <Dialog title="A girth of your own" onClose={() => onClose()} action={{ label: 'Add it', run: add, isReady }}>
      <p className="small">
        The tape lies level in the standing body. Measure the person at the same place: mark the height on the skin or a
        cap, and keep the tape square to it.
      </p>
      <LevelFields {...{ place, draft, unit }} isLive onChange={setPlace} />
      <TextField
        label="What it is called on the sheet"
        hint={`Left empty: ${name}`}
        value={own}
        onChange={setOwn}
        maxLength={80}
        trouble={
          isTaken
            ? 'This is on the list already.'
            : isReady
              ? undefined
              : 'Choose two different landmarks for it to lie between.'
        }
      />
    </Dialog>
  );
}

/**
 * Where the tape of a girth on the list lies. Of a measure of the catalogue that may be chosen; one that was added is
 * another girth anywhere else, so it is only taken off.
 */
export function GirthPlace(props: {
  readonly measure: TicketMeasure;
  readonly draft: TicketDraft;
  readonly unit: LengthUnit;
  readonly edit: Edit;
  readonly change: (label: string, by: Partial<TicketMeasure>) => void;
}) {
  const { measure, draft, unit, edit, change } = props;
  const { name } = measure;
  const own = measureKind(name)?.landmarks;
  if (own !== undefined) {
    return (
      <LevelFields
        {...{ own, draft, unit }}
        place={measure}
        onChange={({ landmarks, level }) => change(`lay the tape of ${name}`, { landmarks, level })}
      />
    );
  }
  const takeOff = (): void =>
    edit(`take ${name} off`, (before) => ({
      ...before,
      measures: before.measures.filter((one) => one.name !== name || one.kind !== measure.kind),
    }));
  return (
    <p className="small level-own">
      The tape lies {placeText(measure)}.{' '}
      <Button tone="quiet" onClick={takeOff}>
        Take it off this list
      </Button>
    </p>
  );
}
