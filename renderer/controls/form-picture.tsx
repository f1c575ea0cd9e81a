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
      <path d="M41 76c-7-8-11-18-11-29 0-19 13-33 30-33s30 14 30 33c0 11-4 21-11 29-2 3-3 8-3 14v8H44v-8c0-6-1-11-3-14Z" />
      <path d="M36 118V98h48v20M30 118h60M52 98v20m16-20v20" />
    </svg>
  );
}
