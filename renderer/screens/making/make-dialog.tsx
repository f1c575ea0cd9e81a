/** What to make of a form, a liner or a part: pieces for the printer, bands to try the size, a pattern to cut. */
import { useState } from 'react';
import type { MakingSource } from '../../../shared-types/calls/makings.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/line.ts';
import { Dialog } from '../../controls/dialog.tsx';
import { CheckField, ChoiceField, SelectField, TextField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import {
  FIRST_PATTERN,
  FIRST_PIECES,
  gaugeParameters,
  levelsOf,
  patternParameters,
  piecesParameters,
  stretchOf,
  type GaugePlan,
  type MakingKind,
  type PatternPlan,
  type PiecesPlan,
} from './make-plan.ts';
import './making.css';

type Kind = Exclude<MakingKind, 'pads'>;

const KINDS: Readonly<Record<Kind, string>> = {
  pieces: 'Pieces to print',
  gauge: 'Gauge bands',
  pattern: 'A pattern to cut',
};

export interface MakeDialogProps {
  readonly source: MakingSource;
  readonly kinds: readonly Kind[];
  /** Whose it is, for names and words raised on bands. */
  readonly subject: string;
  readonly onClose: () => void;
}

export function MakeDialog({ source, kinds, subject, onClose }: MakeDialogProps) {
  const studio = useStudio();
  const [kind, setKind] = useState<Kind>(kinds[0] ?? 'pattern');
  const [pieces, setPieces] = useState(FIRST_PIECES);
  const [gauge, setGauge] = useState<GaugePlan>({ levels: '0, 50', bandMm: 12, words: subject });
  const [pattern, setPattern] = useState(FIRST_PATTERN);
  const parameters = {
    pieces: () => piecesParameters(pieces),
    gauge: () => gaugeParameters(gauge),
    pattern: () => patternParameters(pattern),
  }[kind]();
  const run = async (): Promise<void> => {
    if (parameters === undefined) return;
    const name = `${KINDS[kind]}: ${subject}`;
    const started = await studio.ask('making.start', { kind, name, source, parameters });
    if (started === undefined) return;
    studio.notes.add({
      tone: 'plain',
      text: 'It is being made; Jobs shows how far it is, and it will be listed here.',
    });
    onClose();
  };
  return (
    <Dialog
      title="Cut and print"
      onClose={onClose}
      action={{ label: 'Make it', run, isReady: parameters !== undefined }}
    >
      <div className="make-fields">
        {kinds.length < 2 ? null : (
          <ChoiceField
            label="What to make"
            value={kind}
            onChange={setKind}
            options={kinds.map((value) => ({ value, label: KINDS[value] }))}
          />
        )}
        {kind === 'pieces' ? <PiecesFields plan={pieces} onPlan={setPieces} /> : null}
        {kind === 'gauge' ? <GaugeFields plan={gauge} onPlan={setGauge} /> : null}
        {kind === 'pattern' ? <PatternFields plan={pattern} onPlan={setPattern} /> : null}
      </div>
    </Dialog>
  );
}

function PiecesFields({ plan, onPlan }: { readonly plan: PiecesPlan; readonly onPlan: (plan: PiecesPlan) => void }) {
  const { unit } = useStore(useStudio().settings);
  const sides = ['Width', 'Depth', 'Height'];
  return (
    <>
      <fieldset className="make-bed">
        <legend className="field-label">Room of the print bed</legend>
        {sides.map((label, side) => (
          <LengthField
            key={label}
            label={label}
            unit={unit}
            valueMm={FIRST_PIECES.bedMm[side]}
            leastMm={20}
            mostMm={3000}
            onRead={(mm) =>
              onPlan({
                ...plan,
                bedMm: plan.bedMm.map((old, k) => (k === side ? mm : old)) as unknown as typeof plan.bedMm,
              })
            }
          />
        ))}
      </fieldset>
      <ChoiceField
        label="Pieces are held together by"
        value={plan.joint}
        onChange={(joint) => onPlan({ ...plan, joint })}
        options={[
          { value: 'dowel', label: 'Pins in holes' },
          { value: 'peg', label: 'Pegs and sockets' },
          { value: 'none', label: 'Glue alone' },
        ]}
      />
      {plan.joint === 'none' ? null : (
        <>
          <LengthField
            label="Thickness of a pin"
            hint="Bits of printing filament, 1.75 mm thick, make good pins."
            unit={unit}
            digits={2}
            valueMm={FIRST_PIECES.pinMm}
            leastMm={1}
            mostMm={20}
            onRead={(pinMm) => onPlan({ ...plan, pinMm })}
          />
          <LengthField
            label="Holes wider by"
            unit={unit}
            digits={2}
            valueMm={FIRST_PIECES.clearanceMm}
            leastMm={0}
            mostMm={2}
            onRead={(clearanceMm) => onPlan({ ...plan, clearanceMm })}
          />
        </>
      )}
      <CheckField
        label="Raise a number on each piece"
        hint="On the inner side, where padding hides it."
        checked={plan.isNumbered}
        onChange={(isNumbered) => onPlan({ ...plan, isNumbered })}
      />
    </>
  );
}

function GaugeFields({ plan, onPlan }: { readonly plan: GaugePlan; readonly onPlan: (plan: GaugePlan) => void }) {
  const { unit } = useStore(useStudio().settings);
  const isBad = plan.levels.trim() !== '' && levelsOf(plan.levels) === undefined;
  return (
    <>
      <TextField
        label="Heights of the bands, mm"
        hint="Over the notches of the ears; a brow band lies at about 40. Several with commas."
        value={plan.levels}
        onChange={(levels) => onPlan({ ...plan, levels })}
        trouble={isBad ? 'Write heights as numbers, for example 0, 40.' : undefined}
      />
      <LengthField
        label="How high a band is"
        unit={unit}
        valueMm={12}
        leastMm={2}
        mostMm={100}
        onRead={(bandMm) => onPlan({ ...plan, bandMm })}
      />
      <TextField
        label="Words raised on it"
        hint="Its height is added by itself."
        value={plan.words}
        maxLength={60}
        onChange={(words) => onPlan({ ...plan, words })}
      />
    </>
  );
}

const ZONES = ZONE_NAMES.map((value) => ({ value, label: value[0]?.toUpperCase() + value.slice(1) }));

function PatternFields({ plan, onPlan }: { readonly plan: PatternPlan; readonly onPlan: (plan: PatternPlan) => void }) {
  const { unit } = useStore(useStudio().settings);
  return (
    <>
      <SelectField label="Where" value={plan.zone} onChange={(zone) => onPlan({ ...plan, zone })} options={ZONES} />
      <LengthField
        label="Thickness of the foam"
        hint="As your calliper says; the pattern is made for its middle."
        unit={unit}
        valueMm={FIRST_PATTERN.foamMm}
        leastMm={0}
        mostMm={60}
        onRead={(foamMm) => onPlan({ ...plan, foamMm })}
      />
      <TextField
        label="The sheet gives, %"
        hint="Along itself; beyond it darts are cut."
        inputMode="decimal"
        value={plan.stretch}
        onChange={(stretch) => onPlan({ ...plan, stretch })}
        trouble={stretchOf(plan.stretch) === undefined ? 'Write a share from 0.1 to 50.' : undefined}
      />
      <LengthField
        label="Seam allowance"
        unit={unit}
        valueMm={FIRST_PATTERN.allowanceMm}
        leastMm={0}
        mostMm={50}
        onRead={(allowanceMm) => onPlan({ ...plan, allowanceMm })}
      />
      <SelectField
        label="Paper"
        value={plan.paper}
        onChange={(paper) => onPlan({ ...plan, paper })}
        options={[
          { value: 'a4', label: 'A4' },
          { value: 'a3', label: 'A3' },
          { value: 'letter', label: 'Letter' },
        ]}
      />
    </>
  );
}
