/** Papers out as PDF, on the paper that is at hand. */
import { useEffect, useRef, useState } from 'react';
import type { PaperSize } from '../../shared-types/paper.ts';
import { saveBytes } from '../client/download.ts';
import type { CallWatch } from '../client/client.ts';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { Button } from './button.tsx';
import { SelectField } from './field.tsx';
import { ProgressTape } from './progress-tape.tsx';

const SIZES: readonly { readonly value: PaperSize; readonly label: string }[] = [
  { value: 'a4', label: 'on A4' },
  { value: 'letter', label: 'on Letter' },
  { value: 'a3', label: 'on A3' },
];

export interface PaperOrder {
  /** Of its button. */
  readonly label: string;
  /** Undefined when it could not be made, which has been told. */
  readonly make: (
    paper: PaperSize,
    watch: CallWatch,
  ) => Promise<{ fileName: string; bytes: Uint8Array<ArrayBuffer> } | undefined>;
}

/** Quicker papers show no tape, ms. */
const SOON_MS = 400;

export function PaperChoice({ orders }: { readonly orders: readonly PaperOrder[] }) {
  const studio = useStudio();
  const { paper } = useStore(studio.settings);
  const [busy, setBusy] = useState<{ label: string; stop: AbortController; isLong: boolean; fraction?: number }>();
  const gone = useRef<AbortController>(undefined);
  useEffect(() => () => gone.current?.abort(), []);
  const save = async ({ label, make }: PaperOrder): Promise<void> => {
    if (busy !== undefined) return;
    const stop = (gone.current = new AbortController());
    setBusy({ label, stop, isLong: false });
    const timer = setTimeout(() => setBusy((now) => now && { ...now, isLong: true }), SOON_MS);
    const onProgress = (fraction: number): void => setBusy((now) => now && { ...now, fraction });
    const file = await make(paper, { signal: stop.signal, onProgress });
    clearTimeout(timer);
    setBusy(undefined);
    if (file === undefined) return;
    saveBytes(file.fileName, file.bytes, 'application/pdf');
    studio.notes.add({ tone: 'good', text: `${file.fileName} goes out. Print it at its actual size.` });
  };
  return (
    <>
      <div className="button-row">
        {orders.map((order) => (
          <Button key={order.label} busy={busy?.label === order.label} onClick={() => void save(order)}>
            {order.label}
          </Button>
        ))}
        <SelectField
          label="Paper"
          isLabelHidden
          value={paper}
          onChange={(chosen) => studio.settings.set({ ...studio.settings.get(), paper: chosen })}
          options={SIZES}
        />
      </div>
      {busy?.isLong === true ? (
        <ProgressTape title={busy.label} phase="" fraction={busy.fraction} onStop={() => busy.stop.abort()} />
      ) : null}
    </>
  );
}
