import { REGIONS, type BodyRegion, type LandmarkKind } from '../../../shared-types/measures/index.ts';
import { landmarkPicture } from '../../../shared-types/measures/pictures.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { CallResult } from '../../../shared-types/contract.ts';
import { ticketMeasures, type TicketDraft } from '../../../shared-types/records/ticket.ts';
import { BodyPicture } from '../../controls/body-picture.tsx';
import { Button } from '../../controls/button.tsx';
import { Remark, Stamp } from '../../controls/paper.tsx';
import type { Scanned } from '../../controls/scanned.ts';
import { ScannedField } from '../../controls/scanned-field.tsx';
import { isByDefinition, type Stood } from './steps.ts';
import type { Edit } from './use-ticket.ts';

export type Proposal = CallResult<'ticket.propose'>['landmarks'][number];

export interface StandStepProps {
  readonly draft: TicketDraft;
  /** Names of the measures that have a reading on the wearer's sheet. */
  readonly taken: ReadonlySet<string>;
  readonly edit: Edit;
  readonly stood: Stood | undefined;
  readonly proposals: readonly Proposal[];
  /** The landmark that the next click in the picture places. */
  readonly picking: string | undefined;
  readonly onPicking: (name: string | undefined) => void;
  /** Places suggested for landmarks not placed yet, in the scene. */
  readonly offers: ReadonlyMap<string, Vec3>;
  readonly onPlace: (name: string, point: Vec3) => void;
}

/** Which measures a landmark serves, so that one knows what placing it is good for. */
function servesText(region: BodyRegion, name: string): string {
  const measures = region.measures.filter(({ landmarks }) => landmarks.includes(name)).map((one) => one.name);
  const frame = region.frame.includes(name) ? ['the upright stand'] : [];
  return [...frame, ...measures].join(', ');
}

export interface WantedLandmarks {
  /** What sets the body upright. */
  readonly frame: readonly LandmarkKind[];
  /** What finds the measures that have a reading (all of them, while none has one); and what is placed already. */
  readonly measured: readonly LandmarkKind[];
  /** What only serves measures not taken yet. */
  readonly later: readonly LandmarkKind[];
}

/** A region's landmarks in the order one places them. `taken` holds the names of measures with a reading. */
export function wantedLandmarks(draft: TicketDraft, taken: ReadonlySet<string>): WantedLandmarks {
  const region = REGIONS[draft.region ?? 'head'];
  const withReading = draft.measures.filter(({ name }) => taken.has(name));
  const needed = new Set((withReading.length > 0 ? withReading : draft.measures).flatMap(({ landmarks }) => landmarks));
  const frame = region.landmarks.filter(({ name }) => region.frame.includes(name));
  const others = region.landmarks.filter(
    ({ name }) =>
      !region.frame.includes(name) && (servesText(region, name) !== '' || draft.landmarks[name] !== undefined),
  );
  const isNow = ({ name }: LandmarkKind): boolean => needed.has(name) || draft.landmarks[name] !== undefined;
  return { frame, measured: others.filter(isNow), later: others.filter((one) => !isNow(one)) };
}

/** How it stands, by the method that stood it up. */
const STANDS: Readonly<Partial<Record<Stood['method'], string>>> = {
  frankfurt: 'It stands with the Frankfurt plane level: origin midway between the tragions, facing forward.',
  limb: 'It stands by its joints: upright toward the trunk, origin in the middle of the lower joint.',
  torso: 'It stands by breastbone and spine: origin at the foot of the neck, facing forward.',
  landmarks:
    'It stands by the landmarks of a middling head, about level; both tragions and an orbitale would settle it.',
};

const NUMBER_WORDS: Readonly<Record<number, string>> = { 3: 'Three', 4: 'Four', 5: 'Five' };

/** Landmarks of the region before stay: none is lost by a slip of the choice. */
function scannedAs(draft: TicketDraft, { region, side }: Scanned): TicketDraft {
  const { side: _side, region: _region, ...rest } = draft;
  const chosen = { ...(region === 'head' ? {} : { region }), ...(side === undefined ? {} : { side }) };
  return { ...rest, ...chosen, measures: ticketMeasures(region, side) };
}

