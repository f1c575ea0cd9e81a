import type { ButtonHTMLAttributes, ReactNode, Ref } from 'react';
import './button.css';

export interface ButtonProps extends ButtonHTMLAttributes<HTMLButtonElement> {
  /** `main` is what one most likely wants next; one per part of a screen. */
  readonly tone?: 'main' | 'plain' | 'quiet' | 'danger';
  /** Being done: cannot be pressed again, and says so. */
  readonly busy?: boolean;
  readonly children: ReactNode;
  readonly ref?: Ref<HTMLButtonElement>;
}

/** Busy or not possible, it stays reachable by keyboard, so that its reason can be read. */
export function Button({ tone = 'plain', busy = false, children, className, onClick, ...rest }: ButtonProps) {
  const isOff = busy || rest.disabled === true;
  return (
    <button
      type="button"
      {...rest}
      disabled={undefined}
      aria-disabled={isOff || undefined}
      aria-busy={busy || undefined}
      className={`button button-${tone}${className === undefined ? '' : ` ${className}`}`}
      onClick={(event) => {
        if (isOff) event.preventDefault();
        else onClick?.(event);
      }}
    >
      {children}
    </button>
  );
}
