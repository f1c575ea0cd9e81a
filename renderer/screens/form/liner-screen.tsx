/** A liner over its form, with what was measured on it. */
import { useEffect, useMemo, useState, type ReactNode } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { linerPlaces } from '../../../shared-types/liner-places.ts';
import { openingWords } from '../../../shared-types/liner-words.ts';
import { figureNumber, figureRows, figureWord } from '../../../shared-types/step-evidence.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import { ontoSurface } from '../../controls/drawing.ts';
import { ExportChoice } from '../../controls/export-choice.tsx';
import { countText, dayText, Figure, Length } from '../../controls/figure.tsx';
import { FittingView } from '../../controls/fitting-view.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { SectionSheet } from '../../controls/section-sheet.tsx';
import { AskedView } from '../../controls/states.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import { MakingsCard } from '../making/makings-card.tsx';
import { WAYS_IN } from './liner-plan.ts';
import { useLinerMap } from './use-liner-map.tsx';
import { LinerParts } from './liner-parts.tsx';
import './form.css';

type Shown = CallResult<'liner.show'>;

export function LinerScreen({ id }: { readonly id: string }) {
  const asked = useAsked('liner.show', { id }, { still: true });
  return (
    <AskedView asked={asked} loading="Fetching the liner">
      {(shown) => <LinerDesk shown={shown} />}
    </AskedView>
  );
}

function LinerDesk({ shown }: { readonly shown: Shown }) {
  const { liner, mesh } = shown;
  const { unit } = useStore(useStudio().settings);
  const [view, setView] = useState<Viewport>();
  const [isCut, setCut] = useState(false);
  const [isGlass, setGlass] = useState(true);
  const form = useAsked('form.show', { revisionId: liner.formRevisionId }, { still: true });
  const formMesh = useAsked('form.mesh', { revisionId: liner.formRevisionId }, { still: true });
  const under = formMesh.state === 'value' ? formMesh.value : undefined;
  const name = form.state === 'value' ? form.value.form.name : 'its form';
  useTitle(`Liner, ${liner.foamMm} mm foam`);
  const map = useLinerMap(view, shown, isGlass);
  useEffect(() => {
    if (under !== undefined) view?.setMesh('form', under, { material: 'clay' });
  }, [view, under]);
  const places = useMemo(
    () => linerPlaces(liner.figures, liner.parameters).map((place) => ({ ...place, isThere: liesOn(mesh, place.at) })),
    [liner, mesh],
  );
  useEffect(() => {
    view?.setMarks(
      places.flatMap(({ id, words, mm, at, isThere }) =>
        at !== undefined && isThere
          ? [{ id, kind: 'landmark', label: `${words} ${lengthText(mm, unit, 2)}`, point: at }]
          : [],
      ),
    );
    return () => view?.setMarks([]);
  }, [view, places, unit]);
  return (
    <div className="form-desk">
      <div className="form-view">
        <FittingView
          label={`Liner for ${liner.foamMm} mm foam over ${name}`}
          onReady={setView}
          tools={
            <>
              <Button tone="quiet" aria-pressed={isCut} onClick={() => setCut(!isCut)}>
                Section
              </Button>
              <Button tone="quiet" aria-pressed={isGlass} onClick={() => setGlass(!isGlass)} disabled={map.isOn}>
                See through it
              </Button>
              {map.buttons}
            </>
          }
        >
          {isCut ? (
            <SectionSheet
              view={view}
              positions={mesh.positions}
              shown={under === undefined ? 0 : 1}
              region={form.state === 'value' ? form.value.revision.recipe['region'] : undefined}
            />
          ) : null}
          {map.legend}
        </FittingView>
      </div>
      <div className="form-papers">
        <TicketCard
          level={1}
          title={
            <>
              Liner for <Length mm={liner.foamMm} /> foam
            </>
          }
          kind={
            form.state === 'value' ? (
              <>
                Over <a href={`#/form/${liner.formRevisionId}`}>{name}</a>, making {form.value.revision.revision} ·{' '}
                {dayText(liner.createdAt)}
              </>
            ) : (
              dayText(liner.createdAt)
            )
          }
          className="stacked"
          stub={<ExportChoice linerId={liner.id} />}
        >
          <Soundness figures={liner.figures} />
          {places.map(({ id, at, doubt, isThere }) =>
            doubt === undefined ? null : (
              <Remark key={id} tone="doubt">
                {doubt}
                {at === undefined ? '' : isThere ? ' It is marked in the view.' : ' That place was cut out.'}
              </Remark>
            ),
          )}
          <LinerFigures liner={liner} />
        </TicketCard>
        <LinerParts figures={liner.figures} asked={liner.parameters} />
        <MakingsCard source={{ linerId: liner.id }} kinds={['pieces', 'gauge', 'pattern']} subject={name} />
        <TicketCard title="Asked for" kind={`Program ${liner.programVersion}`}>
          <Parameters parameters={liner.parameters} />
        </TicketCard>
      </div>
    </div>
  );
}

function Soundness({ figures }: { readonly figures: Shown['liner']['figures'] }) {
  return figures['watertight'] === true && (figureNumber(figures, 'selfIntersections') ?? 0) === 0 ? (
    <Remark tone="good">A sound solid: closed, and nowhere cutting itself.</Remark>
  ) : (
    <Remark tone="trouble">Not a sound solid; look at it closely before printing.</Remark>
  );
}

