/** A sheet laid over the desk. The browser's own dialog keeps the focus inside and closes on Esc. */
import { useEffect, useId, useRef, useState, type ReactNode } from 'react';
import { Button } from './button.tsx';
import './dialog.css';

export interface DialogProps {
  readonly title: ReactNode;
  readonly onClose: () => void;
  readonly children: ReactNode;
  /** What the dialog is for; Enter in any field does it too. */
  readonly action: {
    readonly label: ReactNode;
    readonly run: () => Promise<void>;
    readonly isReady?: boolean;
    readonly tone?: 'main' | 'danger';
  };
  /** The button that changes nothing. */
  readonly away?: ReactNode;
  /** A desk: as large as the window, and what is set on it is kept step by step, so that undo reaches it. */
  readonly isDesk?: boolean;
}

export function Dialog({ title, onClose, children, action, away = 'Leave it', isDesk = false }: DialogProps) {
  const box = useRef<HTMLDialogElement>(null);
  const id = useId();
  // Before a field inside takes the focus; the browser looks too late to give it back by itself.
  const [cameFrom] = useState(() => document.activeElement);
  const [isBusy, setBusy] = useState(false);
  const isReady = action.isReady !== false;
  const submit = async (): Promise<void> => {
    if (isBusy || !isReady) return;
    setBusy(true);
    await action.run();
    setBusy(false);
  };
  useEffect(() => {
    const shown = box.current;
    shown?.showModal();
    // The first thing to decide, not the button that leaves; a desk begins at its head.
    if (!isDesk) shown?.querySelector<HTMLElement>('.dialog-body :is(input, select, textarea):enabled')?.focus();
    return () => {
      shown?.close();
      if (cameFrom instanceof HTMLElement && cameFrom.isConnected) cameFrom.focus();
    };
  }, [cameFrom, isDesk]);
  return (
    <dialog
      ref={box}
      className={isDesk ? 'dialog dialog-desk' : 'dialog'}
      data-undoable={isDesk ? '' : undefined}
      aria-labelledby={id}
      onCancel={(event) => {
        event.preventDefault();
        onClose();
      }}
    >
      <form
        method="dialog"
        onSubmit={(event) => {
          event.preventDefault();
          void submit();
        }}
      >
        <header className="dialog-head">
          <h2 id={id}>{title}</h2>
          <Button tone="quiet" onClick={onClose} aria-label="Close">
            ✕
          </Button>
        </header>
        <div className="dialog-body">{children}</div>
        <footer className="dialog-foot">
          <Button onClick={onClose}>{away}</Button>
          <Button tone={action.tone ?? 'main'} type="submit" disabled={!isReady} busy={isBusy}>
            {action.label}
          </Button>
        </footer>
      </form>
    </dialog>
  );
}
