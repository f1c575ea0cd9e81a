/** Mounts the fitting view once and lets a screen say what is on it. */
import { useEffect, useRef, useState } from 'react';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { STANDARD_VIEWS, Viewport, type Hit, type Projection, type ViewportOptions } from '../../viewport/viewport.ts';
import { Button } from '../../controls/button.tsx';

export interface BenchViewProps {
  readonly label: string;
  readonly onReady: (view: Viewport | undefined) => void;
  readonly onPick?: (hit: Hit) => void;
  readonly onPlane?: ViewportOptions['onPlane'];
  readonly onMark?: (id: string) => void;
}

function useIsDark(): boolean {
  const { theme } = useStore(useStudio().settings);
  const [systemDark, setSystemDark] = useState(() => matchMedia('(prefers-color-scheme: dark)').matches);
  useEffect(() => {
    const asked = matchMedia('(prefers-color-scheme: dark)');
    const hear = (): void => setSystemDark(asked.matches);
    asked.addEventListener('change', hear);
    return () => asked.removeEventListener('change', hear);
  }, []);
  return theme === 'dark' || (theme === 'system' && systemDark);
}

export function BenchView(props: BenchViewProps) {
  const host = useRef<HTMLDivElement>(null);
  const view = useRef<Viewport>(undefined);
  const latest = useRef(props);
  latest.current = props;
  const isDark = useIsDark();
  const [projection, setProjection] = useState<Projection>('perspective');

  useEffect(() => {
    if (host.current === null) return;
    const made = new Viewport(host.current, {
      theme: 'light',
      label: latest.current.label,
      onPick: (hit) => latest.current.onPick?.(hit),
      onPlane: (id, point, normal) => latest.current.onPlane?.(id, point, normal),
      onMark: (id) => latest.current.onMark?.(id),
    });
    view.current = made;
    // For whoever drives the page from outside: where in the picture a point lies.
    Object.assign(host.current, { fittingView: made });
    latest.current.onReady(made);
    return () => {
      latest.current.onReady(undefined);
      view.current = undefined;
      made.dispose();
    };
  }, []);
  useEffect(() => view.current?.setTheme(isDark ? 'dark' : 'light'), [isDark]);
  useEffect(() => view.current?.setProjection(projection), [projection]);

  return (
    <div className="bench-view">
      <div className="bench-canvas" ref={host} />
      <div className="bench-looks" role="group" aria-label="Where to look from">
        {STANDARD_VIEWS.map(({ name, key }) => (
          <Button key={name} tone="quiet" title={`Key ${key}`} onClick={() => view.current?.view(name)}>
            {name}
          </Button>
        ))}
        <Button tone="quiet" title="Key Home" onClick={() => view.current?.frame()}>
          all of it
        </Button>
        <Button
          tone="quiet"
          aria-pressed={projection === 'orthographic'}
          onClick={() => setProjection(projection === 'perspective' ? 'orthographic' : 'perspective')}
        >
          {projection === 'perspective' ? 'as the eye sees' : 'true to measure'}
        </Button>
      </div>
    </div>
  );
}