/** What lies farther from a finished liner was cut out of it, mm. */
const FARTHEST_MM = 1;

function liesOn(mesh: Shown['mesh'], at: Vec3 | undefined): boolean {
  if (at === undefined) return false;
  const foot = ontoSurface(mesh, at);
  return Math.hypot(foot[0] - at[0], foot[1] - at[1], foot[2] - at[2]) < FARTHEST_MM;
}

function LinerFigures({ liner }: { readonly liner: Shown['liner'] }) {
  const { figures, foamMm } = liner;
  const number = (name: string): number | undefined => {
    const value = figures[name];
    return typeof value === 'number' ? value : undefined;
  };
  const [least, most, mean, worst] = ['minMm', 'maxMm', 'meanAbsErrorMm', 'maxAbsErrorMm'].map(number);
  const [faces, foam, volume, area, thick, wallLeast, wallMost, wallMean] = [
    'faces',
    'foamVolumeMm3',
    'volumeMm3',
    'areaMm2',
    'meanMm',
    'wallMinMm',
    'wallMaxMm',
    'wallMeanMm',
  ].map(number);
  const isOpened = figureRows(figures, 'openings').length > 0;
  const isBridged = typeof liner.parameters['bridgeMm'] === 'number';
  return (
    <>
      <dl className="figures">
        {least === undefined || most === undefined ? null : (
          <Figure
            label="Distance from the form"
            value={
              <>
                {least.toFixed(2)} to {most.toFixed(2)} mm
              </>
            }
            note={`${thick === undefined ? '' : `${thick.toFixed(2)} mm on average; `}asked for: ${foamMm} mm${isBridged ? ', and more where hollows are bridged' : ''}${isOpened ? '; before it is opened' : ''}`}
          />
        )}
        {mean === undefined || worst === undefined ? null : (
          <Figure
            label="Off by"
            value={`${mean.toFixed(3)} mm`}
            note={`on average; ${worst.toFixed(2)} mm at most, in ${countText(number('samples') ?? 0)} samples`}
          />
        )}
        {faces === undefined ? null : <Figure label="Faces" value={countText(faces)} />}
        {foam === undefined ? null : (
          <Figure
            label="Foam"
            value={`${(foam / 1e6).toFixed(2)} litres`}
            note={`as worn, before it is opened${figureRows(figures, 'standsOff').length > 0 ? '; with the room where it stands off' : ''}`}
          />
        )}
        {wallLeast === undefined || wallMost === undefined ? null : (
          <Figure
            label="Wall"
            value={`${wallLeast.toFixed(2)} to ${wallMost.toFixed(2)} mm`}
            note={wallMean === undefined ? undefined : `${wallMean.toFixed(2)} mm on average, before it is opened`}
          />
        )}
        {volume === undefined ? null : <Figure label="Solid volume" value={`${(volume / 1000).toFixed(0)} cm³`} />}
        {area === undefined ? null : (
          <Figure label="Surface" value={`${(area / 100).toFixed(0)} cm²`} note="all sides together" />
        )}
      </dl>
    </>
  );
}

/** What was asked for, each in the desk's own words; what was left as it is by itself is not told. */
function Parameters({ parameters }: { readonly parameters: Readonly<Record<string, unknown>> }) {
  return (
    <dl className="figures">
      {Object.entries(PARAMETERS).map(([name, { label, value }]) => {
        const shown = value(parameters[name]);
        return shown === undefined ? null : <Figure key={name} label={label} value={shown} />;
      })}
    </dl>
  );
}

const length = (value: unknown): ReactNode =>
  typeof value === 'number' ? <Length mm={value} digits={2} /> : undefined;

/** Names of the things listed under `key` in what was asked for. */
function namesIn(asked: unknown, key: string): string | undefined {
  if (typeof asked !== 'object' || asked === null) return undefined;
  const names = figureRows(asked as Readonly<Record<string, unknown>>, key).map(
    (row, number) => figureWord(row, 'name') ?? figureWord(row, 'region') ?? String(number + 1),
  );
  return names.length === 0 ? undefined : names.join(', ');
}

function wayText(value: unknown): string | undefined {
  if (!Array.isArray(value)) return undefined;
  const ways = Object.values(WAYS_IN);
  return (
    ways.find(({ direction }) => direction?.every((c, k) => c === value[k]) === true)?.label ??
    `along ${value.map((c) => Number(c).toFixed(2)).join(', ')}`
  );
}

const PARAMETERS: Readonly<Record<string, { readonly label: string; readonly value: (asked: unknown) => ReactNode }>> =
  {
    foamMm: { label: 'Foam', value: length },
    toleranceMm: { label: 'To within', value: length },
    bridgeMm: { label: 'Hollows bridged at', value: length },
    wallMm: { label: 'Wall', value: length },
    zones: { label: 'Zones', value: (asked) => namesIn(asked, 'zones') },
    opening: { label: 'Opened', value: openingWords },
    donning: { label: 'Put on', value: wayText },
    giveMm: { label: 'The foam gives', value: length },
    tiltDegrees: {
      label: 'Tipped by at most',
      value: (asked) => (typeof asked === 'number' && asked > 0 ? `${asked}°` : undefined),
    },
    clear: { label: 'Undercuts', value: (asked) => (asked === true ? 'taken out' : undefined) },
    keepOut: { label: 'Left free', value: (asked) => namesIn(asked, 'keepOut') },
  };
