/** The last net: our own mistake in a screen. The library is not touched by it; a reload leads to the same place. */
import { Component, type ErrorInfo, type ReactNode } from 'react';
import { Button } from '../controls/button.tsx';
import { TicketCard } from '../controls/paper.tsx';

/** How browsers say that a part of the screens is not where it was when the page was opened. */
const NOT_THERE = /dynamically imported module|importing a module script failed/i;

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
    if (NOT_THERE.test(this.state.trouble)) {
      return (
        <div className="state-fault" role="alert">
          <TicketCard title="This page is older than the program" tone="trouble" level={1}>
            <p className="state-sentence">
              The program was renewed, or ended, since this page was opened. Nothing that was kept is lost.
            </p>
            <div className="button-row">
              <Button tone="main" onClick={() => window.location.reload()}>
                Open the page again
              </Button>
            </div>
          </TicketCard>
        </div>
      );
    }
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
