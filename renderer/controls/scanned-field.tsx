/** Which part of the body a scan is of; of a limb, which. */
import { REGION_NAMES, REGIONS, regionTitle, type RegionName, type Side } from '../../shared-types/measures/index.ts';
import { SelectField } from './field.tsx';

export interface Scanned {
  readonly region: RegionName;
  readonly side?: Side | undefined;
}

const CHOICES: readonly Scanned[] = REGION_NAMES.flatMap((region) =>
  REGIONS[region].isPaired ? (['left', 'right'] as const).map((side) => ({ region, side })) : [{ region }],
);
const OPTIONS = CHOICES.map(({ region, side }, at) => ({ value: `${at}`, label: regionTitle(region, side) }));

/** What whoever named the file most likely scanned; shown to be put right. */
export function scannedByName(fileName: string): Scanned {
  const words = fileName.toLowerCase().split(/[^a-z]+/);
  const has = (...some: readonly string[]): boolean => words.some((word) => some.includes(word));
  if (has('torso', 'chest', 'bust', 'trunk')) return { region: 'torso' };
  const side = has('left') ? 'left' : 'right';
  if (has('arm', 'forearm', 'hand', 'wrist')) return { region: 'arm', side };
  if (has('leg', 'foot', 'calf', 'shin')) return { region: 'leg', side };
  return { region: 'head' };
}

export function ScannedField(props: { readonly value: Scanned; readonly onChange: (value: Scanned) => void }) {
  const { value, onChange } = props;
  const at = CHOICES.findIndex(({ region, side }) => region === value.region && side === value.side);
  return (
    <SelectField
      label="This is a scan of"
      value={`${Math.max(0, at)}`}
      onChange={(chosen) => onChange(CHOICES[Number(chosen)])}
      options={OPTIONS}
    />
  );
}
