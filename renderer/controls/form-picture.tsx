/** A small picture of a form, asked for when it comes into view, a few at a time; its address is given back after. */
import { useEffect, useRef, useState } from 'react';
import { useStudio } from '../state/studio.ts';
import './form-picture.css';

/** At once; more would only queue inside the program. */
const AT_ONCE = 3;
let underWay = 0;
const queue: (() => void)[] = [];

async function inTurn<T>(work: () => Promise<T>): Promise<T> {
  if (underWay >= AT_ONCE) await new Promise<void>((turn) => queue.push(turn));
  underWay++;
  try {
    return await work();
  } finally {
    underWay--;
    queue.shift()?.();
  }
}

export interface FormPictureProps {
  readonly revisionId: string | undefined;
  readonly label: string;
  readonly pixels?: number;
}

export function FormPicture({ revisionId, label, pixels = 256 }: FormPictureProps) {
  const { client } = useStudio();
  const box = useRef<HTMLDivElement>(null);
  const [isSeen, setSeen] = useState(false);
  const [address, setAddress] = useState<string>();
  useEffect(() => {
    const shown = box.current;
    if (shown === null || isSeen) return;
    const watcher = new IntersectionObserver(
      (entries) => {
        if (entries.some((entry) => entry.isIntersecting)) setSeen(true);
      },
      { rootMargin: '200px' },
    );
    watcher.observe(shown);
    return () => watcher.disconnect();
  }, [isSeen]);
  useEffect(() => {
    if (!isSeen || revisionId === undefined) return;
    const stop = new AbortController();
    let made: string | undefined;
    void inTurn(async () => {
      if (stop.signal.aborted) return;
      const drawn = await client.call('form.picture', { revisionId, pixels }, { signal: stop.signal });
      if (stop.signal.aborted || !drawn.ok) return;
      made = URL.createObjectURL(new Blob([drawn.value.png], { type: 'image/png' }));
      setAddress(made);
    });
    return () => {
      stop.abort();
      if (made !== undefined) URL.revokeObjectURL(made);
      setAddress(undefined);
    };
  }, [client, isSeen, revisionId, pixels]);
  return (
    <div ref={box} className="form-picture">
      {address === undefined ? (
        <Block isPlain={revisionId === undefined} />
      ) : (
        <img src={address} alt={label} width={pixels} height={pixels} />
      )}
    </div>
  );
}

/** A hat block on its stand, in chalk: nothing made yet, or the picture is on its way. */
function Block({ isPlain }: { readonly isPlain: boolean }) {
  return (
    <svg viewBox="0 0 120 120" className={`form-block${isPlain ? '' : ' form-block-coming'}`} aria-hidden="true">
      <path d="M31 86c-4-10-7-22-7-35C24 27 38 14 60 14s36 13 36 37c0 13-3 25-7 35Z" />
      <path d="M27 72h66M53 86v20m14-20v20M34 106h52v14H34Z" />
    </svg>
  );
}
