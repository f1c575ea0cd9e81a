/** Which part of the body a scan is of; of a limb, which. */
import { REGION_NAMES, REGIONS, regionTitle } from '../../shared-types/measures/index.ts';
import { SelectField } from './field.tsx';
import type { Scanned } from './scanned.ts';

const CHOICES: readonly Scanned[] = REGION_NAMES.flatMap((region) =>
  REGIONS[region].isPaired ? (['left', 'right'] as const).map((side) => ({ region, side })) : [{ region }],
);
const OPTIONS = CHOICES.map(({ region, side }, at) => ({ value: `${at}`, label: regionTitle(region, side) }));

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
