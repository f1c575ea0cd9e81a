import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { bridgeOf, bridgeWire } from '../client/bridge-wire.ts';
import { createClient } from '../client/client.ts';
import { socketWire } from '../client/socket-wire.ts';
import { createStudio, StudioContext } from '../state/studio.ts';
import { ErrorBoundary } from './error-boundary.tsx';
import { App } from './app.tsx';
import '../theme/tokens.css';
import '../theme/base.css';

const bridge = bridgeOf(window);
const wire = bridge === undefined ? socketWire(window.location.href) : bridgeWire(bridge);
const studio = createStudio(createClient(wire), window);
// A mistake of ours outside any screen: said, and nothing else stops.
window.addEventListener('unhandledrejection', (event) => {
  const reason: unknown = event.reason;
  const words = reason instanceof Error ? reason.message : String(reason);
  studio.notes.add({ tone: 'trouble', text: `The screens made a mistake (${words}). What was kept is safe.` });
});
const root = document.getElementById('studio');
if (root === null) throw new Error('the page has no place for the studio');
createRoot(root).render(
  <StrictMode>
    <ErrorBoundary>
      <StudioContext value={studio}>
        <App />
      </StudioContext>
    </ErrorBoundary>
  </StrictMode>,
);
