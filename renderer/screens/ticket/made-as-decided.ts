/** Whether the form that was made follows from what its ticket says now. */
import type { CallResult } from '../../../shared-types/contract.ts';
import { levelPlaceOf, type TicketDraft } from '../../../shared-types/records/ticket.ts';

type Shown = Pick<CallResult<'ticket.show'>, 'known' | 'revision'>;
type Told = Readonly<Record<string, unknown>>;

/** Each reading a recipe holds: what was read, and how its tape lay. Its points follow from the landmarks. */
function readingsOf(recipe: Told): Told[] {
  return ['spans', 'girths', 'arcs', 'levels'].flatMap((list) =>
    ((recipe[list] ?? []) as Told[]).map(({ name, measured, hold, hairMm, taut, at, aboveMm, most, between }) => {
      return { name, measured, hold, hairMm, taut, at, aboveMm, most, between };
    }),
  );
}

/** The readings that would go into the form now: those that count or check, known and placed. */
function decidedReadings({ known }: Shown, { measures, landmarks }: TicketDraft): Told[] {
  return measures.flatMap((measure) => {
    const { name, kind, role, taut, hairMm = 0 } = measure;
    const measured = known.find((one) => one.name === name && one.kind === kind)?.mm;
    const isPlaced = measure.landmarks.every((landmark) => landmarks[landmark] !== undefined);
    if (role === 'leave' || measured === undefined || !isPlaced) return [];
    return [
      {
        name,
        measured,
        ...(role === 'hold' ? { hold: true } : {}),
        ...(kind === 'girth' && hairMm > 0 ? { hairMm } : {}),
        ...(kind === 'arc' ? { taut: taut !== false } : {}),
        ...levelPlaceOf(measure),
      },
    ];
  });
}

/** As text, keys sorted, since records pass through JSON. */
const sorted = (value: unknown): string =>
  JSON.stringify(value, (_key, inner: unknown) =>
    typeof inner === 'object' && inner !== null && !Array.isArray(inner)
      ? Object.fromEntries(Object.entries(inner).toSorted(([a], [b]) => (a < b ? -1 : 1)))
      : inner,
  );

/** Does the newest making follow from what the ticket says now? */
export function isMadeAsDecided(shown: Shown, draft: TicketDraft): boolean {
  const made = shown.revision?.recipe;
  if (made === undefined) return false;
  const points = Object.fromEntries(Object.entries(draft.landmarks).map(([name, { point }]) => [name, point]));
  const inOrder = (readings: readonly Told[]): string[] => readings.map(sorted).toSorted();
  return (
    sorted([made['trim'], made['landmarks'], made['faces'], made['keep']]) ===
      sorted([draft.trim, points, draft.faces, draft.keep]) &&
    sorted(inOrder(readingsOf(made))) === sorted(inOrder(decidedReadings(shown, draft)))
  );
}
