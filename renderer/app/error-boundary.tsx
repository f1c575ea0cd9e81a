/** The last net: our own mistake in a screen. The library is not touched by it; a reload leads to the same place. */
import { Component, type ErrorInfo, type ReactNode } from 'react';
import { Button } from '../controls/button.tsx';
import { TicketCard } from '../controls/paper.tsx';

interface State {
  readonly trouble?: string;
}

export class ErrorBoundary extends Component<{ readonly children: ReactNode }, State> {
  override state: State = {};

  static getDerivedStateFromError(error: unknown): State {
    return { trouble: error instanceof Error ? error.message : String(error) };
  }

  override componentDidCatch(error: unknown, info: ErrorInfo): void {
    console.error(error, info.componentStack);
  }

  override render(): ReactNode {
    if (this.state.trouble === undefined) return this.props.children;
    return (
      <div className="state-fault" role="alert">
        <TicketCard title="This screen broke" tone="trouble" level={1}>
          <p className="state-sentence">
            That is a mistake in the program, not yours. Nothing that was kept is lost. What it says of itself:{' '}
            <q>{this.state.trouble}</q>
          </p>
          <div className="button-row">
            <Button tone="main" onClick={() => window.location.reload()}>
              Open the screen again
            </Button>
            <Button
              onClick={() => {
                window.location.hash = '#/';
                window.location.reload();
              }}
            >
              Go to the shelf
            </Button>
          </div>
        </TicketCard>
      </div>
    );
  }
}
