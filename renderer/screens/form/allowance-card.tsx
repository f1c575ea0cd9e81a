/** Room for hair, a wig or clothing, and give for soft tissue: a second surface over the form, which stays. */
import { useState } from 'react';
import type { CallInput, CallResult } from '../../../shared-types/contract.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/zone-place.ts';
import { saveBytes } from '../../client/download.ts';
import { Button } from '../../controls/button.tsx';
import { FieldRow, SelectField } from '../../controls/field.tsx';
import { bytesText, Length } from '../../controls/figure.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';

type ZoneName = (typeof ZONE_NAMES)[number];
type Allowed = CallResult<'form.allow'>;
type Format = CallInput<'form.allow'>['format'];

const BLEND_MM = 25;

const capital = (word: string): string => `${word[0]?.toUpperCase() ?? ''}${word.slice(1)}`;

export function AllowanceCard({ revisionId }: { readonly revisionId: string }) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [grow, setGrow] = useState<Partial<Record<ZoneName, number>>>({});
  const [blendMm, setBlend] = useState<number | undefined>(BLEND_MM);
  const [format, setFormat] = useState<Format>('3mf');
  const [allowed, setAllowed] = useState<Allowed>();
  const [isBusy, setBusy] = useState(false);
  const wanted = ZONE_NAMES.flatMap((region) => {
    const growMm = grow[region] ?? 0;
    return growMm === 0 || blendMm === undefined ? [] : [{ region, growMm, blendMm }];
  });
  const save = async (): Promise<void> => {
    if (isBusy || wanted.length === 0) return;
    setBusy(true);
    const got = await studio.ask('form.allow', { revisionId, zones: { zones: wanted }, format });
    setBusy(false);
    if (got === undefined) return;
    setAllowed(got);
    saveBytes(got.fileName, got.bytes, 'application/octet-stream');
    studio.notes.add({ tone: 'good', text: `${got.fileName} goes out, ${bytesText(got.bytes.length)}.` });
  };
  return (
    <TicketCard
      title="Hair and soft tissue"
      className="stacked"
      kind="A second surface; the form stays as it is"
      stub={
        <>
          <div className="export-choice">
            <SelectField
              label="File format of the grown form"
              isLabelHidden
              value={format}
              onChange={setFormat}
              options={[
                { value: '3mf', label: '3MF, with its unit' },
                { value: 'stl', label: 'STL, in mm' },
                { value: 'obj', label: 'OBJ, in mm' },
                { value: 'ply', label: 'PLY, in mm' },
                { value: 'glb', label: 'GLB, in metres' },
              ]}
            />
            <Button busy={isBusy} disabled={wanted.length === 0} onClick={() => void save()}>
              Save the grown form
            </Button>
          </div>
          {wanted.length > 0 ? null : (
            <p className="soft small">
              {blendMm === undefined ? 'Give the width it blends over.' : 'Give a place a length other than 0.'}
            </p>
          )}
        </>
      }
    >
      <p>
        How far hair under a cap, a wig or a collar stands off the skin, place by place; below 0 where soft tissue gives
        way, as cheeks do. Nobody can read that off a scan: feel or measure it.
      </p>
      <FieldRow>
        {ZONE_NAMES.map((region) => (
          <LengthField
            key={region}
            label={capital(region)}
            unit={unit}
            valueMm={0}
            leastMm={-20}
            mostMm={60}
            onRead={(mm) => setGrow((before) => ({ ...before, [region]: mm ?? 0 }))}
          />
        ))}
        <LengthField
          label="Blends over"
          hint="How wide each place passes into the next."
          unit={unit}
          valueMm={BLEND_MM}
          leastMm={2}
          mostMm={200}
          onRead={setBlend}
        />
      </FieldRow>
      {allowed === undefined ? null : <Reached allowed={allowed} />}
    </TicketCard>
  );
}

function Reached({ allowed }: { readonly allowed: Allowed }) {
  const litres = (mm3: number): string => `${(mm3 / 1e6).toFixed(2)} l`;
  return (
    <>
      <table className="checks">
        <caption className="soft small">
          What was saved last, each place against the true form; {litres(allowed.volumeMm3)} instead of{' '}
          {litres(allowed.formVolumeMm3)}.
        </caption>
        <thead>
          <tr>
            <th scope="col">Place</th>
            <th scope="col">Asked for</th>
            <th scope="col">Least</th>
            <th scope="col">Most</th>
          </tr>
        </thead>
        <tbody>
          {allowed.zones.map(({ name, growMm, samples, minMm, maxMm }) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td>
                <Length mm={growMm} />
              </td>
              <td>{samples === 0 ? '–' : <Length mm={minMm} />}</td>
              <td>{samples === 0 ? '–' : <Length mm={maxMm} />}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {allowed.warnings.map(({ sentence }) => (
        <Remark key={sentence} tone="doubt">
          {sentence}
        </Remark>
      ))}
    </>
  );
}
