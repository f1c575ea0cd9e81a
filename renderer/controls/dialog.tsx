/** A sheet laid over the desk. The browser's own dialog keeps the focus inside and closes on Esc. */
import { useEffect, useId, useRef, useState, type ReactNode } from 'react';
import { Button } from './button.tsx';
import './dialog.css';

export interface DialogProps {
  readonly title: ReactNode;
  readonly onClose: () => void;
  readonly children: ReactNode;
  /** Buttons at the foot. */
  readonly foot?: ReactNode;
  /** Enter in any field does this. */
  readonly onSubmit?: () => void;
  readonly width?: 'narrow' | 'wide';
}

export function Dialog({ title, onClose, children, foot, onSubmit, width = 'narrow' }: DialogProps) {
  const box = useRef<HTMLDialogElement>(null);
  const id = useId();
  // Before a field inside takes the focus; the browser looks too late to give it back by itself.
  const [cameFrom] = useState(() => document.activeElement);
  useEffect(() => {
    const shown = box.current;
    shown?.showModal();
    return () => {
      shown?.close();
      if (cameFrom instanceof HTMLElement && cameFrom.isConnected) cameFrom.focus();
    };
  }, [cameFrom]);
  return (
    <dialog
      ref={box}
      className={`dialog dialog-${width}`}
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
          onSubmit?.();
        }}
      >
        <header className="dialog-head">
          <h2 id={id}>{title}</h2>
          <Button tone="quiet" onClick={onClose} aria-label="Close">
            ✕
          </Button>
        </header>
        <div className="dialog-body">{children}</div>
        {foot === undefined ? null : <footer className="dialog-foot">{foot}</footer>}
      </form>
    </dialog>
  );
}
