/** Openings drawn on a body as closed lines, each drawn on, taken back and dropped. */
import { Button } from './button.tsx';
import type { Drawing, Surface } from './drawing.ts';
import { DrawnLineRow } from './drawn-line.tsx';
import { SelectField } from './field.tsx';
import { curvesWhere, LEAST_PLACES, openingLines, type DrawnCurves } from './openings.ts';

export function DrawnOpenings(props: {
  readonly drawn: DrawnCurves;
  readonly onDrawn: (drawn: DrawnCurves) => void;
  readonly drawing: Drawing | undefined;
  readonly onDrawing: (drawing: Drawing | undefined) => void;
  readonly surface: Surface | undefined;
  /** What to press, and where. */
  readonly words: string;
}) {
  const { drawn, onDrawn, onDrawing, surface, words } = props;
  const { curves, largerGoes } = curvesWhere(drawn, () => true);
  // Undo may have taken the line away that was in hand.
  const drawing = curves[Number(props.drawing?.lineId)] === undefined ? undefined : props.drawing;
  return (
    <fieldset className="desk-part">
      <legend>Openings along drawn lines</legend>
      {openingLines(curves).map((line, number) => (
        <DrawnLineRow
          key={line.id}
          {...{ line, drawing, surface, onDrawing }}
          words={`${words} The line closes by itself.`}
          least={LEAST_PLACES}
          onPlaces={(places) => onDrawn({ curves: curves.with(number, places), largerGoes })}
          onDrop={() => {
            onDrawing(undefined);
            onDrawn(curvesWhere(drawn, (_, at) => at !== number));
          }}
        >
          <SelectField<'smaller' | 'larger'>
            label={`What ${line.name.toLowerCase()} cuts out`}
            isLabelHidden
            value={largerGoes[number] ? 'larger' : 'smaller'}
            onChange={(goes) => onDrawn({ curves, largerGoes: largerGoes.with(number, goes === 'larger') })}
            options={[
              { value: 'smaller', label: 'cuts out the smaller side' },
              { value: 'larger', label: 'cuts out the larger side' },
            ]}
          />
        </DrawnLineRow>
      ))}
      {drawing === undefined ? (
        <div className="button-row">
          <Button
            onClick={() => {
              const whole = curvesWhere(drawn, (curve) => curve.length >= LEAST_PLACES);
              onDrawn({ curves: [...whole.curves, []], largerGoes: [...whole.largerGoes, false] });
              onDrawing({ lineId: String(whole.curves.length) });
            }}
          >
            Draw a line
          </Button>
        </div>
      ) : null}
    </fieldset>
  );
}
