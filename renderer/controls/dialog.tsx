/** A sheet laid over the desk. The browser's own dialog keeps the focus inside, closes on Esc and gives it back. */
import { useEffect, useId, useRef, type ReactNode } from 'react';
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
  useEffect(() => {
    const shown = box.current;
    shown?.showModal();
    return () => shown?.close();
  }, []);
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