export function StandStep(props: StandStepProps) {
  const { draft, taken, edit, stood, proposals, picking, onPicking, offers, onPlace } = props;
  const region = REGIONS[draft.region ?? 'head'];
  const { frame, measured, later } = wantedLandmarks(draft, taken);
  const open = proposals.filter(
    ({ name }) =>
      draft.landmarks[name] === undefined && [...frame, ...measured, ...later].some((kind) => kind.name === name),
  );
  const picked = region.landmarks.find(({ name }) => name === picking);
  const picture = picked === undefined ? undefined : landmarkPicture(picked.name);
  return (
    <>
      <ScannedField
        value={{ region: region.name, side: draft.side }}
        onChange={(scanned) => edit('say what the scan is of', (before) => scannedAs(before, scanned))}
      />
      <p className="step-words">
        {NUMBER_WORDS[frame.length]} landmarks set it upright; the others find your measurements on it. Choose one, then
        click its place in the picture: a magnifier follows, and with Alt held the click settles on the highest point
        nearby. Left and right are the wearer&rsquo;s own.
      </p>
      {open.length === 0 ? null : (
        <Remark tone="plain">
          {region.name === 'head'
            ? `${open.length} landmarks were found by the program (drawn as rings). Look at each before you trust it.`
            : `${open.length} first places are suggested (drawn as rings), within a few centimetres: set each right.`}{' '}
          <Button
            tone="main"
            onClick={() =>
              edit('take the landmarks found', (before) => ({
                ...before,
                landmarks: {
                  ...Object.fromEntries(open.map(({ name, point }) => [name, { point, origin: 'guess' as const }])),
                  ...before.landmarks,
                },
              }))
            }
          >
            Take all {open.length}
          </Button>
        </Remark>
      )}
      {picked === undefined ? null : (
        <div className="landmark-help" aria-live="polite">
          {picture === undefined ? null : <BodyPicture picture={picture} />}
          <div>
            <h2>{picked.title}</h2>
            <p>{picked.where}</p>
            <p className="small soft">For: {servesText(region, picked.name)}.</p>
          </div>
        </div>
      )}
      <h2 className="step-subhead">To stand upright</h2>
      <LandmarkList kinds={frame} {...{ draft, edit, picking, onPicking, offers, onPlace }} />
      <h2 className="step-subhead">To find the measurements</h2>
      <LandmarkList kinds={measured} {...{ draft, edit, picking, onPicking, offers, onPlace }} />
      {later.length === 0 ? null : (
        <details className="landmarks-later">
          <summary>{later.length} more, for measures not taken yet</summary>
          <LandmarkList kinds={later} {...{ draft, edit, picking, onPicking, offers, onPlace }} />
        </details>
      )}
      {stood === undefined ? null : (
        <Remark tone={isByDefinition(stood) ? 'good' : 'plain'}>
          {STANDS[stood.method] ??
            `It stands by a guess (confidence ${(100 * stood.confidence).toFixed(0)} %). Turn it round and look.`}
        </Remark>
      )}
      {stood?.warnings.map(({ sentence }) => (
        <Remark key={sentence} tone="doubt">
          {sentence}
        </Remark>
      ))}
    </>
  );
}

function LandmarkList(props: {
  readonly kinds: readonly LandmarkKind[];
  readonly draft: TicketDraft;
  readonly edit: Edit;
  readonly picking: string | undefined;
  readonly onPicking: (name: string | undefined) => void;
  readonly offers: ReadonlyMap<string, Vec3>;
  readonly onPlace: (name: string, point: Vec3) => void;
}) {
  const { kinds, draft, edit, picking, onPicking, offers, onPlace } = props;
  return (
    <ul className="landmark-list">
      {kinds.map(({ name, title }) => {
        const placed = draft.landmarks[name];
        const offer = offers.get(name);
        return (
          <li key={name}>
            <Button
              tone="quiet"
              className="landmark-name"
              aria-pressed={picking === name}
              onClick={() => onPicking(picking === name ? undefined : name)}
            >
              {title}
            </Button>
            {placed === undefined ? (
              <>
                <Stamp tone="plain">{picking === name ? 'click its place' : 'not placed'}</Stamp>
                {offer === undefined ? null : (
                  <Button
                    tone="quiet"
                    aria-label={`Put ${title} where it is suggested`}
                    onClick={() => onPlace(name, offer)}
                  >
                    as suggested
                  </Button>
                )}
              </>
            ) : (
              <>
                <Stamp tone={placed.origin === 'guess' ? 'doubt' : 'good'}>
                  {placed.origin === 'guess'
                    ? 'found, look at it'
                    : placed.origin === 'carried'
                      ? 'carried over'
                      : 'placed'}
                </Stamp>
                {placed.origin === 'guess' ? (
                  <Button
                    tone="quiet"
                    aria-label={`Confirm ${title}`}
                    onClick={() =>
                      edit('confirm a landmark', (before) => ({
                        ...before,
                        landmarks: { ...before.landmarks, [name]: { ...placed, origin: 'hand' } },
                      }))
                    }
                  >
                    confirm
                  </Button>
                ) : null}
                <Button
                  tone="quiet"
                  aria-label={`Take ${title} off`}
                  onClick={() =>
                    edit('take a landmark off', (before) => ({
                      ...before,
                      landmarks: Object.fromEntries(Object.entries(before.landmarks).filter(([key]) => key !== name)),
                    }))
                  }
                >
                  off
                </Button>
              </>
            )}
          </li>
        );
      })}
    </ul>
  );
}
