/** The view of a form with its row of standpoints and, when a map lies on it, the legend. */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { STANDARD_VIEWS, Viewport, type Legend, type Projection, type ViewportOptions } from '../viewport/viewport.ts';
import { Button } from './button.tsx';
import { useIsDark } from './use-is-dark.ts';
import './fitting-view.css';

export interface FittingViewProps {
  readonly label: string;
  /** Called with the view once it stands, and with undefined when it goes. */
  readonly onReady: (view: Viewport | undefined) => void;
  /** An active plane is being dragged. */
  readonly onPlane?: ViewportOptions['onPlane'];
  /** A place on a body was picked, or a label pressed. */
  readonly onPick?: ViewportOptions['onPick'];
  readonly onMark?: ViewportOptions['onMark'];
  /** More buttons in the row. */
  readonly tools?: ReactNode;
  /** Over the picture. */
  readonly children?: ReactNode;
}

export function FittingView(props: FittingViewProps) {
  const { label, onReady, tools, children } = props;
  const host = useRef<HTMLDivElement>(null);
  const [view, setView] = useState<Viewport>();
  const isDark = useIsDark();
  const [projection, setProjection] = useState<Projection>('perspective');
  const ready = useRef(onReady);
  ready.current = onReady;
  const latest = useRef(props);
  latest.current = props;
  const first = useRef({ isDark, label });
  useEffect(() => {
    if (host.current === null) return;
    const made = new Viewport(host.current, {
      theme: first.current.isDark ? 'dark' : 'light',
      label: first.current.label,
      onPlane: (...moved) => latest.current.onPlane?.(...moved),
      onPick: (hit) => latest.current.onPick?.(hit),
      onMark: (id) => latest.current.onMark?.(id),
    });
    // For whoever drives the page from outside: where in the picture a point lies.
    Object.assign(host.current, { fittingView: made });
    setView(made);
    ready.current(made);
    return () => {
      ready.current(undefined);
      made.dispose();
    };
  }, []);
  useEffect(() => view?.setTheme(isDark ? 'dark' : 'light'), [view, isDark]);
  useEffect(() => view?.setProjection(projection), [view, projection]);
  const isFlat = projection === 'orthographic';
  return (
    <div className="fitting">
      <div className="fitting-picture">
        <div className="fitting-host" ref={host} />
        {children}
      </div>
      <div className="fitting-row" role="group" aria-label="View">
        {STANDARD_VIEWS.map(({ name, key }) => (
          <Button key={name} tone="quiet" title={`Key ${key}`} onClick={() => view?.view(name)}>
            {name.replace(/^./, (letter) => letter.toUpperCase())}
          </Button>
        ))}
        <Button tone="quiet" title="Key Home" onClick={() => view?.frame()}>
          All of it
        </Button>
        <Button
          tone="quiet"
          aria-pressed={isFlat}
          onClick={() => setProjection(isFlat ? 'perspective' : 'orthographic')}
        >
          True to measure
        </Button>
        {tools}
      </div>
    </div>
  );
}

export function LegendCard({
  legend,
  title,
  low,
  high,
  unit = 'mm',
}: {
  readonly legend: Legend;
  /** Of the numbers, where they are no lengths. */
  readonly unit?: string;
  readonly title: string;
  /** What lies at either end. */
  readonly low: string;
  readonly high: string;
}) {
  const gradient = legend.stops.map(({ at, css }) => `${css} ${(100 * at).toFixed(1)}%`).join(', ');
  return (
    <figure className="legend">
      <figcaption>{title}</figcaption>
      <div className="legend-bar" style={{ background: `linear-gradient(90deg, ${gradient})` }} />
      <div className="legend-ticks numbers">
        {legend.ticks.map(({ at, valueMm }) => (
          <span key={valueMm} style={{ left: `${100 * at}%` }}>
            {legend.minMm < 0 ? signed(valueMm) : plain(valueMm)}
          </span>
        ))}
      </div>
      <p className="legend-ends small">
        <span>{low}</span>
        <span>{high}</span>
      </p>
      <p className="soft small">
        {unit}
        {legend.contourMm > 0 ? `; a line every ${legend.contourMm} ${unit}` : ''}
        {legend.below + legend.above > 0
          ? `; ${percentText(legend.below + legend.above)} of the points lie beyond the ends`
          : ''}
      </p>
    </figure>
  );
}

const plain = (mm: number): string => Number(mm.toPrecision(3)).toString().replace('-', '−');
const signed = (mm: number): string => (mm > 0 ? `+${plain(mm)}` : plain(mm));

const percentText = (share: number): string => (share < 0.001 ? 'under 0.1 %' : `${(100 * share).toFixed(1)} %`);
