/** A part tried on a form: where it lies, what room it leaves, what it lets the wearer see, how it comes off. */
import { useState } from 'react';
import type { CallInput, CallResult } from '../../../shared-types/contract.ts';
import { Button } from '../../controls/button.tsx';
import { frameOf } from '../../controls/heights.ts';
import { TicketCard } from '../../controls/paper.tsx';
import { AskedView } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import { MakingsCard } from '../making/makings-card.tsx';
import { EaseCard } from './ease-card.tsx';
import { PatchPart, useBrushWidth, type Painting } from './patch-part.tsx';
import { PlaceCard } from './place-card.tsx';
import { SightCard } from './sight-card.tsx';
import { ThingCard } from './thing-card.tsx';
import { TriedView } from './tried-view.tsx';
import { useDraft } from './use-draft.ts';
import { WayCard } from './way-card.tsx';
import '../form/form.css';
import './fitting.css';

type Shown = CallResult<'fitting.show'>;

export function FittingScreen({ id }: { readonly id: string }) {
  const asked = useAsked('fitting.show', { id });
  return (
    <AskedView asked={asked} loading="Fetching the fitting">
      {(shown) => <FittingDesk shown={shown} />}
    </AskedView>
  );
}

type Wanted = Omit<CallInput<'fitting.try'>, 'id'>;

function FittingDesk({ shown }: { readonly shown: Shown }) {
  const { fitting, tried, revisionId, wearerName, formName, partName = 'the part' } = shown;
  const isHead = frameOf(shown.region) === 'head';
  const { draft, edit, kept } = useDraft(shown);
  const studio = useStudio();
  const [isBusy, setBusy] = useState(false);
  const [painting, setPainting] = useState<Painting>();
  const [brushMm, setBrushMm] = useBrushWidth(draft.patch);
  useTitle(fitting.name);
  const attempt = async (wanted: Wanted): Promise<void> => {
    setBusy(true);
    await kept();
    const started = await studio.ask('fitting.try', { id: fitting.id, ...wanted });
    setBusy(false);
    if (started !== undefined) {
      studio.notes.add({ tone: 'plain', text: 'It is being tried on; Jobs shows how far it is.' });
    }
  };
  return (
    <div className="form-desk">
      <div className="form-view">
        {revisionId === undefined ? null : (
          <TriedView
            fitting={fitting}
            draft={draft}
            revisionId={revisionId}
            tried={tried}
            {...{ painting, brushMm }}
            onPatch={(points) =>
              void edit('paint the patch that counts', {
                patch: points.length === 0 ? undefined : { points, radiusMm: brushMm },
              })
            }
            onPlace={(placement) => void edit('move the part', { placement: [...placement] })}
          />
        )}
      </div>
      <div className="form-papers">
        <TicketCard
          level={1}
          className="stacked"
          title={fitting.name}
          kind={
            <>
              <a href={`#/part/${fitting.partId ?? ''}`}>{partName}</a> on{' '}
              <a href={revisionId === undefined ? `#/wearer/${shown.wearerId}` : `#/form/${revisionId}`}>{formName}</a>{' '}
              of <a href={`#/wearer/${shown.wearerId}`}>{wearerName}</a>
            </>
          }
          stub={
            <div className="button-row">
              <Button tone="main" busy={isBusy} onClick={() => void attempt({ solve: 'place' })}>
                Find where it sits best
              </Button>
              <Button busy={isBusy} onClick={() => void attempt({})}>
                Try it as it lies
              </Button>
              <Button tone="quiet" busy={isBusy} onClick={() => void attempt({ solve: 'scale' })}>
                Which size does it need?
              </Button>
            </div>
          }
        >
          <EaseCard draft={draft} tried={tried} />
        </TicketCard>
        <PlaceCard draft={draft} onEdit={edit} isHead={isHead}>
          <PatchPart
            {...{ patch: draft.patch, painting, brushMm }}
            onPainting={setPainting}
            onBrush={(mm) => {
              setBrushMm(mm);
              if (draft.patch !== undefined) {
                void edit('change the brush', { patch: { ...draft.patch, radiusMm: mm } });
              }
            }}
            onDrop={() => {
              setPainting(undefined);
              void edit('count all of the part', { patch: undefined });
            }}
          />
        </PlaceCard>
        <WayCard tried={tried} busy={isBusy} onTry={() => void attempt({ donning: true })} />
        {isHead ? (
          <>
            <SightCard tried={tried} busy={isBusy} onTry={() => void attempt({ sight: true })} />
            <ThingCard tried={tried} busy={isBusy} onTry={(thing) => void attempt({ sight: true, thing })} />
          </>
        ) : null}
        {revisionId === undefined || fitting.partId === undefined ? null : (
          <MakingsCard
            source={{ fittingId: fitting.id, partId: fitting.partId, formRevisionId: revisionId }}
            kinds={['pads', 'pieces', 'gauge']}
            subject={wearerName}
            {...(tried === undefined ? {} : { placement: tried.placement })}
          />
        )}
      </div>
    </div>
  );
}
