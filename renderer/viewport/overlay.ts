/**
 * Marks, callipers and tags over the picture. Pins and callipers are drawn as on a work drawing; their labels are
 * buttons in a list, so that they can be read aloud and reached by the keyboard. Labels give way to each other downward.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Stage } from './stage.ts';
import type { Mark, SpanMark, Tape } from './view-types.ts';

const SVG = 'http://www.w3.org/2000/svg';

export function svgElement(name: string, attributes: Record<string, string | number>): SVGElement {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}

interface Label {
  readonly item: HTMLLIElement;
  readonly button: HTMLButtonElement;
  wide: number;
  high: number;
}

interface Box {
  x: number;
  y: number;
  readonly wide: number;
  readonly high: number;
}

type Flags = Readonly<Record<string, boolean | undefined>>;

const flagsOf = (flags: Flags): Record<string, string> =>
  Object.fromEntries(Object.entries(flags).map(([name, on]) => [`data-${name}`, on === true ? 'yes' : 'no']));

export class Overlay {
  readonly svg = document.createElementNS(SVG, 'svg');
  readonly list = document.createElement('ul');
  readonly #labels = new Map<string, Label>();
  readonly #onMark: (id: string) => void;
  #marks: readonly Mark[] = [];
  #spans: readonly SpanMark[] = [];
  #tapes: readonly Tape[] = [];

  constructor(onMark: (id: string) => void) {
    this.#onMark = onMark;
    this.svg.setAttribute('aria-hidden', 'true');
    this.list.className = 'ww-labels';
    this.list.setAttribute('aria-label', 'Marks, spans and tapes');
  }

  setMarks(marks: readonly Mark[]): void {
    this.#marks = marks;
    this.#relabel();
  }

  setSpans(spans: readonly SpanMark[]): void {
    this.#spans = spans;
    this.#relabel();
  }

  setTapes(tapes: readonly Tape[]): void {
    this.#tapes = tapes;
    this.#relabel();
  }

  #relabel(): void {
    const wanted = new Set<string>();
    const put = (key: string, id: string, kind: string, text: string, spoken: string, flags: Flags): void => {
      wanted.add(key);
      let label = this.#labels.get(key);
      if (label === undefined) {
        const item = document.createElement('li');
        const button = document.createElement('button');
        button.type = 'button';
        button.className = 'ww-tag';
        button.addEventListener('click', () => this.#onMark(id));
        item.append(button);
        this.list.append(item);
        label = { item, button, wide: 0, high: 0 };
        this.#labels.set(key, label);
      }
      const { button } = label;
      button.dataset['kind'] = kind;
      for (const [name, value] of Object.entries(flagsOf(flags))) button.setAttribute(name, value);
      button.setAttribute('aria-pressed', String(flags['selected'] === true));
      if (button.textContent !== text) {
        button.textContent = text;
        label.wide = 0;
      }
      button.setAttribute('aria-label', spoken);
    };
    for (const { id, kind, label, selected, uncertain } of this.#marks) {
      const doubt = uncertain === true ? ', uncertain' : '';
      const spoken = `${label}, ${kind === 'ghost' ? 'proposed landmark' : 'landmark'}${doubt}`;
      put(`mark ${id}`, id, kind, uncertain === true ? `${label} ?` : label, spoken, { selected });
    }
    for (const { id, label, selected, bad } of this.#spans) {
      const spoken = bad === true ? `${label}, does not belong to the others` : label;
      put(`span ${id}`, id, 'span', bad === true ? `! ${label}` : label, spoken, { selected, bad });
    }
    for (const { id, label, selected } of this.#tapes) put(`tape ${id}`, id, 'tape', label, label, { selected });
    for (const [key, { item }] of this.#labels) {
      if (wanted.has(key)) continue;
      item.remove();
      this.#labels.delete(key);
    }
  }

  follow(stage: Stage, centre: Vec3, isBehind: (point: Vec3) => boolean): void {
    const drawing: SVGElement[] = [];
    const taken: Box[] = [];
    const middle = stage.place(centre);
    for (const span of this.#spans) this.#calliper(span, stage, middle, isBehind, drawing, taken);
    for (const tape of this.#tapes) this.#tapeTag(tape, stage, drawing, taken);
    const marks = this.#marks.map((mark) => ({ mark, at: stage.place(mark.point) })).sort((a, b) => a.at.y - b.at.y);
    for (const { mark, at } of marks) {
      const label = this.#labels.get(`mark ${mark.id}`);
      if (label === undefined) continue;
      label.item.hidden = !at.isInFront;
      if (!at.isInFront) continue;
      const behind = isBehind(mark.point);
      const flags = flagsOf({ selected: mark.selected, behind });
      label.button.dataset['behind'] = behind ? 'yes' : 'no';
      this.#measure(label);
      const isLeft = at.x < middle.x;
      const box = {
        x: isLeft ? at.x - 20 - label.wide : at.x + 20,
        y: at.y - label.high / 2 - 8,
        wide: label.wide,
        high: label.high,
      };
      this.#settle(label, box, stage, taken);
      const nearX = box.x > at.x ? box.x : box.x + box.wide < at.x ? box.x + box.wide : at.x;
      drawing.push(
        svgElement('path', { class: 'ww-svg-leader', d: `M${at.x} ${at.y}L${nearX} ${box.y + box.high / 2}` }),
      );
      if (mark.uncertain === true)
        drawing.push(svgElement('circle', { class: 'ww-svg-doubt', cx: at.x, cy: at.y, r: 10 }));
      drawing.push(
        svgElement('circle', {
          class: 'ww-svg-pin',
          cx: at.x,
          cy: at.y,
          r: mark.selected === true ? 5.5 : 4.2,
          'data-kind': mark.kind,
          ...flags,
        }),
      );
    }
    this.svg.replaceChildren(...drawing);
  }

  /** Reads the size once per text: reading it at every picture would lay out the page each time. */
  #measure(label: Label): void {
    if (label.wide > 0) return;
    label.wide = label.button.offsetWidth;
    label.high = label.button.offsetHeight;
  }

  #settle(label: Label, box: Box, stage: Stage, taken: Box[]): void {
    box.x = Math.max(4, Math.min(stage.width - box.wide - 4, box.x));
    box.y = Math.max(4, Math.min(stage.height - box.high - 4, box.y));
    for (let turn = 0; turn < taken.length; turn++) {
      const other = taken.find(
        (t) =>
          box.x < t.x + t.wide + 3 &&
          t.x < box.x + box.wide + 3 &&
          box.y < t.y + t.high + 3 &&
          t.y < box.y + box.high + 3,
      );
      if (other === undefined) break;
      box.y = other.y + other.high + 3;
    }
    taken.push(box);
    label.item.style.transform = `translate(${Math.round(box.x)}px, ${Math.round(box.y)}px)`;
  }

  #tapeTag(tape: Tape, stage: Stage, drawing: SVGElement[], taken: Box[]): void {
    const label = this.#labels.get(`tape ${tape.id}`);
    if (label === undefined || tape.points.length < 6) return;
    // hangs from the tape's rightmost place in the picture
    let best = { x: -Infinity, y: 0, isInFront: false };
    const count = tape.points.length / 3;
    for (let k = 0; k < count; k += Math.max(1, Math.floor(count / 48))) {
      const at = stage.place([tape.points[k * 3], tape.points[k * 3 + 1], tape.points[k * 3 + 2]]);
      if (at.isInFront && at.x > best.x) best = at;
    }
    label.item.hidden = !best.isInFront;
    if (!best.isInFront) return;
    this.#measure(label);
    const box = { x: best.x + 16, y: best.y - label.high / 2, wide: label.wide, high: label.high };
    this.#settle(label, box, stage, taken);
    drawing.push(
      svgElement('path', { class: 'ww-svg-leader', d: `M${best.x} ${best.y}L${box.x + 8} ${box.y + box.high / 2}` }),
    );
  }

  /** Two jaws and a beam, beside the line from point to point, on the side away from the body's middle. */
  #calliper(
    span: SpanMark,
    stage: Stage,
    middle: { x: number; y: number },
    isBehind: (point: Vec3) => boolean,
    drawing: SVGElement[],
    taken: Box[],
  ): void {
    const label = this.#labels.get(`span ${span.id}`);
    if (label === undefined) return;
    const a = stage.place(span.from);
    const b = stage.place(span.to);
    label.item.hidden = !a.isInFront || !b.isInFront;
    if (label.item.hidden) return;
    const long = Math.hypot(b.x - a.x, b.y - a.y);
    const along = long > 4 ? { x: (b.x - a.x) / long, y: (b.y - a.y) / long } : { x: 1, y: 0 };
    let away = { x: -along.y, y: along.x };
    const from = { x: (a.x + b.x) / 2 - middle.x, y: (a.y + b.y) / 2 - middle.y };
    const outward = away.x * from.x + away.y * from.y;
    // a line through the middle has no outer side: take the upper one
    if (Math.abs(outward) > 6 ? outward < 0 : away.y > 0) away = { x: -away.x, y: -away.y };
    const reach = Math.max(22, Math.min(64, long * 0.3));
    const point = (base: { x: number; y: number }, out: number, on: number): string =>
      `${(base.x + away.x * out + along.x * on).toFixed(1)} ${(base.y + away.y * out + along.y * on).toFixed(1)}`;
    const flags = flagsOf({ selected: span.selected, bad: span.bad });
    const look = { class: 'ww-svg-calliper', ...flags };
    const jaw = (base: { x: number; y: number }, outer: number): string =>
      `M${point(base, 0, 0)}L${point(base, reach - 7, outer * 6)}L${point(base, reach + 9, outer * 6)}` +
      `L${point(base, reach + 9, outer * -1)}L${point(base, reach - 7, outer * -1)}Z`;
    drawing.push(
      svgElement('path', {
        ...look,
        d: `M${point(a, reach - 4, -14)}L${point(b, reach - 4, 8)}L${point(b, reach + 4, 8)}L${point(a, reach + 4, -14)}Z`,
      }),
    );
    const ticks: string[] = [];
    const step = long / Math.max(1, Math.floor(long / 6));
    for (let on = step; on < long - 2; on += step)
      ticks.push(`M${point(a, reach - 4, on)}L${point(a, reach - 0.5, on)}`);
    drawing.push(svgElement('path', { class: 'ww-svg-tick', d: ticks.join('') || 'M0 0' }));
    drawing.push(svgElement('path', { ...look, d: jaw(a, -1) }), svgElement('path', { ...look, d: jaw(b, 1) }));
    for (const [end, at] of [
      [a, span.from],
      [b, span.to],
    ] as const) {
      const behind = flagsOf({ behind: isBehind(at) });
      drawing.push(svgElement('circle', { class: 'ww-svg-pin', cx: end.x, cy: end.y, r: 2.4, ...behind }));
    }
    this.#measure(label);
    const tagX = (a.x + b.x) / 2 + away.x * (reach + 20);
    const tagY = (a.y + b.y) / 2 + away.y * (reach + 20);
    const box = {
      x: tagX - label.wide / 2 + (away.x * label.wide) / 2,
      y: tagY - label.high / 2,
      wide: label.wide,
      high: label.high,
    };
    this.#settle(label, box, stage, taken);
  }
}
