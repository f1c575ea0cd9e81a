/** Signals that ask to stop. */
const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/** Call `act` when one comes; the function returned stops listening, so that verbs in one process do not pile up. */
export function onStopSignals(act: () => void): () => void {
  for (const signal of SIGNALS) process.on(signal, act);
  return () => {
    for (const signal of SIGNALS) process.off(signal, act);
  };
}
