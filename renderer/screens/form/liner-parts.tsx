/** What was measured on a liner beyond its thickness: its zones, its openings, and the way the body goes in. */
import { figureNumber, figureRows, figureWord } from '../../../shared-types/step-evidence.ts';
import { Length } from '../../controls/figure.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';

type Figures = Readonly<Record<string, unknown>>;

/** `asked`: the parameters it was made with. */
export function LinerParts({ figures, asked }: { readonly figures: Figures; readonly asked: Figures }) {
  return (
    <>
      <Zones zones={figureRows(figures, 'zones')} />
      <Openings figures={figures} />
      <WayIn figures={figures} mostTilt={figureNumber(asked, 'tiltDegrees') ?? 0} />
      <StandsOff rows={figureRows(figures, 'standsOff')} />
    </>
  );
}

const Mm = ({ row, name, digits = 1 }: { readonly row: Figures; readonly name: string; readonly digits?: number }) => {
  const value = figureNumber(row, name);
  return value === undefined ? <>–</> : <Length mm={value} digits={digits} />;
};

const litres = (mm3: number | undefined): string => (mm3 === undefined ? '–' : `${(mm3 / 1e6).toFixed(3)} l`);

function Zones({ zones }: { readonly zones: readonly Figures[] }) {
  if (zones.length === 0) return null;
  return (
    <TicketCard title="Zones" kind="Measured where each counts fully">
      <table className="checks">
        <thead>
          <tr>
            <th scope="col">Zone</th>
            <th scope="col">Room as worn</th>
            <th scope="col">Reached on average</th>
            <th scope="col">Foam to buy</th>
          </tr>
        </thead>
        <tbody>
          {zones.map((zone, number) => {
            const name = figureWord(zone, 'name') ?? String(number + 1);
            return figureNumber(zone, 'samples') === 0 ? (
              <tr key={number}>
                <th scope="row">{name}</th>
                <td>
                  <Mm row={zone} name="thicknessMm" />
                </td>
                <td colSpan={2}>counts fully nowhere</td>
              </tr>
            ) : (
              <tr key={number}>
                <th scope="row">{name}</th>
                <td>
                  <Mm row={zone} name="thicknessMm" />
                </td>
                <td>
                  <Mm row={zone} name="meanMm" digits={2} />
                  <br />
                  <span className="soft small">
                    <Mm row={zone} name="minMm" digits={2} /> to <Mm row={zone} name="maxMm" digits={2} />
                  </span>
                </td>
                <td>
                  {litres(figureNumber(zone, 'boughtVolumeMm3'))}
                  <br />
                  <span className="soft small">over {((figureNumber(zone, 'areaMm2') ?? 0) / 100).toFixed(0)} cm²</span>
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </TicketCard>
  );
}

function Openings({ figures }: { readonly figures: Figures }) {
  const openings = figureRows(figures, 'openings');
  if (openings.length === 0) return null;
  const least = figures['leastOpening'] as { liner: Figures; body: Figures; shortMm: number } | null | undefined;
  return (
    <TicketCard title="Openings" kind="On the liner’s inner side">
      <table className="checks">
        <thead>
          <tr>
            <th scope="col">Opening</th>
            <th scope="col">Round</th>
            <th scope="col">Across</th>
            <th scope="col">Rim</th>
            <th scope="col">Off the line</th>
          </tr>
        </thead>
        <tbody>
          {openings.map((opening, number) => (
            <tr key={number}>
              <th scope="row">{opening['kind'] === 'curve' ? 'drawn line' : 'flat'}</th>
              <td>
                <Mm row={opening} name="rimLengthMm" digits={0} />
              </td>
              <td>
                <Mm row={opening} name="leastWidthMm" digits={0} /> by{' '}
                <Mm row={opening} name="mostWidthMm" digits={0} />
              </td>
              <td>
                <Mm row={opening} name="rimMm" />
              </td>
              <td>
                <Mm row={opening} name="offLineMm" digits={2} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {openings.some((one) => figureNumber(one, 'offLineMm') !== undefined) ? (
        <p className="soft small">
          “Off the line” is how far a drawn opening’s rim strays at most from where the line, ruled outward, meets the
          liner.
        </p>
      ) : null}
      {least === undefined || least === null ? null : (
        <p className="small">
          Least opening <Mm row={least.liner} name="sideMm" digits={0} /> by{' '}
          <Mm row={least.liner} name="frontMm" digits={0} />, side to side and front to back; the body above it is{' '}
          <Mm row={least.body} name="sideMm" digits={0} /> by <Mm row={least.body} name="frontMm" digits={0} /> at its
          largest
          {least.shortMm > 0 ? (
            <>
              , <Length mm={least.shortMm} digits={1} /> more
            </>
          ) : null}
          .
        </p>
      )}
      {least === undefined || least === null || least.shortMm <= 0 || wayIn(figures) !== undefined ? null : (
        <Remark tone="doubt">
          As it is, it passes only if the foam and the body give way by that much. Make it again with a way chosen under
          “Putting it on”: then it is told what a higher opening, two halves or a flare would do.
        </Remark>
      )}
    </TicketCard>
  );
}

interface Ways {
  readonly widen: { readonly raiseMm: number; readonly leftShare: number };
  readonly split: { readonly normal: readonly number[]; readonly deepestMm: number; readonly passes: boolean };
  readonly flare: { readonly upToMm: number; readonly byMm: number };
}

/** What was found of the way in, if one was looked at. */
const wayIn = (figures: Figures): Figures | undefined =>
  (figures['donning'] as Figures | null | undefined) ?? undefined;

function WayIn({ figures, mostTilt }: { readonly figures: Figures; readonly mostTilt: number }) {
  const donning = wayIn(figures);
  if (donning === undefined) return null;
  const tilted = donning['tilted'] as Figures | null | undefined;
  const ways = figures['waysIn'] as Ways | null | undefined;
  return (
    <TicketCard title="Putting it on" kind="Straight along the way chosen" className="stacked">
      {donning['passes'] === true ? (
        <Remark tone="good">
          It goes on: the foam gives way by <Mm row={donning} name="deepestMm" /> at most.
        </Remark>
      ) : (
        <Remark tone="doubt">
          It does not go on: the foam would have to give <Mm row={donning} name="deepestMm" />, and{' '}
          <Mm row={donning} name="giveMm" /> were allowed.
        </Remark>
      )}
      {mostTilt > 0 && tilted === null && donning['passes'] !== true ? (
        <p>Tipping it by up to {mostTilt}° on its way asks for no less.</p>
      ) : null}
      {tilted === undefined || tilted === null ? null : (
        <Remark tone={tilted['passes'] === true ? 'good' : 'plain'}>
          Tipped by {Math.abs(figureNumber(tilted, 'degrees') ?? 0)}° while it comes, and righted about its rim, it has
          to give <Mm row={tilted} name="deepestMm" />.
        </Remark>
      )}
      {ways === undefined || ways === null || donning['passes'] === true ? null : (
        <>
          <p>What it would take:</p>
          <ul>
            <li>
              Open it <Length mm={ways.widen.raiseMm} digits={0} /> higher; then nothing holds back, and{' '}
              {(100 * ways.widen.leftShare).toFixed(0)} % of it is left.
            </li>
            <li>
              Split it{' '}
              {Math.abs(ways.split.normal[1]) > Math.SQRT1_2 ? 'into a left and a right half' : 'front from back'}: each
              half then has to give <Length mm={ways.split.deepestMm} digits={1} /> at most
              {ways.split.passes ? '.' : ', still too much.'}
            </li>
            <li>
              Let it out by up to <Length mm={ways.flare.byMm} digits={1} />, from the opening to{' '}
              <Length mm={ways.flare.upToMm} digits={0} /> over it: make it again with the undercuts taken out.
            </li>
          </ul>
        </>
      )}
    </TicketCard>
  );
}

function StandsOff({ rows }: { readonly rows: readonly Figures[] }) {
  if (rows.length === 0) return null;
  return (
    <TicketCard title="Where it stands off" kind="Farther from the body than its foam: it holds nothing there">
      <ul className="plain-list">
        {rows.map((row, number) => {
          const area = figureNumber(row, 'areaMm2') ?? 0;
          return (
            <li key={number}>
              For {figureWord(row, 'keepOut') ?? 'the way in'}:{' '}
              {area === 0 ? (
                'nothing changes: it lies within the foam or the body, or where the liner is open'
              ) : (
                <>
                  <Mm row={row} name="addedMaxMm" /> at most, <Mm row={row} name="addedMeanMm" /> on average, over{' '}
                  <span className="numbers">{(area / 100).toFixed(0)} cm²</span>
                </>
              )}
            </li>
          );
        })}
      </ul>
    </TicketCard>
  );
}
