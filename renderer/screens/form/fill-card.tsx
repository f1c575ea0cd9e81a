/** What the scan missed or has wrong, filled by the likely body: chosen by place or brush, looked at, made as a form of its own. */
import { useId, useState } from 'react';
import type { SurveyChoice } from '../../../shared-types/survey.ts';
import { NAMED_ZONES } from '../../../electron/geometry/measure/zone-share.ts';
import { Button } from '../../controls/button.tsx';
import { CheckField, FieldRow, SelectField, TextField } from '../../controls/field.tsx';
import { countText, Figure, Length } from '../../controls/figure.tsx';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { wantedOf, type FillPreview, type FillTool, type PlaceName } from './fill-plan.ts';
import type { Filling } from './use-filling.ts';

const PLACES = Object.keys(NAMED_ZONES) as PlaceName[];
const capital = (word: string): string => `${word[0]?.toUpperCase() ?? ''}${word.slice(1)}`;

export function FillCard(props: { readonly revisionId: string; readonly formName: string; readonly filling: Filling }) {
  const { revisionId, formName, filling } = props;
  const { plan, change, tool, onTool, preview, isBusy, trouble, look } = filling;
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [name, setName] = useState(`${formName}, filled`);
  const wanted = wantedOf(revisionId, plan);
  const id = useId();
  const hasName = name.trim() !== '' && name.trim() !== formName;
  const missing =
    plan.blendMm === undefined
      ? 'Give the length over which it follows the rim.'
      : wanted === undefined
        ? 'Choose or paint a place first.'
        : preview === undefined
          ? 'Look at it before it is made.'
          : hasName
            ? undefined
            : 'Give it a name of its own.';
  const make = async (): Promise<void> => {
    if (wanted === undefined) return;
    const started = await studio.ask('fill.make', { ...wanted, name: name.trim() });
    if (started === undefined) return;
    studio.notes.add({ tone: 'good', text: 'The filled form is being made; Jobs shows how far it is and opens it.' });
  };
  const take = (next: FillTool): void => onTool(tool === next ? undefined : next);
  return (
    <TicketCard
      title="What the scan missed"
      kind="A second form, guessed in places; this one stays as it is"
      className="stacked"
      stub={
        <>
          <div className="button-row">
            <Button busy={isBusy} disabled={wanted === undefined} onClick={look}>
              Look at it
            </Button>
            {isBusy ? <Button onClick={filling.stop}>Stop looking</Button> : null}
            {wanted === undefined || filling.isShown ? null : (
              <Button onClick={filling.show}>Show the place on the form</Button>
            )}
            <Button tone="main" disabled={preview === undefined || !hasName} onClick={() => void make()}>
              Make the filled form
            </Button>
          </div>
          {missing === undefined ? null : <p className="soft small">{missing}</p>}
        </>
      }
    >
      <p>
        Hair under a cap, a bun, a crown nobody photographed: choose or paint all of the false surface. It is replaced
        by the likely body, told by the rest of the form and by the wearer’s readings. Everything outside stays exactly.
      </p>
      <fieldset className="fill-places">
        <legend className="field-label">Usual places</legend>
        {PLACES.map((place) => (
          <CheckField
            key={place}
            label={capital(place)}
            checked={plan.regions.includes(place)}
            onChange={(isOn) =>
              change((before) => ({
                ...before,
                regions: isOn ? [...before.regions, place] : before.regions.filter((one) => one !== place),
              }))
            }
          />
        ))}
      </fieldset>
      <div className="button-row">
        <Button aria-pressed={tool === 'paint'} onClick={() => take('paint')}>
          Paint on the form
        </Button>
        <Button
          aria-pressed={tool === 'wipe'}
          disabled={plan.dabs.length === 0 && tool !== 'wipe'}
          onClick={() => take('wipe')}
        >
          Wipe off
        </Button>
        <span className="liner-brush">
          <label className="small" htmlFor={id}>
            Brush
          </label>
          <input
            id={id}
            type="range"
            min={6}
            max={50}
            step={1}
            value={plan.brushMm}
            aria-valuetext={`${plan.brushMm} mm`}
            onChange={(event) => change((before) => ({ ...before, brushMm: Number(event.target.value) }))}
          />
          <span className="small numbers">{lengthText(plan.brushMm, unit, 0)}</span>
        </span>
      </div>
      <CheckField
        label="Paint on both sides alike"
        checked={plan.isMirrored}
        onChange={(isMirrored) => change((before) => ({ ...before, isMirrored }))}
      />
      <FieldRow least="12rem">
        <LiveLengthField
          label="Follows the rim over"
          hint="How far what is seen carries on into the patch."
          unit={unit}
          valueMm={plan.blendMm}
          leastMm={4}
          mostMm={80}
          onRead={(blendMm) => change((before) => (before.blendMm === blendMm ? before : { ...before, blendMm }))}
        />
        <SelectField
          label="The rest guessed from"
          value={plan.survey}
          onChange={(survey) => change((before) => ({ ...before, survey: survey as SurveyChoice }))}
          options={[
            { value: 'either', label: 'Men and women alike' },
            { value: 'men', label: 'Men' },
            { value: 'women', label: 'Women' },
          ]}
        />
      </FieldRow>
      <TextField label="Name of the filled form" value={name} onChange={setName} maxLength={200} />
      {trouble === undefined ? null : <Remark tone="trouble">{trouble}</Remark>}
      {isBusy ? (
        <p role="status" className="soft small">
          Bending a head to what is seen and read…
        </p>
      ) : null}
      {preview === undefined ? null : <Told figures={preview.figures} />}
    </TicketCard>
  );
}

