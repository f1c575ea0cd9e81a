/** The line between before and after: dragged, or moved by the arrow keys. */
export class WipeDivider {
  readonly element = document.createElement('div');
  readonly #before = document.createElement('span');
  readonly #after = document.createElement('span');
  #fraction = 0.5;

  constructor(onMove: (fraction: number) => void) {
    const { element } = this;
    element.className = 'ww-wipe';
    element.tabIndex = 0;
    element.hidden = true;
    element.setAttribute('role', 'slider');
    element.setAttribute('aria-label', 'Before and after');
    element.setAttribute('aria-valuemin', '0');
    element.setAttribute('aria-valuemax', '100');
    element.append(this.#before, this.#after);
    element.addEventListener('pointerdown', (event) => {
      event.preventDefault();
      event.stopPropagation();
      element.focus();
      element.setPointerCapture(event.pointerId);
    });
    element.addEventListener('pointermove', (event) => {
      if (!element.hasPointerCapture(event.pointerId)) return;
      const box = (element.parentElement as HTMLElement).getBoundingClientRect();
      onMove(Math.max(0, Math.min(1, (event.clientX - box.left) / box.width)));
    });
    element.addEventListener('keydown', (event) => {
      const by = { ArrowLeft: -0.02, ArrowRight: 0.02, Home: -1, End: 1 }[event.key];
      if (by === undefined) return;
      event.preventDefault();
      event.stopPropagation();
      onMove(Math.max(0, Math.min(1, this.#fraction + by)));
    });
  }

  show(fraction: number | undefined, before: string, after: string): void {
    const { element } = this;
    element.hidden = fraction === undefined;
    if (fraction === undefined) return;
    this.#fraction = fraction;
    this.#before.textContent = before;
    this.#after.textContent = after;
    element.style.left = `${(fraction * 100).toFixed(2)}%`;
    element.setAttribute('aria-valuenow', String(Math.round(fraction * 100)));
    element.setAttribute('aria-valuetext', `${Math.round(fraction * 100)} % ${before}, the rest ${after}`);
  }
}
