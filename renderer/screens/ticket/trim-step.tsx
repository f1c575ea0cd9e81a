import { useId } from 'react';
import type { Bounds } from '../../../electron/geometry/mesh/quantities.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { Button } from '../../controls/button.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark } from '../../controls/paper.tsx';
import { movePlane, type Frames, type PlaneNumbers } from './frames.ts';
import { cutOffered, CUTS_OFFERED, isUpright, type CutOffer } from './trim-offers.ts';
import type { Edit } from './use-ticket.ts';

export interface TrimStepProps {
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly frames: Frames;
  /** Least and most of the standing scan, in the scene. */
  readonly bounds: Bounds;
  readonly active: number;
  readonly onActive: (index: number) => void;
}

/** A tilt of a cut, by one press. */
const TILT = (5 * Math.PI) / 180;

/** How a cut lies, in words. */
function tiltText(normal: readonly number[]): string {
  const [axis, straight] = isUpright(normal) ? [1, 'upright'] : [2, 'level'];
  const degrees = (Math.acos(Math.min(1, Math.abs(normal[axis]))) * 180) / Math.PI;
  return degrees < 0.5 ? straight : `tilted by ${degrees.toFixed(0)}°`;
}

export function TrimStep({ draft, edit, frames, bounds, active, onActive }: TrimStepProps) {
  const id = useId();
  const [low, high] = [bounds.min[2], bounds.max[2]];
  const middle = (bounds.min[1] + bounds.max[1]) / 2;
  const halfBreadth = (bounds.max[1] - bounds.min[1]) / 2;
  const { what, cuts } = CUTS_OFFERED[draft.region ?? 'head'];
  const planes = draft.trim.map((plane) => movePlane(frames.toScene, plane));
  const put = (label: string, index: number, plane: PlaneNumbers): void =>
    edit(label, (before) => ({
      ...before,
      trim: before.trim.map((one, at) => (at === index ? movePlane(frames.toFile, plane) : one)),
    }));
  const add = (offer: CutOffer): void => {
    const added = movePlane(frames.toFile, cutOffered(offer, bounds));
    onActive(draft.trim.length);
    edit('cut here', (before) => ({ ...before, trim: [...before.trim, added] }));
  };
  const tilt = (index: number, by: number): void => {
    const [px, py, pz, nx, ny, nz] = planes[index];
    const [cos, sin] = [Math.cos(by), Math.sin(by)];
    const turned: PlaneNumbers = isUpright([nx, ny, nz])
      ? // About the forward axis: its top goes toward the middle or away from it.
        [px, py, pz, nx, cos * ny - Math.sign(ny) * sin * nz, cos * nz + Math.sign(ny) * sin * ny]
      : // About the left-right axis: the back of a cut comes up or goes down.
        [px, py, pz, cos * nx + sin * nz, ny, cos * nz - sin * nx];
    put('tilt a cut', index, turned);
  };
  return (
    <>
      <p className="step-words">
        Cut off what the form does not need: {what}. What goes is hatched; the cut face is closed flat. Drag a cut in
        the picture, or give where it lies.
      </p>
      <ul className="cut-list">
        {planes.map((plane, index) => (
          <li key={index} className={index === active ? 'cut-active' : ''}>
            <div className="cut-fields">
              {isUpright(plane.slice(3)) ? (
                <LengthField
                  label={`Cut ${index + 1}: out from the middle, to the ${plane[1] < middle ? 'right' : 'left'}`}
                  hint={`${tiltText(plane.slice(3))}; by the guessed unit`}
                  valueMm={Math.abs(plane[1] - middle)}
                  leastMm={0}
                  mostMm={Math.max(1, halfBreadth)}
                  onCommit={(mm) =>
                    put('move a cut', index, [
                      plane[0],
                      middle + (plane[1] < middle ? -mm : mm),
                      plane[2],
                      plane[3],
                      plane[4],
                      plane[5],
                    ])
                  }
                />
              ) : (
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
              )}
              <div className="button-row" role="group" aria-label={`Cut ${index + 1}`}>
                <Button
                  tone="quiet"
                  aria-pressed={index === active}
                  onClick={() => onActive(index === active ? -1 : index)}
                >
                  {index === active ? 'let go' : 'take hold'}
                </Button>
                <Button tone="quiet" onClick={() => tilt(index, -TILT)}>
                  {isUpright(plane.slice(3)) ? 'top out' : 'back up'}
                </Button>
                <Button tone="quiet" onClick={() => tilt(index, TILT)}>
                  {isUpright(plane.slice(3)) ? 'top in' : 'back down'}
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
        {draft.trim.length > 0 && cuts.length === 1 ? (
          <Button onClick={() => add(cuts[0])}>Another cut</Button>
        ) : (
          cuts.map((offer, at) => (
            <Button
              key={offer.label}
              tone={at === 0 && draft.trim.length === 0 ? 'main' : 'plain'}
              onClick={() => add(offer)}
              {...(offer.hint === undefined ? {} : { 'aria-describedby': `${id}-add` })}
            >
              {offer.label}
            </Button>
          ))
        )}
        {draft.trim.length > 0 || cuts[0].hint === undefined ? null : (
          <span className="small soft" id={`${id}-add`}>
            {cuts[0].hint}
          </span>
        )}
      </div>
    </>
  );
}
