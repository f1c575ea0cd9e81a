import type { PaperSize } from '../../../shared-types/paper.ts';
import { SelectField } from '../../controls/field.tsx';

export function PaperField(props: { readonly value: PaperSize; readonly onChange: (paper: PaperSize) => void }) {
  return (
    <SelectField
      label="Paper"
      value={props.value}
      onChange={props.onChange}
      options={[
        { value: 'a4', label: 'A4' },
        { value: 'a3', label: 'A3' },
        { value: 'letter', label: 'Letter' },
      ]}
    />
  );
}
