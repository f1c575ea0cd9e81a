import { useId } from 'react';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { Button } from '../../controls/button.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark } from '../../controls/paper.tsx';
import { movePlane, type Frames, type PlaneNumbers } from './frames.ts';
import type { Edit } from './use-ticket.ts';

export interface TrimStepProps {
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly frames: Frames;
  /** Lowest and highest point of the standing scan, in the scene. */
  readonly heights: readonly [number, number];
  readonly active: number;
  readonly onActive: (index: number) => void;
}

/** Where the neck of a head scan usually is: this share of the way up. */
const NECK_SHARE = 0.2;
/** A tilt of a cut, by one press. */
const TILT = (5 * Math.PI) / 180;

/** A cut lying level, in words by its height over the scan's lowest point; tilted, also by its tilt. */
function tiltText(normal: readonly number[]): string {
  const degrees = (Math.acos(Math.min(1, Math.abs(normal[2]))) * 180) / Math.PI;
  return degrees < 0.5 ? 'level' : `tilted by ${degrees.toFixed(0)}°`;
}

export function TrimStep({ draft, edit, frames, heights, active, onActive }: TrimStepProps) {
  const id = useId();
  const [low, high] = heights;
  const planes = draft.trim.map((plane) => movePlane(frames.toScene, plane));
  const put = (label: string, index: number, plane: PlaneNumbers): void =>
    edit(label, (before) => ({
      ...before,
      trim: before.trim.map((one, at) => (at === index ? movePlane(frames.toFile, plane) : one)),
    }));
  const add = (): void => {
    const plane: PlaneNumbers = [0, 0, low + NECK_SHARE * (high - low), 0, 0, 1];
    onActive(draft.trim.length);
    edit('cut here', (before) => ({ ...before, trim: [...before.trim, movePlane(frames.toFile, plane)] }));
  };
  const tilt = (index: number, by: number): void => {
    const [px, py, pz, nx, ny, nz] = planes[index];
    const [cos, sin] = [Math.cos(by), Math.sin(by)];
    // About the left-right axis: the back of a cut comes up or goes down.
    put('tilt a cut', index, [px, py, pz, cos * nx + sin * nz, ny, cos * nz - sin * nx]);
  };
  return (
    <>
      <p className="step-words">
        Cut off what the form does not need: the shoulders, a stand, a chair. What goes is hatched; the cut face is
        closed flat. Drag a cut in the picture, or give its height.
      </p>
      <ul className="cut-list">
        {planes.map((plane, index) => (
          <li key={index} className={index === active ? 'cut-active' : ''}>
            <div className="cut-fields">
              <LengthField
                label={`Cut ${index + 1}: height over the lowest point`}
                hint={`${tiltText(plane.slice(3))}; by the guessed unit`}
                valueMm={plane[2] - low}
                leastMm={0}
                mostMm={Math.max(1, high - low)}
                onCommit={(mm) =>
                  put('move a cut', index, [plane[0], plane[1], low + mm, plane[3], plane[4], plane[5]])
                }
              />
              <div className="button-row" role="group" aria-label={`Cut ${index + 1}`}>
                <Button
                  tone="quiet"
                  aria-pressed={index === active}
                  onClick={() => onActive(index === active ? -1 : index)}
                >
                  {index === active ? 'let go' : 'take hold'}
                </Button>
                <Button tone="quiet" onClick={() => tilt(index, -TILT)}>
                  back up
                </Button>
                <Button tone="quiet" onClick={() => tilt(index, TILT)}>
                  back down
                </Button>
                <Button
                  tone="quiet"
                  onClick={() =>
                    put('turn a cut over', index, [
                      ...plane.slice(0, 3),
                      ...plane.slice(3).map((x) => -x),
                    ] as PlaneNumbers)
                  }
                >
                  keep the other side
                </Button>
                <Button
                  tone="quiet"
                  onClick={() => {
                    onActive(-1);
                    edit('take a cut away', (before) => ({
                      ...before,
                      trim: before.trim.filter((_, at) => at !== index),
                    }));
                  }}
                >
                  take away
                </Button>
              </div>
            </div>
          </li>
        ))}
      </ul>
      {draft.trim.length === 0 ? (
        <Remark tone="plain">Nothing is cut yet. A scan that ends where it should can stay as it is.</Remark>
      ) : null}
      <div className="button-row">
        <Button tone={draft.trim.length === 0 ? 'main' : 'plain'} onClick={add} aria-describedby={`${id}-add`}>
          {draft.trim.length === 0 ? 'Cut at the neck' : 'Another cut'}
        </Button>
        <span className="small soft" id={`${id}-add`}>
          {draft.trim.length === 0 ? 'a level cut low on the scan, to be moved' : ''}
        </span>
      </div>
    </>
  );
}
