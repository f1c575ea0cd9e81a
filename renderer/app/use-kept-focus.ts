/**
 * Where a button takes itself away ("Drop", "Take it off"), the focus goes to what comes after it in its part of the
 * screen, or before it, instead of to the top of the page: whoever works with keys goes on from there.
 */
import { useEffect } from 'react';

/** What belongs together on a screen. */
const PARTS = 'fieldset, .ticket-card, .step-body, dialog';
const REACHED = 'a[href], button, input, select, textarea, summary';

export function useKeptFocus(): void {
  useEffect(() => {
    let last: Element | undefined;
    let around: readonly HTMLElement[] = [];
    const remember = ({ target }: FocusEvent): void => {
      if (!(target instanceof Element)) return;
      last = target;
      around = [...(target.closest(PARTS)?.querySelectorAll<HTMLElement>(REACHED) ?? [])];
    };
    const regain = (): void => {
      if (last === undefined || last.isConnected) return;
      const at = around.findIndex((one) => one === last);
      last = undefined;
      if (document.activeElement !== document.body) return;
      const next = around.slice(at + 1).find(isThere) ?? around.slice(0, Math.max(0, at)).findLast(isThere);
      next?.focus();
    };
    document.addEventListener('focusin', remember);
    const watch = new MutationObserver(regain);
    watch.observe(document.body, { childList: true, subtree: true });
    return () => {
      document.removeEventListener('focusin', remember);
      watch.disconnect();
    };
  }, []);
}

const isThere = (one: HTMLElement): boolean => one.isConnected && one.offsetParent !== null;
