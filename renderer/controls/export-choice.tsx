/** A form or liner out as a file, in the format one wants. */
import { useState } from 'react';
import type { CallInput } from '../../shared-types/contract.ts';
import { saveBytes } from '../client/download.ts';
import { useStudio } from '../state/studio.ts';
import { Button } from './button.tsx';
import { bytesText } from './figure.tsx';
import { SelectField } from './field.tsx';

type Format = CallInput<'form.export'>['format'];

const FORMATS: readonly { readonly value: Format; readonly label: string }[] = [
  { value: '3mf', label: '3MF, with its unit' },
  { value: 'stl', label: 'STL, in mm' },
  { value: 'obj', label: 'OBJ, in mm' },
  { value: 'ply', label: 'PLY, in mm' },
  { value: 'glb', label: 'GLB, in metres' },
];

export function ExportChoice(props: { readonly revisionId: string } | { readonly linerId: string }) {
  const studio = useStudio();
  const [format, setFormat] = useState<Format>('3mf');
  const [isBusy, setBusy] = useState(false);
  const save = async (): Promise<void> => {
    if (isBusy) return;
    setBusy(true);
    const file = await ('linerId' in props
      ? studio.ask('liner.export', { id: props.linerId, format })
      : studio.ask('form.export', { revisionId: props.revisionId, format }));
    setBusy(false);
    if (file === undefined) return;
    saveBytes(file.fileName, file.bytes, 'application/octet-stream');
    studio.notes.add({ tone: 'good', text: `${file.fileName} goes out, ${bytesText(file.bytes.length)}.` });
  };
  return (
    <div className="export-choice">
      <SelectField label="File format" isLabelHidden value={format} onChange={setFormat} options={FORMATS} />
      <Button tone="main" busy={isBusy} onClick={() => void save()}>
        Save the file
      </Button>
    </div>
  );
}
