/** The patch of the part that alone counts while the best place is looked for: painted on the part. */
import { useEffect, useMemo, useRef, useState } from 'react';
import type { FittingDraft } from '../../../shared-types/calls/fittings.ts';
import { some } from '../../../shared-types/counts.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import { BRUSH_MM, dabbed, dabMap } from '../../controls/dabs.ts';
import { lengthText } from '../../controls/parse-length.ts';
import { useBrush } from '../../controls/use-brush.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import type { Viewport } from '../../viewport/viewport.ts';

/** What the brush does on the part; undefined while it is not in hand. */
export type Painting = 'paint' | 'wipe' | undefined;

export function PatchPart(props: {
  readonly patch: FittingDraft['patch'];
  readonly painting: Painting;
  readonly onPainting: (painting: Painting) => void;
  readonly brushMm: number;
  readonly onBrush: (mm: number) => void;
  readonly onDrop: () => void;
}) {
  const { patch, painting, onPainting, brushMm } = props;
  const { unit } = useStore(useStudio().settings);
  const press = (kind: 'paint' | 'wipe'): void => onPainting(painting === kind ? undefined : kind);
  return (
    <fieldset className="nudge">
      <legend className="field-label">What of the part counts</legend>
      <p className="small">
        {patch === undefined
          ? 'All of it. Paint a patch, and only that is looked at while the best place is found.'
          : `Only the patch painted in ${some(patch.points.length, 'touch', 'touches')}, while the best place is found.`}
      </p>
      <div className="button-row">
        <Button aria-pressed={painting === 'paint'} onClick={() => press('paint')}>
          Count only this patch
        </Button>
        <Button aria-pressed={painting === 'wipe'} disabled={patch === undefined} onClick={() => press('wipe')}>
          Wipe off
        </Button>
        <Button tone="quiet" disabled={patch === undefined} onClick={props.onDrop}>
          Count all of it
        </Button>
      </div>
      {painting === undefined ? null : (
        <>
          <label className="patch-brush">
            <span className="small">Brush</span>
            <input
              type="range"
              aria-label="Width of the brush on the part"
              min={6}
              max={80}
              step={1}
              value={brushMm}
              aria-valuetext={`${brushMm} mm`}
              onChange={(event) => props.onBrush(Number(event.target.value))}
            />
            <span className="small numbers">{lengthText(brushMm, unit, 0)}</span>
          </label>
          <p className="small" role="status">
            Press and draw over the part in the view. With keys: turn the picture until the spot is in its middle and
            press Enter.
          </p>
        </>
      )}
    </fieldset>
  );
}

/** Width of the brush: of the patch there is, which has one width, or the one last chosen. */
export function useBrushWidth(patch: FittingDraft['patch']): readonly [number, (mm: number) => void] {
  const [chosen, setChosen] = useState(BRUSH_MM);
  return [patch?.radiusMm ?? chosen, setChosen];
}

/** Paints on the part in the view; a stroke is kept when it ends. Gives the map of the patch while the brush is in hand. */
export function usePatch(given: {
  readonly view: Viewport | undefined;
  readonly host: HTMLElement | null;
  readonly patch: FittingDraft['patch'];
  readonly painting: Painting;
  readonly brushMm: number;
  readonly positions: Float32Array | undefined;
  readonly onPatch: (points: readonly Vec3[]) => void;
}): Float32Array | undefined {
  const { view, host, patch, painting, brushMm, positions } = given;
  const kept = patch?.points;
  // What the stroke in hand has painted; an answer about an earlier one that comes meanwhile takes nothing from it.
  const stroke = useRef<readonly Vec3[]>(undefined);
  const [ahead, setAhead] = useState<readonly Vec3[]>();
  useEffect(() => {
    if (stroke.current === undefined) setAhead(undefined);
  }, [kept]);
  const points = ahead ?? kept ?? NONE;
  useBrush(
    host,
    view,
    'part',
    painting === undefined
      ? undefined
      : (at) => {
          stroke.current = dabbed(stroke.current ?? points, brushMm, at, painting === 'wipe');
          setAhead(stroke.current);
        },
    () => {
      const painted = stroke.current;
      stroke.current = undefined;
      if (painted !== undefined && painted !== (kept ?? NONE)) given.onPatch(painted);
    },
  );
  return useMemo(
    () =>
      painting === undefined || positions === undefined
        ? undefined
        : (dabMap(points, brushMm, positions) ?? new Float32Array(positions.length / 3).fill(NaN)),
    [painting, points, brushMm, positions],
  );
}

const NONE: readonly Vec3[] = [];
