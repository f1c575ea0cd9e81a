/** The pieces where they belong on the whole, to be pulled apart. */
import { useEffect, useRef, useState } from 'react';
import type { Made } from '../../../shared-types/calls/makings.ts';
import { FittingView } from '../../controls/fitting-view.tsx';
import { useStudio } from '../../state/studio.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import { apart, homeOf, middleOf, type Piece } from './pull-apart.ts';
import type { SplitFigures } from './making-words.ts';

/** Pieces move out by at most this share of their distance from the middle. */
const FARTHEST = 0.8;

export function PiecesView(props: {
  readonly made: Made;
  readonly split: SplitFigures;
  readonly chosen: number | undefined;
  readonly onChoose: (piece: number) => void;
}) {
  const { made, split, chosen, onChoose } = props;
  const studio = useStudio();
  const [view, setView] = useState<Viewport>();
  const [pieces, setPieces] = useState<readonly Piece[]>([]);
  const [share, setShare] = useState(0.25);
  const latest = useRef(onChoose);
  latest.current = onChoose;
  useEffect(() => {
    const stop = new AbortController();
    const fetchAll = async (): Promise<void> => {
      const found = await Promise.all(
        split.pieces.map(async (piece) => {
          const file = made.files.find(({ name }) => name === piece.file);
          if (file === undefined) return undefined;
          const mesh = await studio.ask('making.mesh', { fileId: file.id }, { signal: stop.signal });
          return mesh === undefined ? undefined : homeOf(piece.number, mesh, piece.placement);
        }),
      );
      if (!stop.signal.aborted) setPieces(found.filter((one) => one !== undefined));
    };
    void fetchAll();
    return () => stop.abort();
  }, [studio, made, split]);
  useEffect(() => {
    if (view === undefined || pieces.length === 0) return;
    const middle = middleOf(pieces);
    for (const piece of pieces) {
      view.setMesh(`piece ${piece.number}`, piece.mesh, {
        material: piece.number === chosen ? 'clay' : 'wall',
        matrix: apart(piece, middle, share * FARTHEST),
      });
    }
  }, [view, pieces, share, chosen]);
  // All of them in the picture, once they are there.
  useEffect(() => {
    if (pieces.length > 0) view?.frame();
  }, [view, pieces]);
  useEffect(() => view?.setPickMode('surface'), [view]);
  return (
    <FittingView
      label={`${split.pieces.length} pieces, pulled apart`}
      onReady={setView}
      onPick={(hit) => {
        const number = Number(/^piece (\d+)$/.exec(hit?.slot ?? '')?.[1]);
        if (Number.isInteger(number)) latest.current(number);
      }}
      tools={
        <label className="pull-apart">
          <span>Pull apart</span>
          <input
            type="range"
            min={0}
            max={1}
            step={0.05}
            value={share}
            onChange={(event) => setShare(Number(event.target.value))}
          />
        </label>
      }
    />
  );
}
