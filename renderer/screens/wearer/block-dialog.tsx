/** A form for a wearer without a scan: what their sheet says, what would be guessed, and what to measure next. */
import { useState } from 'react';
import type { Foreseen } from '../../../shared-types/calls/blocks.ts';
import type { SurveyChoice } from '../../../shared-types/survey.ts';
import { Dialog } from '../../controls/dialog.tsx';
import { SelectField, TextField } from '../../controls/field.tsx';
import { Figure, Length } from '../../controls/figure.tsx';
import { Remark, Stamp } from '../../controls/paper.tsx';
import { AskedView } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Wearing } from './wearing.ts';
import './block-dialog.css';

const SURVEYS: readonly { readonly value: SurveyChoice; readonly label: string }[] = [
  { value: 'either', label: 'Men and women alike' },
  { value: 'men', label: 'Men' },
  { value: 'women', label: 'Women' },
];

export function BlockDialog({ wearing, onClose }: { readonly wearing: Wearing; readonly onClose: () => void }) {
  const studio = useStudio();
  const { id, name: wearerName } = wearing.wearer;
  const [name, setName] = useState(`${wearerName}, head by measures`);
  const [survey, setSurvey] = useState<SurveyChoice>('either');
  const asked = useAsked('block.foresee', { wearerId: id, survey });
  const isAnyGiven = asked.state === 'value' && asked.value.measures.some(({ role }) => role === 'given');
  const make = async (): Promise<void> => {
    const started = await studio.ask('block.make', { wearerId: id, name: name.trim(), survey });
    if (started === undefined) return;
    studio.notes.add({ tone: 'good', text: 'The form is being made; it opens from the work at the top.' });
    onClose();
  };
  return (
    <Dialog
      title="A form without a scan"
      onClose={onClose}
      action={{ label: 'Make the form', run: make, isReady: isAnyGiven && name.trim() !== '' }}
    >
      <p>
        A neutral head is bent until it has every length on the sheet. What was not read is guessed from a survey, and
        stays marked as guessed.
      </p>
      <TextField label="Name of the form" value={name} onChange={setName} maxLength={200} />
      <SelectField
        label="Guess what was not read from"
        value={survey}
        onChange={(value) => setSurvey(value as SurveyChoice)}
        options={SURVEYS}
      />
      <AskedView asked={asked} loading="Reading the sheet">
        {(foreseen) => <Foreseeing foreseen={foreseen} />}
      </AskedView>
    </Dialog>
  );
}

function Foreseeing({ foreseen }: { readonly foreseen: Foreseen }) {
  const { measures, skinSpreadMm, next, outliers, orElse, notUsed, source } = foreseen;
  const read = measures.filter(({ role }) => role !== 'guessed');
  const guessed = measures.filter(({ role }) => role === 'guessed');
  return (
    <>
      {read.length === 0 ? (
        <Remark tone="doubt">
          Nothing of the head has been read yet. Write down at least one length on the sheet.
        </Remark>
      ) : null}
      {outliers.length === 0 ? null : (
        <Remark tone="doubt">
          {`Take again: ${outliers.join(', ')}. It does not belong with the rest, and the form would be made without.`}
          {orElse.length === 0 ? '' : ` It could be ${orElse.join(' or ')} instead.`}
        </Remark>
      )}
      <dl className="figures">
        <Figure
          label="The skin may be off by"
          value={<Length mm={skinSpreadMm.now} />}
          note={
            <>
              one standard deviation; <Length mm={skinSpreadMm.unread} /> with nothing read
            </>
          }
        />
        {next.length === 0 ? null : (
          <Figure
            label="Best to measure next"
            value={next[0].name}
            note={
              <>
                then off by <Length mm={skinSpreadMm.now - next[0].gainMm} />
              </>
            }
          />
        )}
      </dl>
      {read.length === 0 ? null : <Lengths caption="Read, and met by the form" measures={read} />}
      <Lengths caption="Guessed: 95 of 100 people like this lie within" measures={guessed} />
      <p className="soft small">
        {notUsed.length === 0 ? '' : `Not of the head, so not used: ${notUsed.join(', ')}. `}
        {`Guessed from the ${source}.`}
      </p>
    </>
  );
}

function Lengths({ caption, measures }: { readonly caption: string; readonly measures: Foreseen['measures'] }) {
  return (
    <table className="foreseen">
      <caption>{caption}</caption>
      <tbody>
        {measures.map(({ name, role, measuredMm, uMm, expectedMm, within95Mm, why }) => (
          <tr key={name}>
            <th scope="row" title={why}>
              {name}
              {role === 'left out' ? <Stamp tone="trouble">left out</Stamp> : null}
            </th>
            <td>
              {role === 'guessed' || measuredMm === null ? (
                <Length mm={expectedMm} uMm={within95Mm} digits={0} />
              ) : (
                <Length mm={measuredMm} uMm={uMm ?? undefined} />
              )}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
