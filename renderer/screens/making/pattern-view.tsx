/** The flat pattern, as it lies on the stock sheets. */
import { useEffect, useState } from 'react';
import type { Made } from '../../../shared-types/calls/makings.ts';
import { ChoiceField } from '../../controls/field.tsx';
import { Loading } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';

export function PatternView({ made }: { readonly made: Made }) {
  const studio = useStudio();
  const sheets = made.files.filter(({ name }) => name.endsWith('.svg'));
  const [at, setAt] = useState(0);
  const [address, setAddress] = useState<string>();
  const fileId = sheets[at]?.id;
  useEffect(() => {
    if (fileId === undefined) return;
    const stop = new AbortController();
    let url: string | undefined;
    void studio.ask('making.file', { fileId }, { signal: stop.signal }).then((file) => {
      if (file === undefined || stop.signal.aborted) return;
      url = URL.createObjectURL(new Blob([file.bytes], { type: 'image/svg+xml' }));
      setAddress(url);
    });
    return () => {
      stop.abort();
      if (url !== undefined) URL.revokeObjectURL(url);
    };
  }, [studio, fileId]);
  return (
    <div className="pattern-view">
      {sheets.length < 2 ? null : (
        <ChoiceField
          label="Sheet"
          isLabelHidden
          value={String(at)}
          onChange={(value) => setAt(Number(value))}
          options={sheets.map((_, index) => ({ value: String(index), label: `Sheet ${index + 1}` }))}
        />
      )}
      {address === undefined ? (
        <Loading what="Fetching the pattern" />
      ) : (
        // The ground stays paper in both lights: this is what is printed.
        <img className="pattern-sheet" src={address} alt={`Pattern ${made.making.name}, sheet ${at + 1}`} />
      )}
    </div>
  );
}
