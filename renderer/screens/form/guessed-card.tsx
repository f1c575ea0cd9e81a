/** What nobody read of a wearer without a scan: said plainly, length by length. */
import type { GuessedLength } from '../../../shared-types/step-evidence.ts';
import { Length } from '../../controls/figure.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';

export function GuessedCard({ guessed }: { readonly guessed: readonly GuessedLength[] }) {
  return (
    <TicketCard title="Guessed, not measured" kind="No scan stands behind this form">
      <Remark tone="doubt">
        Between what was read the skin is that of a neutral head. Leave room, or take the readings that are missing.
      </Remark>
      <table className="checks">
        <thead>
          <tr>
            <th scope="col">Length</th>
            <th scope="col">On the form</th>
            <th scope="col">May be off by</th>
          </tr>
        </thead>
        <tbody>
          {guessed.map(({ name, onFormMm, within95Mm, why }) => (
            <tr key={name}>
              <th scope="row">
                {name}
                <span className="soft small">{why}</span>
              </th>
              <td>
                <Length mm={onFormMm} />
              </td>
              <td className="checks-doubt">
                ±<Length mm={within95Mm} digits={0} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="soft small">
        95 of 100 people with these readings lie within that, if they are like those surveyed.
      </p>
    </TicketCard>
  );
}
