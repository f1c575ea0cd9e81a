/** The sheet of style of everything that lies over the picture; adopted once per document. */
import type { Palette } from './palette.ts';

const RULES = `
.ww-view { position: relative; overflow: hidden; width: 100%; height: 100%; outline: none; user-select: none; touch-action: none;
  background-color: var(--ww-ground); color: var(--ww-ink);
  background-image: radial-gradient(circle at 1px 1px, var(--ww-dots) 1px, transparent 1.4px); background-size: 22px 22px; }
.ww-view:focus-visible { box-shadow: inset 0 0 0 2px var(--ww-accent); }
.ww-view [hidden] { display: none !important; }
.ww-view canvas:not(.ww-lens) { position: absolute; inset: 0; width: 100%; height: 100%; display: block; }
.ww-view svg { position: absolute; inset: 0; width: 100%; height: 100%; pointer-events: none; overflow: hidden; }
.ww-labels { position: absolute; inset: 0; margin: 0; padding: 0; list-style: none; pointer-events: none; font-size: 12px; line-height: 1.25; }
.ww-labels li { position: absolute; left: 0; top: 0; will-change: transform; }
.ww-tag { font: inherit; color: var(--ww-ink); background: var(--ww-tag); border: 1px solid var(--ww-tag-line); border-radius: 2px;
  padding: 2px 7px; white-space: nowrap; pointer-events: auto; cursor: pointer; box-shadow: 0 1px 2px rgb(0 0 0 / 0.12); margin: 0; }
.ww-tag[data-kind='span'], .ww-tag[data-kind='tape'] { padding-left: 17px; border-radius: 7px 2px 2px 7px; font-variant-numeric: tabular-nums; }
.ww-tag[data-kind='span']::before, .ww-tag[data-kind='tape']::before { content: ''; position: absolute; left: 6px; top: 50%; width: 5px; height: 5px;
  margin-top: -3px; border: 1px solid var(--ww-tag-line); border-radius: 50%; background: var(--ww-ground); }
.ww-tag[data-kind='ghost'] { font-style: italic; border-style: dashed; }
.ww-tag[data-selected='yes'] { border-color: var(--ww-accent); box-shadow: 0 0 0 1px var(--ww-accent); }
.ww-tag[data-bad='yes'] { border-color: var(--ww-warning); color: var(--ww-warning); }
.ww-tag[data-behind='yes'] { opacity: 0.62; }
.ww-tag:focus-visible, .ww-handle:focus-visible, .ww-wipe:focus-visible { outline: 2px solid var(--ww-accent); outline-offset: 2px; }
.ww-handle { position: absolute; left: 0; top: 0; width: 22px; height: 22px; margin: -11px 0 0 -11px; padding: 0; border-radius: 50%; cursor: grab;
  border: 1.5px solid var(--ww-ink); background: var(--ww-tag); pointer-events: auto; }
.ww-handle[data-kind='tilt'] { width: 16px; height: 16px; margin: -8px 0 0 -8px; border-radius: 3px; }
.ww-handle::after { content: ''; position: absolute; inset: 5px; border-radius: inherit; background: var(--ww-accent); }
.ww-wipe { position: absolute; top: 0; bottom: 0; width: 21px; margin-left: -10.5px; cursor: ew-resize; pointer-events: auto; }
.ww-wipe::before { content: ''; position: absolute; left: 9.5px; top: 0; bottom: 0; border-left: 2px solid var(--ww-ink); }
.ww-wipe::after { content: ''; position: absolute; left: 3px; top: calc(50% - 18px); width: 15px; height: 36px; box-sizing: border-box; border: 1.5px solid var(--ww-ink);
  border-radius: 3px; background: repeating-linear-gradient(90deg, var(--ww-tag) 0 3px, var(--ww-tag-line) 3px 4px); }
.ww-wipe span { position: absolute; bottom: 10px; padding: 1px 7px; font-size: 12px; background: var(--ww-tag); border: 1px solid var(--ww-tag-line); border-radius: 2px; white-space: nowrap; }
.ww-wipe span:first-child { right: 18px; } .ww-wipe span:last-child { left: 18px; }
.ww-lens { position: absolute; left: 0; top: 0; border-radius: 50%; border: 2px solid var(--ww-ink); background: var(--ww-ground); pointer-events: none;
  box-shadow: 0 2px 8px rgb(0 0 0 / 0.28); }
.ww-trouble { position: absolute; left: 50%; top: 50%; transform: translate(-50%, -50%); max-width: 32em; width: calc(100% - 48px); box-sizing: border-box; padding: 16px 20px;
  background: var(--ww-tag); color: var(--ww-ink); border: 1px solid var(--ww-tag-line); border-left: 4px solid var(--ww-warning); font-size: 14px; line-height: 1.45; }
.ww-unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.ww-view[data-picking='yes'] canvas { cursor: crosshair; }
.ww-svg-leader { stroke: var(--ww-ink); stroke-width: 1; opacity: 0.55; fill: none; }
.ww-svg-pin { fill: var(--ww-tag); stroke: var(--ww-ink); stroke-width: 1.6; }
.ww-svg-pin[data-kind='ghost'] { fill: none; stroke-dasharray: 3 2.4; }
.ww-svg-pin[data-selected='yes'] { fill: var(--ww-accent); }
.ww-svg-pin[data-behind='yes'] { opacity: 0.5; }
.ww-svg-doubt { fill: none; stroke: var(--ww-warning); stroke-width: 1.4; stroke-dasharray: 2 3; }
.ww-svg-calliper { stroke: var(--ww-ink); stroke-width: 1.3; stroke-linejoin: round; fill: var(--ww-tag); fill-opacity: 0.88; }
.ww-svg-calliper[data-selected='yes'] { stroke: var(--ww-accent); stroke-width: 2; }
.ww-svg-calliper[data-bad='yes'] { stroke: var(--ww-warning); stroke-dasharray: 5 3; }
.ww-svg-tick { stroke: var(--ww-ink); stroke-width: 0.8; opacity: 0.7; }
.ww-svg-plane { fill: var(--ww-accent); fill-opacity: 0.06; stroke: var(--ww-ink); stroke-width: 1.2; stroke-dasharray: 9 4 2 4; }
.ww-svg-plane[data-active='yes'] { stroke: var(--ww-accent); stroke-width: 1.8; }
.ww-svg-arrow { stroke: var(--ww-accent); stroke-width: 2; fill: var(--ww-accent); }
@media (forced-colors: active) { .ww-tag, .ww-handle { border-color: CanvasText; } }
`;

let sheet: CSSStyleSheet | undefined;

export function adoptStyle(): void {
  if (sheet === undefined) {
    sheet = new CSSStyleSheet();
    sheet.replaceSync(RULES);
  }
  if (!document.adoptedStyleSheets.includes(sheet)) document.adoptedStyleSheets.push(sheet);
}

export function wear(root: HTMLElement, palette: Palette): void {
  const set = (name: string, value: string): void => root.style.setProperty(`--ww-${name}`, value);
  set('ground', palette.ground);
  set('dots', palette.dots);
  set('ink', palette.ink);
  set('tag', palette.tag);
  set('tag-line', palette.tagLine);
  set('accent', palette.accent);
  set('warning', palette.warning);
}
