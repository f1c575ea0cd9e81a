/** A line drawn on the body, beside the view: drawn on, taken back place by place, moved by keys and numbers. */
import { useState, type KeyboardEvent, type ReactNode } from 'react';
import { some } from '../../shared-types/counts.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { Button } from './button.tsx';
import { ontoSurface, placed, type DrawnLine, type Drawing, type Surface } from './drawing.ts';
import { LengthField } from './length-field.tsx';
import './drawn-line.css';

export const AXES = ['Forward', 'Left', 'Up'] as const;
/** Numbers beyond this are of no body. */
export const FARTHEST_MM = 3000;
/** A place moves by so much with an arrow key, and with shift. */
const STEP_MM = 1;
const STRIDE_MM = 10;

export interface DrawnLineProps {
  readonly line: DrawnLine;
  readonly drawing: Drawing | undefined;
  readonly onDrawing: (drawing: Drawing | undefined) => void;
  readonly onPlaces: (places: readonly Vec3[]) => void;
  readonly onDrop?: (() => void) | undefined;
  /** Fewer places make no line. */
  readonly least: number;
  /** What it is drawn on; places given by keys and numbers lie on it. */
  readonly surface: Surface | undefined;
  /** What to press, while it is in hand. */
  readonly words: string;
  /** More buttons beside its name. */
  readonly children?: ReactNode;
}

export function DrawnLineRow(props: DrawnLineProps) {
  const { line, drawing, onDrawing, onPlaces, least, surface, words } = props;
  const { id, name, places, isClosed } = line;
  const isInHand = drawing?.lineId === id;
  const place = isInHand ? drawing.place : undefined;
  const missing = least - places.length;
  return (
    <div className="drawn-line" data-drawing={isInHand}>
      <div className="drawn-line-head">
        <span>
          {name}: {some(places.length, 'place')}
          {missing > 0 ? `, ${missing} more ${isClosed ? 'to close it' : 'to make it'}` : isClosed ? ', closed' : ''}
        </span>
        <span className="button-row">
          {isInHand ? null : (
            <Button tone="quiet" aria-label={`Draw on ${name}`} onClick={() => onDrawing({ lineId: id })}>
              Draw on
            </Button>
          )}
          {props.children}
          {props.onDrop === undefined ? null : (
            <Button tone="quiet" aria-label={`Drop ${name.toLowerCase()}`} onClick={props.onDrop}>
              Drop
            </Button>
          )}
        </span>
      </div>
      {isInHand ? (
        <>
          <p className="small" role="status">
            {words} With keys: turn the picture until the spot is in its middle and press Enter, or give numbers.
          </p>
          <div className="button-row">
            <Button tone="main" onClick={() => onDrawing(undefined)}>
              The line is done
            </Button>
            <Button disabled={places.length === 0} onClick={() => onPlaces(places.slice(0, -1))}>
              Take back a place
            </Button>
            {surface === undefined ? null : (
              <Button
                tone="quiet"
                onClick={() => {
                  onPlaces([...places, places.at(-1) ?? foremost(surface)]);
                  onDrawing({ lineId: id, place: places.length });
                }}
              >
                Add a place by numbers
              </Button>
            )}
          </div>
          {places.length === 0 || surface === undefined ? null : (
            <PlaceKeys
              {...{ places, place, surface }}
              onChoose={(chosen) => onDrawing({ lineId: id, place: chosen })}
              onMove={(at, to) => onPlaces(placed(places, to, { lineId: id, place: at }))}
              onTakeOff={(at) => {
                onPlaces(places.filter((_, one) => one !== at));
                onDrawing({ lineId: id });
              }}
            />
          )}
        </>
      ) : null}
    </div>
  );
}

/** Each place as a button; the chosen one moves with the arrow keys along the body, or to where its numbers say. */
function PlaceKeys(props: {
  readonly places: readonly Vec3[];
  readonly place: number | undefined;
  readonly surface: Surface;
  readonly onChoose: (place: number | undefined) => void;
  readonly onMove: (place: number, to: Vec3) => void;
  readonly onTakeOff: (place: number) => void;
}) {
  const { unit } = useStore(useStudio().settings);
  const { places, place, surface, onChoose, onMove, onTakeOff } = props;
  const [isOver, setOver] = useState(false);
  const chosen = place === undefined ? undefined : places[place];
  const move = (at: number, by: Vec3): void => {
    const from = places[at];
    onMove(at, ontoSurface(surface, [from[0] + by[0], from[1] + by[1], from[2] + by[2]]));
  };
  const press = (event: KeyboardEvent, at: number): void => {
    const step = event.shiftKey ? STRIDE_MM : STEP_MM;
    const [, y] = places[at];
    // As one looks at that side of the body: on either side, right leads the way the right hand would.
    const forward = y >= 0 ? 1 : -1;
    const ways: Readonly<Record<string, Vec3>> = {
      ArrowUp: [0, 0, step],
      ArrowDown: [0, 0, -step],
      ArrowLeft: [forward * step, 0, 0],
      ArrowRight: [-forward * step, 0, 0],
      PageUp: [0, step, 0],
      PageDown: [0, -step, 0],
    };
    const by = ways[event.key];
    if (by === undefined) return;
    event.preventDefault();
    onChoose(at);
    move(at, by);
  };
  return (
    <div className="drawn-places">
      <ul aria-label="Places of the line">
        {places.map((_, at) => (
          <li key={at}>
            <Button
              tone="quiet"
              aria-label={`Place ${at + 1}`}
              aria-pressed={at === place}
              aria-keyshortcuts="ArrowUp ArrowDown ArrowLeft ArrowRight PageUp PageDown"
              onFocus={() => setOver(true)}
              onBlur={() => setOver(false)}
              onKeyDown={(event) => press(event, at)}
              onClick={() => onChoose(at === place ? undefined : at)}
            >
              {at + 1}
            </Button>
          </li>
        ))}
      </ul>
      {isOver || chosen !== undefined ? (
        <p className="soft small">
          Arrow keys on a place move it along the body by 1 mm, with shift by 10 mm; page up and down move it left and
          right. {chosen === undefined ? '' : `A press on the body moves place ${(place ?? 0) + 1} there.`}
        </p>
      ) : null}
      {chosen === undefined || place === undefined ? null : (
        <div
          className="drawn-numbers"
          role="group"
          aria-label={`Where place ${place + 1} is`}
          onKeyDown={(event) => {
            // Enter gives the number; what stands around it is not done by that.
            if (event.key === 'Enter' && event.target instanceof HTMLInputElement) event.preventDefault();
          }}
        >
          {AXES.map((label, axis) => (
            <LengthField
              key={label}
              label={label}
              unit={unit}
              valueMm={chosen[axis]}
              leastMm={-FARTHEST_MM}
              mostMm={FARTHEST_MM}
              onCommit={(mm) => {
                const by = [0, 0, 0].with(axis, mm - chosen[axis]) as unknown as Vec3;
                move(place, by);
              }}
            />
          ))}
          <Button tone="quiet" onClick={() => onTakeOff(place)}>
            Take it off
          </Button>
        </div>
      )}
    </div>
  );
}

/** Where one begins without a place: farthest forward on the body. */
function foremost({ positions }: Surface): Vec3 {
  let best = 0;
  for (let v = 3; v < positions.length; v += 3) if (positions[v] > positions[best]) best = v;
  return [positions[best], positions[best + 1], positions[best + 2]];
}
