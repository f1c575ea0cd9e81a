/** What to make of a form, a liner or a part, thought over beside it: pads, pieces, bands to try the size, a pattern. */
import { useMemo, useState } from 'react';
import type { MakingSource } from '../../../shared-types/calls/makings.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { PlanSubject } from '../../../shared-types/records/plan.ts';
import { Dialog } from '../../controls/dialog.tsx';
import { placed, type Drawing } from '../../controls/drawing.ts';
import { frameOf } from '../../controls/heights.ts';
import { ChoiceField } from '../../controls/field.tsx';
import { fairLines, openingLines } from '../../controls/openings.ts';
import { Remark } from '../../controls/paper.tsx';
import { useAsked } from '../../state/use-asked.ts';
import { useLive } from '../../state/use-live.ts';
import { usePlan } from '../../state/use-plan.ts';
import { useStudio } from '../../state/studio.ts';
import {
  FIRST_PADS,
  FIRST_PATTERN,
  FIRST_PIECES,
  FIRST_SHELL,
  firstGauge,
  gaugeParameters,
  namesOf,
  OUTLINE,
  padLines,
  padsParameters,
  patternLines,
  patternParameters,
  piecesParameters,
  shellParameters,
  STEPS,
  stretchOf,
  subjectOf,
  type MakingKind,
  type OwnCut,
} from './make-plan.ts';
import { GaugeFields } from './gauge-fields.tsx';
import { bandLines } from './gauge-lines.ts';
import { MakeView } from './make-view.tsx';
import { PadsFields } from './pads-fields.tsx';
import { PatternFields } from './pattern-fields.tsx';
import { PiecesFields } from './pieces-fields.tsx';
import { ShellFields } from './shell-fields.tsx';
import './making.css';

