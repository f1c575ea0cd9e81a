/** Padding wanted, and the part's place moved and turned by numbers. */
import { useState, type ReactNode } from 'react';
import type { FittingDraft } from '../../../shared-types/calls/fittings.ts';
import { Button } from '../../controls/button.tsx';
import { CheckField, ChoiceField, FieldRow, TextField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { moved, turned, type Axis } from './nudge.ts';

const WAYS: readonly { readonly label: string; readonly axis: Axis; readonly sign: 1 | -1 }[] = [
  { label: 'Forward', axis: 'x', sign: 1 },
  { label: 'Back', axis: 'x', sign: -1 },
  { label: 'Left', axis: 'y', sign: 1 },
  { label: 'Right', axis: 'y', sign: -1 },
  { label: 'Up', axis: 'z', sign: 1 },
  { label: 'Down', axis: 'z', sign: -1 },
];
const TURNS: readonly { readonly label: string; readonly axis: Axis; readonly sign: 1 | -1 }[] = [
  { label: 'Tip forward', axis: 'y', sign: 1 },
  { label: 'Tip back', axis: 'y', sign: -1 },
  { label: 'Tip left', axis: 'x', sign: -1 },
  { label: 'Tip right', axis: 'x', sign: 1 },
  { label: 'Turn left', axis: 'z', sign: 1 },
  { label: 'Turn right', axis: 'z', sign: -1 },
];

export function PlaceCard(props: {
  readonly draft: FittingDraft;
  /** The body is a head, not a torso or a limb. */
  readonly isHead: boolean;
  readonly onEdit: (label: string, change: Partial<FittingDraft>) => Promise<void>;
  /** More of what decides the place. */
  readonly children?: ReactNode;
}) {
  const { draft, isHead, onEdit } = props;
  const { unit } = useStore(useStudio().settings);
  const [step, setStep] = useState<'1' | '5' | '20'>('5');
  const by = Number(step);
  return (
    <TicketCard title="Padding and place" className="stacked">
      <FieldRow>
        <LengthField
          label="Foam"
          hint="Its thickness unpressed; 0 for none."
          unit={unit}
          valueMm={draft.foamMm}
          leastMm={0}
          mostMm={100}
          onCommit={(foamMm) => void onEdit('change the foam', { foamMm })}
        />
        <TextField
          label="Pressed by, %"
          hint="Closed-cell foam hardly gives; soft open-cell foam a third."
          type="number"
          min={0}
          max={95}
          value={String(Math.round(100 * draft.compression))}
          onChange={(text) => {
            const share = Number(text) / 100;
            if (text !== '' && share >= 0 && share <= 0.95)
              void onEdit('change how the foam is pressed', { compression: share });
          }}
        />
        <LengthField
          label="Ease besides"
          hint="Room to move on top of the pressed foam."
          unit={unit}
          valueMm={draft.leastMm}
          leastMm={0}
          mostMm={200}
          onCommit={(leastMm) => void onEdit('change the ease', { leastMm })}
        />
      </FieldRow>
      <fieldset className="nudge">
        <legend className="field-label">Move the part</legend>
        <ChoiceField
          label="Step"
          value={step}
          onChange={setStep}
          options={[
            { value: '1', label: '1 mm, 1°' },
            { value: '5', label: '5 mm, 5°' },
            { value: '20', label: '20 mm, 20°' },
          ]}
        />
        <div className="nudge-row">
          {WAYS.map(({ label, axis, sign }) => (
            <Button
              key={label}
              onClick={() =>
                void onEdit(`move the part ${label.toLowerCase()}`, {
                  placement: moved(draft.placement, axis, sign * by),
                })
              }
            >
              {label}
            </Button>
          ))}
        </div>
        <div className="nudge-row">
          {TURNS.map(({ label, axis, sign }) => (
            <Button
              key={label}
              onClick={() => void onEdit(`turn the part`, { placement: turned(draft.placement, axis, sign * by) })}
            >
              {label}
            </Button>
          ))}
        </div>
      </fieldset>
      {props.children}
      <ChoiceField
        label="Straight on the body"
        value={draft.snap ? 'always' : draft.free || !isHead ? 'free' : 'mirrored'}
        onChange={(how) => void onEdit('choose how straight it sits', { snap: how === 'always', free: how === 'free' })}
        options={[
          ...(isHead ? [{ value: 'mirrored' as const, label: 'if it mirrors itself' }] : []),
          { value: 'always', label: 'always' },
          { value: 'free', label: 'it may lean' },
        ]}
      />
      <CheckField
        label="Look for the most even room"
        hint="Instead of the largest least room."
        checked={draft.even}
        onChange={(even) => void onEdit('look for even room', { even })}
      />
      <LengthField
        label="Shift at most"
        hint={`While the best place is looked for. Left empty, 6 mm and 5° about where it lies, and farther off only where that does not give the room wanted; ${isHead ? 'a helmet that may rise' : 'an open part that may move'} freely is only lifted off.`}
        unit={unit}
        valueMm={draft.limitShiftMm}
        leastMm={0}
        mostMm={2000}
        onCommit={(limitShiftMm) => void onEdit('limit the shift', { limitShiftMm })}
      />
    </TicketCard>
  );
}
