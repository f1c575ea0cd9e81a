import { lazy, Suspense, useEffect, useRef } from 'react';
import { FaultCard, Loading } from '../controls/states.tsx';
import { NoteRegion } from '../controls/note-region.tsx';
import { ShelfScreen } from '../screens/shelf/shelf-screen.tsx';
import { hashOf, type Place } from '../state/routes.ts';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { useAsked } from '../state/use-asked.ts';
import { ErrorBoundary } from './error-boundary.tsx';
import { IncomingDialog } from './incoming-dialog.tsx';
import { LockedScreen } from './locked-screen.tsx';
import { ScanDrop } from './scan-drop.tsx';
import { TopStrip } from './top-strip.tsx';
import { useHistoryKeys } from './use-history-keys.ts';
import { useKeptFocus } from './use-kept-focus.ts';
import './app.css';

// The shelf comes at once; what the others bring (the view above all) is fetched when they are opened.
const WearerScreen = lazy(async () => ({
  default: (await import('../screens/wearer/wearer-screen.tsx')).WearerScreen,
}));
const TicketScreen = lazy(async () => ({
  default: (await import('../screens/ticket/ticket-screen.tsx')).TicketScreen,
}));
const FormScreen = lazy(async () => ({ default: (await import('../screens/form/form-screen.tsx')).FormScreen }));
const LinerScreen = lazy(async () => ({ default: (await import('../screens/form/liner-screen.tsx')).LinerScreen }));
const MakingScreen = lazy(async () => ({
  default: (await import('../screens/making/making-screen.tsx')).MakingScreen,
}));
const PartScreen = lazy(async () => ({ default: (await import('../screens/fitting/part-screen.tsx')).PartScreen }));
const FittingScreen = lazy(async () => ({
  default: (await import('../screens/fitting/fitting-screen.tsx')).FittingScreen,
}));
const CompanyScreen = lazy(async () => ({
  default: (await import('../screens/fitting/company-screen.tsx')).CompanyScreen,
}));
const ProjectScreen = lazy(async () => ({
  default: (await import('../screens/project/project-screen.tsx')).ProjectScreen,
}));

export function App() {
  const studio = useStudio();
  const place = useStore(studio.place);
  const incoming = useStore(studio.incoming);
  const about = useAsked('app.about', {});
  const title = useStore(studio.title);
  const main = useRef<HTMLElement>(null);
  const first = useRef(true);
  useHistoryKeys(studio);
  useKeptFocus();
  const hash = hashOf(place);
  useEffect(() => {
    // A new place begins at its top, and whoever listens hears its name. Not at the first opening.
    if (!first.current) {
      window.scrollTo(0, 0);
      main.current?.focus({ preventScroll: true });
    }
    first.current = false;
  }, [hash]);

  const isLocked = about.state === 'value' && about.value.locked;
  return (
    <>
      <TopStrip isLocked={isLocked} onSkip={() => main.current?.focus()} />
      <main ref={main} tabIndex={-1} className="desk" aria-label={title === '' ? 'The shelf' : title}>
        {about.state === 'loading' ? (
          <Loading what="Opening the library" />
        ) : about.state === 'fault' && about.fault.code !== 'job.connection' ? (
          <FaultCard fault={about.fault} onAgain={about.again} />
        ) : isLocked ? (
          <LockedScreen />
        ) : (
          <ErrorBoundary key={hash}>
            <Suspense fallback={<Loading what="Laying it out" />}>
              <PlaceView place={place} />
            </Suspense>
          </ErrorBoundary>
        )}
      </main>
      {isLocked ? null : <ScanDrop />}
      {incoming === undefined || isLocked ? null : (
        <IncomingDialog key={incoming.upload ?? incoming.file.name} incoming={incoming} />
      )}
      <NoteRegion notes={studio.notes} />
    </>
  );
}

function PlaceView({ place }: { readonly place: Place }) {
  if (place.at === 'shelf') return <ShelfScreen />;
  if (place.at === 'wearer') return <WearerScreen id={place.id} />;
  if (place.at === 'ticket') return <TicketScreen id={place.id} />;
  if (place.at === 'form') return <FormScreen revisionId={place.id} />;
  if (place.at === 'liner') return <LinerScreen id={place.id} />;
  if (place.at === 'making') return <MakingScreen id={place.id} />;
  if (place.at === 'part') return <PartScreen id={place.id} />;
  if (place.at === 'fitting') return <FittingScreen id={place.id} />;
  if (place.at === 'company') return <CompanyScreen projectId={place.id} />;
  return <ProjectScreen id={place.id} />;
}
