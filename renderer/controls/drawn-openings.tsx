/** Openings drawn on a body as closed lines, each drawn on, taken back and dropped. */
import type { Vec3 } from '../../shared-types/mesh.ts';
import { Button } from './button.tsx';
import type { Drawing, Surface } from './drawing.ts';
import { DrawnLineRow } from './drawn-line.tsx';
import { LEAST_PLACES, openingLines } from './openings.ts';

type Curves = readonly (readonly Vec3[])[];

export function DrawnOpenings(props: {
  readonly curves: Curves;
  readonly onCurves: (curves: Curves) => void;
  readonly drawing: Drawing | undefined;
  readonly onDrawing: (drawing: Drawing | undefined) => void;
  readonly surface: Surface | undefined;
  /** Where to press. */
  readonly words: string;
}) {
  const { curves, onCurves, onDrawing, surface, words } = props;
  // Undo may have taken the line away that was in hand.
  const drawing = curves[Number(props.drawing?.lineId)] === undefined ? undefined : props.drawing;
  return (
    <fieldset className="desk-part">
      <legend>Openings along drawn lines</legend>
      {openingLines(curves).map((line, number) => (
        <DrawnLineRow
          key={line.id}
          {...{ line, drawing, surface, onDrawing, words }}
          least={LEAST_PLACES}
          onPlaces={(places) => onCurves(curves.with(number, places))}
          onDrop={() => {
            onDrawing(undefined);
            onCurves(curves.filter((_, at) => at !== number));
          }}
        />
      ))}
      {drawing === undefined ? (
        <div className="button-row">
          <Button
            onClick={() => {
              const whole = curves.filter((curve) => curve.length >= LEAST_PLACES);
              onCurves([...whole, []]);
              onDrawing({ lineId: String(whole.length) });
            }}
          >
            Draw a line
          </Button>
        </div>
      ) : null}
    </fieldset>
  );
}