function Told({ figures }: { readonly figures: FillPreview['figures'] }) {
  const { guess, moved, kept, measures, advice } = figures;
  const read = measures.filter(({ measuredMm }) => measuredMm !== null);
  return (
    <>
      <Remark tone="doubt">{advice[0]}</Remark>
      <dl className="figures">
        <Figure
          label="May be off by"
          value={
            <>
              ±<Length mm={guess.usually95Mm} />
            </>
          }
          note={
            <>
              at most places, ±<Length mm={guess.within95Mm} /> at the worst; 95 of 100 people
            </>
          }
        />
        <Figure
          label="Moved at most"
          value={<Length mm={moved.maxMm} />}
          note={
            <>
              <Length mm={moved.outMm} /> outward, <Length mm={moved.inMm} /> inward; {countText(kept.vertices)} points
              outside moved by nothing
            </>
          }
        />
      </dl>
      {read.length === 0 ? null : (
        <table className="checks">
          <caption className="soft small">
            What was read, on the form as it is and as filled. The program finds the ends itself here, so a length can
            differ by some millimetres from one taken at your own landmarks.
          </caption>
          <thead>
            <tr>
              <th scope="col">Length</th>
              <th scope="col">Read</th>
              <th scope="col">As it is</th>
              <th scope="col">Filled</th>
            </tr>
          </thead>
          <tbody>
            {read.map((one) => (
              <tr key={one.name}>
                <th scope="row">
                  {one.name}
                  <span className="soft small">{ROLES[one.role]}</span>
                </th>
                <td>
                  <Length mm={one.measuredMm ?? 0} uMm={one.uMm ?? undefined} />
                </td>
                <td>{one.beforeMm === null ? '–' : <Length mm={one.beforeMm} />}</td>
                <td>
                  <Length mm={one.formMm} />
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {advice.slice(1).map((sentence) => (
        <p key={sentence} className="small">
          {sentence}
        </p>
      ))}
    </>
  );
}

const ROLES: Readonly<Record<FillPreview['figures']['measures'][number]['role'], string>> = {
  given: 'the patch meets it',
  'left out': 'left out',
  outside: 'not in the patch',
  guessed: 'guessed',
  seen: 'seen',
};
