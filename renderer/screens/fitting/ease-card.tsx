/** What room the part leaves, in plain words. */
import type { FittingDraft, Tried } from '../../../shared-types/calls/fittings.ts';
import { countText, dayText, Figure, Length } from '../../controls/figure.tsx';
import { Remark } from '../../controls/paper.tsx';

/** Room that pressed foam and ease need together. */
export const neededMm = ({ foamMm, compression, leastMm }: FittingDraft): number =>
  foamMm * (1 - compression) + leastMm;

/** Does the part lie elsewhere by now than where it was tried? */
const isMoved = ({ placement }: FittingDraft, tried: Tried): boolean =>
  placement !== undefined && placement.some((entry, k) => Math.abs(entry - (tried.placement[k] ?? 0)) > SAME_PLACE);

/** Of a matrix's entries: far below what a hand moves, far above rounding. */
const SAME_PLACE = 1e-6;

/** A change of size that would be shown as 100.0 % is none. */
const SAME_SIZE = 0.0005;

/** A solver stops this near to the room asked for, mm; shown to a tenth. */
const SAME_ROOM_MM = 0.02;

/** Less would be shown as 0.00 mm. */
const LEAST_GAIN_MM = 0.005;

export function EaseCard({ draft, tried }: { readonly draft: FittingDraft; readonly tried: Tried | undefined }) {
  const fit = tried?.fit;
  if (tried === undefined || fit === undefined) {
    return <p className="soft">Not tried on yet. Place it roughly below, or let it find where it sits best.</p>;
  }
  const needed = neededMm(draft);
  const isRoomy = fit.leastEaseMm >= needed - SAME_ROOM_MM;
  const isScaled = Math.abs(fit.scale - 1) >= SAME_SIZE;
  const size = `${(100 * fit.scale).toFixed(1)} %`;
  return (
    <>
      {tried.outdated ? (
        <Remark tone="doubt">The form or the part has changed since {dayText(tried.on)}: try it on again.</Remark>
      ) : isMoved(draft, tried) ? (
        <Remark tone="doubt">The part has been moved since it was tried: the figures tell of where it lay.</Remark>
      ) : null}
      {fit.trueSize.how === 'placement' && Math.abs(fit.trueSize.mmPerUnit - 1) >= SAME_SIZE ? (
        <Remark tone="doubt">
          Its place makes the part {(100 * fit.trueSize.mmPerUnit).toFixed(1)} % of its own size, and so it was tried
          on; take that step back, or place it anew.
        </Remark>
      ) : null}
      {isScaled ? (
        <Remark tone="plain">
          The figures are those of the part at {size} of its size; the view shows it as large as it is.
        </Remark>
      ) : null}
      {isRoomy ? (
        <Remark tone="good">It goes on{isScaled ? ` at ${size} of its size` : ''}, with the padding wanted.</Remark>
      ) : fit.leastEaseMm > 0 ? (
        <Remark tone="doubt">It goes over the body, but not with the padding wanted everywhere.</Remark>
      ) : (
        <Remark tone="trouble">It presses into the body.</Remark>
      )}
      <dl className="figures">
        <Figure
          label="Least room"
          value={<Length mm={fit.leastEaseMm} />}
          note={
            <>
              at the {fit.region}; <Length mm={needed} /> are wanted
            </>
          }
          tone={isRoomy ? 'good' : 'doubt'}
        />
        <Figure
          label="On average"
          value={<Length mm={fit.meanEaseMm} />}
          note={`${countText(fit.samples)} places measured`}
        />
        {isScaled ? (
          <Figure
            label={fit.scale < 1 ? 'Could be as small as' : 'Would have to grow to'}
            value={size}
            note="of what it is now"
          />
        ) : null}
        {fit.solved === null || (fit.solved.holds.length === 0 && fit.solved.heldByLimit.length === 0) ? null : (
          <Figure
            label="Held there by"
            value={
              fit.solved.holds
                .map(({ region }) => region)
                .filter((one, i, all) => all.indexOf(one) === i)
                .join(', ') || 'the limits'
            }
            note={
              fit.solved.heldByLimit.length > 0
                ? `${fit.solved.holds.length > 0 ? 'and by the limits: ' : ''}${fit.solved.heldByLimit.join(', ')}`
                : fit.solved.couldGainMm < LEAST_GAIN_MM
                  ? 'no small move wins any more'
                  : `no small move wins more than ${fit.solved.couldGainMm.toFixed(2)} mm`
            }
          />
        )}
      </dl>
      {fit.pinches.length === 0 ? null : (
        <ul className="plain-list line-list">
          {fit.pinches.map((pinch) => (
            <li key={pinch.sentence}>{pinch.sentence}</li>
          ))}
        </ul>
      )}
      <table className="making-table">
        <thead>
          <tr>
            <th scope="col">Region</th>
            <th scope="col">Least</th>
            <th scope="col">Average</th>
          </tr>
        </thead>
        <tbody>
          {fit.regions.map((region) => (
            <tr key={region.region}>
              <th scope="row">{region.region}</th>
              <td>
                <Length mm={region.leastMm} />
              </td>
              <td>
                <Length mm={region.meanMm} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
