import { memo } from 'react';
import type { WearerCard } from '../../../shared-types/contract.ts';
import { measureKind } from '../../../shared-types/measures/index.ts';
import { lengthText, type LengthUnit } from '../../controls/parse-length.ts';
import { some } from '../../controls/figure.tsx';
import { Stand } from '../../controls/stand.tsx';
import { sinceText } from '../../state/since.ts';

const MOST_SIZES = 3;

export const WearerStand = memo(function WearerStand({
  wearer,
  unit,
}: {
  readonly wearer: WearerCard;
  readonly unit: LengthUnit;
}) {
  // They come in the order that tells wearers apart.
  const sizes = wearer.sizes.slice(0, MOST_SIZES);
  const doubts = wearer.sizes.filter((size) => size.doubt !== undefined).length;
  return (
    <Stand name={wearer.name} href={`#/wearer/${wearer.id}`} revisionId={wearer.revisionId}>
      {sizes.length === 0 ? (
        <p className="soft small">Not measured yet</p>
      ) : (
        <dl className="stand-sizes">
          {sizes.map((size) => (
            <div key={size.name}>
              <dt>{shortName(size.name)}</dt>
              <dd className="numbers">{lengthText(size.mm, unit, measureKind(size.name)?.kind === 'girth' ? 0 : 1)}</dd>
            </div>
          ))}
        </dl>
      )}
      {doubts > 0 ? <p className="small stand-doubt">{some(doubts, 'length')} to look at again</p> : null}
      <p className="soft small stand-foot">
        {wearer.forms > 0
          ? some(wearer.forms, 'form')
          : wearer.scans > 0
            ? `${some(wearer.scans, 'scan')}, no form`
            : 'No scan'}
        {' · '}
        {sinceText(wearer.lastSeen)}
      </p>
    </Stand>
  );
});

/** On a tag there is room for a word. */
const SHORT: Readonly<Record<string, string>> = { 'head circumference': 'Round', 'biacromial breadth': 'Shoulders' };
const shortName = (name: string): string =>
  SHORT[name] ?? name.replace(/^head | circumference/g, '').replace(/^./, (first) => first.toUpperCase());