const KINDS: Readonly<Record<MakingKind, string>> = {
  pads: 'Pads of foam',
  pieces: 'Pieces to print',
  gauge: 'Gauge bands',
  shell: 'A hollow shell',
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

export function MakeDialog(props: MakeDialogProps) {
  const revisionId = props.source.formRevisionId;
  const form = useAsked('form.show', revisionId === undefined ? undefined : { revisionId }, { still: true });
  const about = subjectOf(props.source, form.state === 'value' ? form.value.form.id : undefined);
  const region = form.state === 'value' ? form.value.revision.recipe['region'] : undefined;
  return about === undefined ? null : <MakeDesk {...props} about={about} region={region} />;
}

/** `region`: of the body, as its form's recipe names it. */
function MakeDesk(props: MakeDialogProps & { readonly about: PlanSubject; readonly region: unknown }) {
  const { source, kinds, subject, placement, onClose, about, region } = props;
  const isHead = frameOf(region) === 'head';
  const studio = useStudio();
  const [kind, setKind] = useState<MakingKind>(kinds[0] ?? 'pattern');
  const pieces = usePlan('pieces', about, FIRST_PIECES, STEPS.pieces);
  const [first] = useState(() => firstGauge(subject));
  const gauge = usePlan('gauge', about, first, STEPS.gauge);
  const keptPattern = usePlan('pattern', about, FIRST_PATTERN, STEPS.pattern);
  const keptPads = usePlan('pads', about, FIRST_PADS, STEPS.pads);
  // Usual places are those of a head.
  const pattern = isHead ? keptPattern : { ...keptPattern, plan: { ...keptPattern.plan, zone: undefined } };
  const pads = isHead ? keptPads : { ...keptPads, plan: { ...keptPads.plan, usual: [] } };
  const shell = usePlan('shell', about, FIRST_SHELL, STEPS.shell);
  const [inHand, setDrawing] = useState<Drawing>();
  const [heldCut, setHeldCut] = useState<string>();
  const [isBefore, setBefore] = useState(false);
  const listed = useAsked('stock.list', {});
  const stock = listed.state === 'value' ? listed.value.stock : [];
  const fetched = useAsked('making.body', { kind, source }, { still: true });
  const body = fetched.state === 'value' ? fetched.value : undefined;

  const parameters = {
    pieces: () => piecesParameters(pieces.plan),
    gauge: () => gaugeParameters(gauge.plan),
    pattern: () => patternParameters(pattern.plan, 'name'),
    pads: () => padsParameters(pads.plan, stock, placement),
    shell: () => shellParameters(shell.plan),
  }[kind]();
  const asked = kind === 'pattern' ? patternParameters(pattern.plan, 'id') : parameters;
  const live = useLive(
    'making.preview',
    kind === 'gauge' || asked === undefined ? undefined : { kind, source, parameters: asked },
  );
  const hasSeams =
    kind === 'pattern' && asked !== undefined && pattern.plan.seams.some(({ points }) => points.length > 1);
  const unparted = hasSeams ? patternParameters({ ...pattern.plan, seams: [] }, 'id') : undefined;
  const without = useLive(
    'making.preview',
    unparted === undefined ? undefined : { kind: 'pattern', source, parameters: unparted },
  );
  // An answer about another kind may still be on the table.
  const shown = live.preview !== undefined && kind in live.preview ? live.preview : undefined;
  const before = without.preview?.pattern;
  const isShown = shown !== undefined && asked !== undefined;

  const bands = useMemo(() => (kind === 'gauge' ? bandLines(gauge.plan, body) : undefined), [kind, gauge.plan, body]);
  const misses = bands !== undefined && bands.missed.length > 0;
  const lines = useMemo(() => {
    if (bands !== undefined) return bands.lines;
    if (kind === 'pads') return padLines(pads.plan);
    if (kind === 'shell') return openingLines(shell.plan.curves);
    return kind === 'pattern' ? patternLines(pattern.plan) : [];
  }, [kind, bands, pads.plan, pattern.plan, shell.plan.curves]);
  // Undo may have taken the line away that was in hand.
  const drawing = lines.some(({ id }) => id === inHand?.lineId) ? inHand : undefined;
  const fair = useMemo(() => {
    const found = new Map<string, ArrayLike<number>>(bands?.ways);
    for (const { name, points } of shown?.pattern?.lines ?? []) found.set(name, points);
    const rims = (shown?.shell?.lines ?? []).map(({ points }) => points);
    for (const [id, points] of fairLines(shell.plan.curves, rims)) found.set(id, points);
    for (const [number, pad] of pads.plan.drawn.entries()) {
      const names = namesOf(pad, number);
      const both = names[0].replace(/ (left|right)$/, '');
      const rim = shown?.pads?.lines.find(({ name }) => name === names[0] || (pad.isMirrored && name === both));
      // A pair cut alike is shown on its left; drawn on the right, the line stays where it was drawn.
      const isThere = rim !== undefined && Math.sign(rim.points[1]) === Math.sign(pad.curve[0]?.[1] ?? 0);
      if (isThere) found.set(pad.id, rim.points);
    }
    return found;
  }, [shown, bands, pads.plan, shell.plan.curves]);

  const press = (at: Vec3): void => {
    if (drawing === undefined) return;
    const { lineId } = drawing;
    if (kind === 'pads') {
      pads.change((plan) => ({
        ...plan,
        drawn: plan.drawn.map((pad) => (pad.id === lineId ? { ...pad, curve: placed(pad.curve, at, drawing) } : pad)),
      }));
    } else if (kind === 'shell') {
      const number = Number(lineId);
      shell.change((plan) => ({
        ...plan,
        curves: plan.curves.map((curve, one) => (one === number ? placed(curve, at, drawing) : curve)),
      }));
    } else if (lineId === OUTLINE) {
      pattern.change((plan) => ({ ...plan, curve: placed(plan.curve, at, drawing) }));
    } else {
      pattern.change((plan) => ({
        ...plan,
        seams: plan.seams.map((seam) =>
          seam.id === lineId ? { ...seam, points: placed(seam.points, at, drawing) } : seam,
        ),
      }));
    }
  };
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
  const desk = { drawing, onDrawing: setDrawing, surface: body };
  return (
    <Dialog
      title="Cut and print"
      onClose={onClose}
      isDesk
      away="Leave it for now"
      action={{ label: 'Make it', run, isReady: parameters !== undefined && !misses }}
    >
      <div className="make-view">
        <MakeView
          label={`${KINDS[kind]}: ${subject}`}
          body={body}
          shown={isBefore && hasSeams ? (without.preview ?? shown) : shown}
          {...{ lines, drawing, fair, heldCut }}
          onDrawing={setDrawing}
          onPress={press}
          allowedPercent={stretchOf(pattern.plan.stretch)}
          cuts={kind === 'pieces' ? pieces.plan.cuts : kind === 'shell' ? shell.plan.cuts : NO_CUTS}
          onCut={(id, point, normal) => {
            const moved = (cuts: readonly OwnCut[]) =>
              cuts.map((cut) => (cut.id === id ? { ...cut, point, normal } : cut));
            if (kind === 'shell') shell.change((plan) => ({ ...plan, cuts: moved(plan.cuts) }));
            else pieces.change((plan) => ({ ...plan, cuts: moved(plan.cuts) }));
          }}
        />
      </div>
      <div className="make-fields">
        {kinds.length < 2 ? null : (
          <ChoiceField
            label="What to make"
            value={kind}
            onChange={(next) => {
              setDrawing(undefined);
              setHeldCut(undefined);
              setKind(next);
            }}
            options={kinds.map((value) => ({ value, label: KINDS[value] }))}
          />
        )}
        {live.trouble === undefined ? (
          <p className="soft small" role="status" aria-busy={live.isBusy}>
            {live.isBusy ? 'Being looked at…' : isShown ? 'The view shows what would be made.' : ''}
          </p>
        ) : (
          <Remark tone="trouble">{live.trouble}</Remark>
        )}
        {kind === 'pieces' ? (
          <PiecesFields
            plan={pieces.plan}
            onPlan={(next) => pieces.change(() => next)}
            shown={shown?.pieces}
            isBusy={live.isBusy}
            surface={body}
            held={heldCut}
            onHeld={setHeldCut}
          />
        ) : null}
        {kind === 'shell' ? (
          <ShellFields
            {...desk}
            plan={shell.plan}
            onPlan={(next) => shell.change(() => next)}
            shown={shown?.shell}
            isBusy={live.isBusy}
            held={heldCut}
            onHeld={setHeldCut}
          />
        ) : null}
        {kind === 'gauge' ? (
          <GaugeFields
            plan={gauge.plan}
            onPlan={(next) => gauge.change(() => next)}
            bands={bands}
            region={source.partId === undefined || source.linerId !== undefined ? region : 'part'}
          />
        ) : null}
        {kind === 'pads' ? (
          <PadsFields
            {...desk}
            plan={pads.plan}
            onPlan={(next) => pads.change(() => next)}
            stock={stock}
            isHead={isHead}
            isPlaced={placement !== undefined}
            shown={shown?.pads}
            isBusy={live.isBusy}
          />
        ) : null}
        {kind === 'pattern' ? (
          <PatternFields
            {...desk}
            plan={pattern.plan}
            onPlan={(next) => pattern.change(() => next)}
            shown={shown?.pattern}
            isHead={isHead}
            before={before}
            isBefore={isBefore}
            onBefore={setBefore}
          />
        ) : null}
      </div>
    </Dialog>
  );
}

const NO_CUTS: readonly never[] = [];
