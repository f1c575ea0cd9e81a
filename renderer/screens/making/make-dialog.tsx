/** What to make of a form, a liner or a part: pieces for the printer, bands to try the size, a pattern to cut. */
import { useState } from 'react';
import type { MakingSource } from '../../../shared-types/calls/makings.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/line.ts';
import { Dialog } from '../../controls/dialog.tsx';
import { CheckField, ChoiceField, SelectField, TextField } from '../../controls/field.tsx';
import { Remark } from '../../controls/paper.tsx';
import { useAsked } from '../../state/use-asked.ts';
import type { PaperSize } from '../../../shared-types/paper.ts';
import { LengthField } from '../../controls/length-field.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import {
  FIRST_PADS,
  FIRST_PATTERN,
  FIRST_PIECES,
  gaugeParameters,
  levelsOf,
  padsParameters,
  patternParameters,
  piecesParameters,
  stretchOf,
  type GaugePlan,
  type MakingKind,
  type PadsPlan,
  type PatternPlan,
  type PiecesPlan,
} from './make-plan.ts';
import './making.css';

const KINDS: Readonly<Record<MakingKind, string>> = {
  pads: 'Pads of foam',
  pieces: 'Pieces to print',
  gauge: 'Gauge bands',
  pattern: 'A pattern to cut',
};

export interface MakeDialogProps {
  readonly source: MakingSource;
  readonly kinds: readonly MakingKind[];
  /** Where the part lies on the form, for pads. */
  readonly placement?: readonly number[] | undefined;
  /** Whose it is, for names and words raised on bands. */
  readonly subject: string;
  readonly onClose: () => void;
}

export function MakeDialog({ source, kinds, subject, placement, onClose }: MakeDialogProps) {
  const studio = useStudio();
  const [kind, setKind] = useState<MakingKind>(kinds[0] ?? 'pattern');
  const [pieces, setPieces] = useState(FIRST_PIECES);
  const [gauge, setGauge] = useState<GaugePlan>({ levels: '0, 50', bandMm: 12, words: subject });
  const [pattern, setPattern] = useState(FIRST_PATTERN);
  const [pads, setPads] = useState(FIRST_PADS);
  const listed = useAsked('stock.list', {});
  const stock = listed.state === 'value' ? listed.value.stock : [];
  const parameters = {
    pieces: () => piecesParameters(pieces),
    gauge: () => gaugeParameters(gauge),
    pattern: () => patternParameters(pattern),
    pads: () => padsParameters(pads, stock, placement),
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
        {kind === 'pads' ? (
          <PadsFields plan={pads} onPlan={setPads} stock={stock.length} isPlaced={placement !== undefined} />
        ) : null}
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

function PadsFields(props: {
  readonly plan: PadsPlan;
  readonly onPlan: (plan: PadsPlan) => void;
  readonly stock: number;
  readonly isPlaced: boolean;
}) {
  const { plan, onPlan } = props;
  const { unit } = useStore(useStudio().settings);
  return (
    <>
      {props.isPlaced ? null : <Remark tone="doubt">Try the part on first: pads fill the room it leaves.</Remark>}
      {props.stock > 0 ? null : (
        <Remark tone="doubt">There is no foam in the stock yet; add it on the project’s page.</Remark>
      )}
      <LengthField
        label="No pad where there is less room than"
        unit={unit}
        valueMm={FIRST_PADS.leastMm}
        leastMm={0}
        mostMm={60}
        onRead={(leastMm) => onPlan({ ...plan, leastMm })}
      />
      <LengthField
        label="No pad where there is more than"
        unit={unit}
        valueMm={FIRST_PADS.mostMm}
        leastMm={1}
        mostMm={100}
        onRead={(mostMm) => onPlan({ ...plan, mostMm })}
      />
      <CheckField
        label="Left and right alike"
        hint="Pads that come in pairs are cut as mirror images."
        checked={plan.isMirrored}
        onChange={(isMirrored) => onPlan({ ...plan, isMirrored })}
      />
      <PaperField value={plan.paper} onChange={(paper) => onPlan({ ...plan, paper })} />
    </>
  );
}

function PaperField(props: { readonly value: PaperSize; readonly onChange: (paper: PaperSize) => void }) {
  return (
    <SelectField
      label="Paper"
      value={props.value}
      onChange={props.onChange}
      options={[
        { value: 'a4', label: 'A4' },
        { value: 'a3', label: 'A3' },
        { value: 'letter', label: 'Letter' },
      ]}
    />
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
      <PaperField value={plan.paper} onChange={(paper) => onPlan({ ...plan, paper })} />
    </>
  );
}
