/** Flat cuts through a body: each taken hold of in the view, set by a number, made straight, or dropped. */
import type { ReactNode } from 'react';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { CUT_WAYS, cutAt, cutPlace, straightened, type CutWay, type OwnCut } from './make-plan.ts';

/** Lengths beyond this are of no part. */
const FARTHEST_MM = 5000;
/** Less is as good as straight. */
const STRAIGHT_DEGREES = 0.5;

export interface CutRowsProps {
  readonly cuts: readonly OwnCut[];
  readonly onCuts: (cuts: readonly OwnCut[]) => void;
  readonly held: string | undefined;
  readonly onHeld: (id: string | undefined) => void;
  /** What each is called: "Cut", "Opening". */
  readonly noun: string;
  /** What it does, after its name. */
  readonly words: (cut: OwnCut, way: CutWay) => string;
  /** Numbers of those that do nothing where they lie. */
  readonly idle: readonly number[];
  readonly idleWords: string;
  /** Where a new one begins. */
  readonly first: (way: CutWay) => Vec3;
  /** More buttons of a row, and after those that add. */
  readonly rowButtons?: (cut: OwnCut, name: string) => ReactNode;
  readonly children?: ReactNode;
}

export function CutRows(props: CutRowsProps) {
  const { cuts, onCuts, held, onHeld, noun } = props;
  const { unit } = useStore(useStudio().settings);
  const put = (next: OwnCut): void => onCuts(cuts.map((cut) => (cut.id === next.id ? next : cut)));
  const lower = noun.toLowerCase();
  const adds = `Add ${/^[aeiou]/.test(lower) ? 'an' : 'a'} ${lower}`;
  return (
    <>
      <ul className="make-list">
        {cuts.map((cut, number) => {
          const { way, mm, tiltDegrees } = cutPlace(cut);
          const isHeld = held === cut.id;
          const name = `${noun} ${number + 1}`;
          return (
            <li key={cut.id}>
              <div className="make-line">
                <strong>
                  {name}, {props.words(cut, way)}
                </strong>
                <span className="button-row">
                  {props.rowButtons?.(cut, name)}
                  <Button
                    tone="quiet"
                    aria-label={`${name}: ${isHeld ? 'let go' : 'take hold'}`}
                    aria-pressed={isHeld}
                    onClick={() => onHeld(isHeld ? undefined : cut.id)}
                  >
                    {isHeld ? 'Let go' : 'Take hold'}
                  </Button>
                  <Button
                    tone="quiet"
                    aria-label={`Drop ${lower} ${number + 1}`}
                    onClick={() => {
                      if (isHeld) onHeld(undefined);
                      onCuts(cuts.filter(({ id }) => id !== cut.id));
                    }}
                  >
                    Drop
                  </Button>
                </span>
              </div>
              <div
                className="make-cut"
                onKeyDown={(event) => {
                  // Enter gives the number; nothing is made by that.
                  if (event.key === 'Enter' && event.target instanceof HTMLInputElement) event.preventDefault();
                }}
              >
                <LengthField
                  label={`${CUT_WAYS[way].axis} at`}
                  unit={unit}
                  valueMm={Math.round(10 * mm) / 10}
                  leastMm={-FARTHEST_MM}
                  mostMm={FARTHEST_MM}
                  onCommit={(next) => put(cutAt(cut, next))}
                />
                {tiltDegrees < STRAIGHT_DEGREES ? null : (
                  <span className="button-row">
                    <span className="numbers">Tilted by {tiltDegrees.toFixed(0)}°</span>
                    <Button tone="quiet" onClick={() => put(straightened(cut))}>
                      Make it straight
                    </Button>
                  </span>
                )}
              </div>
              {props.idle.includes(number) ? <Remark tone="doubt">{props.idleWords}</Remark> : null}
            </li>
          );
        })}
      </ul>
      {held === undefined ? null : (
        <p className="small" role="status">
          Drag the sheet in the view by its round handle, tilt it by the square ones; with the keyboard, the arrow keys
          on a handle.
        </p>
      )}
      <div className="button-row" role="group" aria-label={adds}>
        <span className="small">{adds}:</span>
        {(Object.keys(CUT_WAYS) as CutWay[]).map((way) => (
          <Button
            key={way}
            onClick={() => {
              const cut = { id: crypto.randomUUID(), point: props.first(way), normal: CUT_WAYS[way].normal };
              onCuts([...cuts, cut]);
              onHeld(cut.id);
            }}
          >
            {CUT_WAYS[way].label}
          </Button>
        ))}
        {props.children}
      </div>
    </>
  );
}
