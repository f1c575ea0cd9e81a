/** One part: its true size by what is known of it, and whom it was tried on. */
import { useEffect, useMemo, useState } from 'react';
import type { CallInput, CallResult } from '../../../shared-types/contract.ts';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { partSizeDoubt } from '../../../shared-types/operations/part.ts';
import { boundsOf } from '../../../electron/geometry/mesh/quantities.ts';
import { determinant3, transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import { Button } from '../../controls/button.tsx';
import { countText, dayText, Figure, Length, some } from '../../controls/figure.tsx';
import { SelectField, TextField } from '../../controls/field.tsx';
import { FittingView } from '../../controls/fitting-view.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { AskedView, Loading } from '../../controls/states.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import { MakingsCard } from '../making/makings-card.tsx';
import { StartFitting } from './start-fitting.tsx';
import '../form/form.css';
import '../making/making.css';
import './fitting.css';

type Shown = CallResult<'part.show'>;
type PartFigures = CallResult<'part.size'>;
type Unit = NonNullable<CallInput<'part.size'>['unit']>;

export function PartScreen({ id }: { readonly id: string }) {
  const asked = useAsked('part.show', { id });
  return (
    <AskedView asked={asked} loading="Fetching the part">
      {(shown) => <PartDesk shown={shown} />}
    </AskedView>
  );
}

/** Ends of a known dimension, in the view. */
interface Ends {
  readonly from: Vec3 | undefined;
  readonly to: Vec3 | undefined;
}

const NO_ENDS: Ends = { from: undefined, to: undefined };

const UNITS: readonly { readonly value: Unit; readonly label: string; readonly mm: number }[] = [
  { value: 'mm', label: 'millimetres', mm: 1 },
  { value: 'cm', label: 'centimetres', mm: 10 },
  { value: 'm', label: 'metres', mm: 1000 },
  { value: 'in', label: 'inches', mm: 25.4 },
];

/** The longest edge of the box round the part, in the file's own numbers. */
function acrossInFile({ positions, toFile }: CallResult<'part.mesh'>): number {
  const { min, max } = boundsOf(Float64Array.from(positions));
  const perMm = Math.cbrt(Math.abs(determinant3(toFile as unknown as Matrix4)));
  return perMm * Math.max(...max.map((x, k) => x - min[k]));
}

/** Each unit with what it makes of the part. */
const unitsFor = (across: number | undefined): readonly { readonly value: Unit; readonly label: string }[] =>
  across === undefined
    ? UNITS
    : UNITS.map(({ value, label, mm }) => ({
        value,
        label: `${label}: ${countText(Math.round(across * mm))} mm across`,
      }));

function PartDesk({ shown }: { readonly shown: Shown }) {
  const { part, fittings, madeBy } = shown;
  const source = useMemo(() => ({ partId: part.id }), [part.id]);
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const mesh = useAsked('part.mesh', { id: part.id, which: 'file' }, { still: true });
  const [view, setView] = useState<Viewport>();
  const [ends, setEnds] = useState<Ends>(NO_ENDS);
  const [name, setName] = useState(part.knownName ?? '');
  const [mm, setMm] = useState<number | undefined>(part.knownMm);
  const [fileUnit, setFileUnit] = useState<Unit>('mm');
  const [isBusy, setBusy] = useState(false);
  useTitle(part.name);
  const seen = mesh.state === 'value' ? mesh.value : undefined;
  useEffect(() => {
    if (seen !== undefined) view?.setMesh('part', seen, { material: 'wall' });
  }, [view, seen]);
  useEffect(() => view?.setPickMode('surface'), [view]);
  useEffect(() => {
    const { from, to } = ends;
    view?.setSpans(
      from === undefined || to === undefined ? [] : [{ id: 'known', label: name || 'known length', from, to }],
    );
    view?.setMarks(
      from !== undefined && to === undefined ? [{ id: 'from', kind: 'landmark', label: 'from here', point: from }] : [],
    );
  }, [view, ends, name]);
  const size = async (recipe: Omit<CallInput<'part.size'>, 'id'>): Promise<void> => {
    setBusy(true);
    const sized = await studio.ask('part.size', { id: part.id, ...recipe });
    setBusy(false);
    if (sized === undefined) return;
    studio.notes.add({
      tone: 'good',
      text: `One unit of the file is ${sized.trueSize.mmPerUnit.toPrecision(5)} mm.`,
      action: { label: 'Undo', run: () => void studio.undo() },
    });
  };
  const { from, to } = ends;
  const isKnown = from !== undefined && to !== undefined && mm !== undefined && name.trim() !== '';
  const byKnown = async (): Promise<void> => {
    if (!isKnown || seen === undefined) return;
    const inFile = (point: Vec3): [number, number, number] => [
      ...transformPoint(seen.toFile as unknown as Matrix4, point),
    ];
    await size({ known: { spans: [{ name: name.trim(), from: inFile(from), to: inFile(to), measured: mm }] } });
  };
  const figures = part.figures as PartFigures | undefined;
  const doubt = figures === undefined ? undefined : partSizeDoubt(figures.outsideMm);
  const across = useMemo(() => (seen === undefined ? undefined : acrossInFile(seen)), [seen]);
  const isSolid = figures?.kind === 'closed' && (figures.wall?.usualMm ?? Infinity) > MOST_WALL_MM;
  return (
    <div className="form-desk">
      <div className="form-view">
        <FittingView
          label={`The part ${part.name}`}
          onReady={setView}
          onPick={(hit) => {
            const point = hit.pointInMesh;
            setEnds((old) =>
              old.from === undefined || old.to !== undefined ? { from: point, to: undefined } : { ...old, to: point },
            );
          }}
        >
          {mesh.state === 'loading' ? (
            <div className="picture-wait">
              <Loading what="Fetching the part" />
            </div>
          ) : null}
        </FittingView>
      </div>
      <div className="form-papers">
        <TicketCard
          level={1}
          title={part.name}
          kind={
            <>
              {madeBy === undefined ? (
                <>
                  {part.fileName} · brought in on {dayText(part.createdAt)}
                </>
              ) : (
                <>
                  <a href={`#/making/${madeBy.id}`}>A solid made hollow</a> on {dayText(part.createdAt)}
                </>
              )}
            </>
          }
        >
          {madeBy?.isOutdated === true ? (
            <Remark tone="doubt">Outdated: the solid it was made from has another size now.</Remark>
          ) : null}
          {doubt === undefined ? null : <Remark tone="doubt">{doubt}</Remark>}
          {figures === undefined || part.madeSha256 === undefined ? (
            <Remark tone="doubt">
              Its true size is not known yet: give one length of the real thing, or the file’s unit.
            </Remark>
          ) : (
            <dl className="figures">
              <Figure
                label="One unit of the file"
                value={`${figures.trueSize.mmPerUnit.toPrecision(5)} mm`}
                note={HOW[figures.trueSize.how] ?? figures.trueSize.how}
              />
              {figures.trueSize.residuals.map(({ name: of, measuredMm, missMm }) => (
                <Figure
                  key={of}
                  label={of}
                  value={<Length mm={measuredMm} />}
                  note={`off by ${missMm.toFixed(2)} mm`}
                />
              ))}
              <Figure
                label="Outside"
                value={figures.outsideMm.map((mm) => mm.toFixed(0)).join(' × ')}
                note={`mm; ${figures.kind === 'closed' ? 'a closed body' : 'a single sheet'}, ${some(figures.pieces, 'piece')}`}
              />
              {figures.wall === null ? null : (
                <Figure
                  label="Wall"
                  value={<Length mm={figures.wall.usualMm} />}
                  note={`${figures.wall.leastMm.toFixed(2)} mm at its thinnest`}
                />
              )}
            </dl>
          )}
        </TicketCard>
        <TicketCard
          title="Its true size"
          className="stacked"
          kind="By one length of the real thing"
          stub={
            <Button tone="main" disabled={!isKnown} busy={isBusy} onClick={() => void byKnown()}>
              Give it this size
            </Button>
          }
        >
          <p>
            {from === undefined
              ? 'Press on the part where a length you know begins, then where it ends.'
              : to === undefined
                ? 'Now press where it ends.'
                : 'Both ends are set; press again to begin anew.'}
          </p>
          <TextField label="What it is" placeholder="pivot to pivot" value={name} maxLength={100} onChange={setName} />
          <LengthField
            label="Length on the real thing"
            unit={unit}
            valueMm={part.knownMm}
            leastMm={1}
            mostMm={5000}
            onRead={setMm}
          />
          <hr />
          <SelectField
            label="Or: the file is written in"
            value={fileUnit}
            onChange={setFileUnit}
            options={unitsFor(across)}
          />
          <Button busy={isBusy} onClick={() => void size({ unit: fileUnit })}>
            Take it as that
          </Button>
        </TicketCard>
        {part.madeSha256 === undefined ? null : (
          <MakingsCard source={source} kinds={isSolid ? SOLID_KINDS : HOLLOW_KINDS} subject={part.name} />
        )}
        <TicketCard title="Tried on" stub={<StartFitting part={part} />}>
          {fittings.length === 0 ? (
            <p className="soft">Nobody yet.</p>
          ) : (
            <ul className="plain-list line-list">
              {fittings.map((fitting) => (
                <li key={fitting.id}>
                  <a href={`#/fitting/${fitting.id}`}>{fitting.name}</a>
                </li>
              ))}
            </ul>
          )}
        </TicketCard>
      </div>
    </div>
  );
}

/** Thicker is no wall but a solid, mm (common practice, no source). */
const MOST_WALL_MM = 20;
/** What is made of a part, that which it mostly needs first. */
const SOLID_KINDS = ['shell', 'pieces', 'gauge', 'pattern'] as const;
const HOLLOW_KINDS = ['pieces', 'gauge', 'pattern', 'shell'] as const;

const HOW: Readonly<Record<string, string>> = {
  'known dimension': 'by the length you gave',
  placement: 'by its placement',
  'unit of the file': 'as the file says',
  'unit given': 'as you said',
  'guessed from its size': 'a guess; measure the real thing',
};
